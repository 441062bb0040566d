"""Water properties: the two laws and where they hold. Handbook values: tests/validation."""

import pytest

from optimizer.physics.water import density_kg_m3, dynamic_viscosity_pa_s, kinematic_viscosity_m2_s
from tests.tolerances import FORMULA


def test_kinematic_viscosity_is_dynamic_over_density():
    expected = dynamic_viscosity_pa_s(15.0) / density_kg_m3(15.0)
    assert kinematic_viscosity_m2_s(15.0) == pytest.approx(expected, rel=FORMULA)


@pytest.mark.parametrize("temperature_c", [-0.1, 100.1])
@pytest.mark.parametrize("law", [density_kg_m3, kinematic_viscosity_m2_s])
def test_ice_and_steam_are_refused(law, temperature_c):
    with pytest.raises(ValueError, match="formulas hold"):
        law(temperature_c)
