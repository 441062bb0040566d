"""Pressure and warm pipe against a printed derating table, and its shape."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.physics.pressure import pressure_pa, rating_at_temperature
from tests.tolerances import EXACT, FORMULA


@pytest.mark.parametrize(("celsius", "factor"), [(20, 1.0), (30, 0.87), (40, 0.74)])
def test_pe100_factors_are_the_standards(celsius, factor):
    # ISO 4427-1 and EN 12201-1, annex A (recalled; not verified).
    assert rating_at_temperature(1e6, "PE100", celsius) == pytest.approx(factor * 1e6, rel=FORMULA)


@given(
    material=st.sampled_from(["PVC", "PVC-U", "PE 100"]),
    warm=st.floats(-5, 39),
    step=st.floats(0, 1),
)
def test_warmth_never_raises_a_rating(material, warm, step):
    cold = rating_at_temperature(1e6, material, warm)
    assert rating_at_temperature(1e6, material, warm + step) <= cold <= 1e6


def test_pressure_is_density_gravity_head():
    # 10 m at 20 C: 998.204 x 9.80665 x 10 = 97,890 Pa.
    assert pressure_pa(10.0, 20.0) == pytest.approx(97_890, rel=1e-5)
    assert pressure_pa(0.0) == EXACT


def test_a_rating_below_nothing_is_refused():
    with pytest.raises(ValueError, match="must not be negative"):
        rating_at_temperature(-1.0, "PVC", 20.0)


@pytest.mark.parametrize(("material", "celsius"), [("PVC", 60.1), ("PE100", 40.1), ("steel", 20.0)])
def test_pipe_without_a_rating_is_refused(material, celsius):
    with pytest.raises(ValueError):
        rating_at_temperature(1e6, material, celsius)
