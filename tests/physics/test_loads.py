"""Loads by hand arithmetic."""

import pytest

from optimizer.physics.loads import floor_pressure_pa, load_per_support_n, wet_mass_kg
from tests.tolerances import FORMULA


def test_wet_mass_is_container_plus_flooded_medium():
    # 25 kg of container and 0.3 m3 at 2,000 kg/m3: 625 kg.
    assert wet_mass_kg(25.0, 0.3, 2000.0) == pytest.approx(625.0, rel=FORMULA)


def test_supports_share_the_weight_and_press_on_the_floor():
    # 625 kg on four: 625 x 9.80665 / 4 = 1532.289 N; on 0.01 m2 each: 153,228.9 Pa.
    load = load_per_support_n(625.0, 4)
    assert load == pytest.approx(1532.2890625, rel=FORMULA)
    assert floor_pressure_pa(load, 0.01) == pytest.approx(153_228.90625, rel=FORMULA)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: wet_mass_kg(-1.0, 0.1, 2000.0),
        lambda: load_per_support_n(100.0, 0),
        lambda: floor_pressure_pa(100.0, 0.0),
    ],
)
def test_impossible_loads_are_refused(wrong):
    with pytest.raises(ValueError):
        wrong()
