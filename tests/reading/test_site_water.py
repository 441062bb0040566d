"""What a site file says of return pipe, tanks and water lost is what the Site holds, in SI."""

import pytest

from optimizer.errors import BadInput
from optimizer.reading.site import read_site_text
from optimizer.records.header_tank import TANK_LEVEL_DRIFT, HeaderTank
from optimizer.records.noise import NoiseLimit
from optimizer.records.site import (
    FishTank,
    Returns,
)
from tests.reading.site_texts import EVERY_KEY, SMALLEST, WITH_TANK
from tests.tolerances import FORMULA

FOOT = 0.3048
US_GALLON = 231 * 0.0254**3  # 231 cubic inches


def test_return_pipe_is_read_as_written():
    assert read_site_text(EVERY_KEY).site.returns == Returns(
        designed=True,
        bursts="binomial",
        held="quantile",
        confidence=pytest.approx(0.995, rel=FORMULA),
        fill_limit=pytest.approx(0.7, rel=FORMULA),
        manning_n=0.012,
        pipe_series="pvc_sch80",
        pipes=("2 in", "3 in"),
    )


def test_a_return_key_left_out_keeps_the_records_default():
    text = SMALLEST + '[returns]\nfill_limit = "0.5"\n'
    assert read_site_text(text).site.returns == Returns(fill_limit=0.5)
    assert not read_site_text(SMALLEST + "[returns]\ndesigned = false\n").site.returns.designed


def test_water_lost_is_read_in_metres_a_day_and_days():
    loss = read_site_text(EVERY_KEY).site.water_loss
    # a quarter of an inch of 25.4 mm; 12 h is half a day
    assert loss.evaporation_m_per_day == pytest.approx(0.00635, rel=FORMULA)
    assert loss.top_up_days == pytest.approx(0.5, rel=FORMULA)


def test_the_fish_tank_is_read_in_si():
    # 1 ft is 0.3048 m and a pound is 0.45359237 kg
    assert read_site_text(EVERY_KEY).site.fish_tank == FishTank(
        volume_m3=pytest.approx(250 * US_GALLON, rel=FORMULA),
        water_level_m=pytest.approx(0.3048, rel=FORMULA),
        turnovers_per_hour_least=1.5,
        feed_kg_per_day=pytest.approx(0.45359237, rel=FORMULA),
        crop="fruiting",
    )


def test_the_tank_over_the_beds_is_read_in_si_and_less_drift_is_then_set_aside():
    site = read_site_text(WITH_TANK).site
    assert site.header_tank == HeaderTank(
        at=(2.0, -1.0),
        water_level_m=pytest.approx(9 * FOOT, rel=FORMULA),
        part="sump_0200",
        outlet_below_water_m=pytest.approx(10 * FOOT / 12, rel=FORMULA),
    )
    assert site.goals.level_drift == pytest.approx(0.09)  # what the file says stands
    unsaid = read_site_text(WITH_TANK.replace('level_drift = "9 %"\n', "")).site
    assert unsaid.goals.level_drift == TANK_LEVEL_DRIFT
    assert read_site_text(SMALLEST).site.header_tank is None


def test_the_surface_of_a_tank_from_the_catalog_is_not_asked_for():
    text = WITH_TANK.replace('part = "sump_0200"\n', 'part = "sump_0200"\nsurface = "1 m2"\n')
    with pytest.raises(BadInput) as caught:
        read_site_text(text)
    (problem,) = caught.value.problems
    assert problem.where.endswith("header_tank.surface")


def test_a_gallon_set_at_the_top_is_meant_wherever_it_stands():
    unsaid = EVERY_KEY.replace("250 US gal", "250 gal")
    imperial = unsaid.replace('gallon = "US"', 'gallon = "imperial"')
    # the imperial gallon is 4.54609 L, exactly
    assert read_site_text(imperial).site.fish_tank.volume_m3 == pytest.approx(
        250 * 4.54609e-3, rel=FORMULA
    )
    with pytest.raises(BadInput, match="a gallon that may be US or imperial"):
        read_site_text(unsaid.replace('gallon = "US"\n', ""))


def test_a_limit_on_noise_is_read_in_decibels_and_hours_a_day():
    assert read_site_text(EVERY_KEY).site.noise == NoiseLimit(38.0, 16.0)
    assert read_site_text(SMALLEST).site.noise is None
