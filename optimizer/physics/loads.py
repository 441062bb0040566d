"""What a wet bed weighs and what the floor under it bears."""

from __future__ import annotations

from optimizer.physics.water import GRAVITY


def wet_mass_kg(
    container_mass_kg: float, medium_volume_m3: float, wet_density_kg_m3: float
) -> float:
    """Return the mass of a flooded bed: container, medium and the water in it.

    Args:
        container_mass_kg: empty container, 0 or more.
        medium_volume_m3: heaped volume of the medium, 0 or more.
        wet_density_kg_m3: mass of flooded medium per heaped volume (flooded gravel about
            1,900-2,150, expanded clay 850-1,100: our arithmetic, a caution only).

    Raises:
        ValueError: for a negative argument.
    """
    if min(container_mass_kg, medium_volume_m3, wet_density_kg_m3) < 0.0:
        raise ValueError("masses, volumes and densities must not be negative")
    return container_mass_kg + medium_volume_m3 * wet_density_kg_m3


def load_per_support_n(mass_kg: float, supports: int) -> float:
    """Return the force on each of a stand's supports, shared equally, in newtons.

    Args:
        mass_kg: mass carried, 0 or more.
        supports: number of supports, at least 1.

    Raises:
        ValueError: for an argument outside its limits.
    """
    if mass_kg < 0.0 or supports < 1:
        raise ValueError("a load needs a mass of 0 or more and at least one support")
    return mass_kg * GRAVITY / supports


def floor_pressure_pa(load_n: float, foot_area_m2: float) -> float:
    """Return the pressure under one foot, in pascals.

    Args:
        load_n: force on the foot, 0 or more.
        foot_area_m2: area of the foot, above 0.

    Raises:
        ValueError: for an argument outside its limits.
    """
    if load_n < 0.0 or not foot_area_m2 > 0.0:
        raise ValueError("floor pressure needs a load of 0 or more and a foot area above 0")
    return load_n / foot_area_m2
