"""Fish tank figures by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.physics.fish import feed_supported_kg_per_day, turnover_per_hour
from tests.tolerances import EXACT, FORMULA


def test_turnover_is_the_hours_flow_over_the_volume():
    # 30 L/min is 1.8 m3 an hour; through a tank of 1.2 m3 that is 1.5 times.
    assert turnover_per_hour(30 / 60_000, 1.2) == pytest.approx(1.5, rel=FORMULA)
    assert turnover_per_hour(0.0, 1.2) == EXACT


@given(area=st.floats(0.0, 1e4), crop=st.sampled_from(["leafy", "fruiting"]))
def test_feed_is_proportional_to_area_and_its_range_is_in_order(area, crop):
    least, most = feed_supported_kg_per_day(area, crop)
    assert least <= most
    doubled = feed_supported_kg_per_day(2 * area, crop)
    assert doubled == pytest.approx((2 * least, 2 * most), rel=FORMULA)


@pytest.mark.parametrize(("flow", "volume"), [(-1e-3, 1.0), (1e-3, 0.0), (float("nan"), 1.0)])
def test_an_impossible_tank_is_refused(flow, volume):
    with pytest.raises(ValueError, match="turnover"):
        turnover_per_hour(flow, volume)


@pytest.mark.parametrize(
    ("area", "crop"), [(-1.0, "leafy"), (float("nan"), "leafy"), (1.0, "moss")]
)
def test_a_crop_without_figures_or_a_negative_area_is_refused(area, crop):
    with pytest.raises(ValueError):
        feed_supported_kg_per_day(area, crop)
