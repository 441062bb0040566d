"""Water properties against values every handbook prints."""

import pytest

from optimizer.physics.water import density_kg_m3, dynamic_viscosity_pa_s, kinematic_viscosity_m2_s
from tests.tolerances import FORMULA

DENSITY_TABLE = 1e-5
VISCOSITY_TABLE = 2e-3


@pytest.mark.parametrize(
    ("temperature_c", "density"), [(0, 999.84), (4, 999.975), (20, 998.204), (40, 992.22)]
)
def test_density_is_the_handbook_value(temperature_c, density):
    # Kell 1975, J. Chem. Eng. Data 20(1): values recalled.
    assert density_kg_m3(temperature_c) == pytest.approx(density, rel=DENSITY_TABLE)


@pytest.mark.parametrize(
    ("temperature_c", "viscosity_mpa_s"), [(0, 1.792), (10, 1.306), (20, 1.0016), (40, 0.653)]
)
def test_viscosity_is_the_handbook_value(temperature_c, viscosity_mpa_s):
    # International tables of water viscosity at 0.1 MPa: values recalled.
    found = 1000 * dynamic_viscosity_pa_s(temperature_c)
    assert found == pytest.approx(viscosity_mpa_s, rel=VISCOSITY_TABLE)


def test_kinematic_viscosity_is_dynamic_over_density():
    expected = dynamic_viscosity_pa_s(15.0) / density_kg_m3(15.0)
    assert kinematic_viscosity_m2_s(15.0) == pytest.approx(expected, rel=FORMULA)


@pytest.mark.parametrize("temperature_c", [-0.1, 100.1])
@pytest.mark.parametrize("law", [density_kg_m3, kinematic_viscosity_m2_s])
def test_ice_and_steam_are_refused(law, temperature_c):
    with pytest.raises(ValueError, match="formulas hold"):
        law(temperature_c)
