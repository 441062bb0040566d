"""Pressure in pipes, and what a plastic pipe may bear when it is warm."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from optimizer.physics.water import GRAVITY, density_kg_m3


@dataclass(frozen=True)
class Derating:
    """Share of its rating that a pipe keeps at a temperature.

    Attributes:
        temperatures_c: rising temperatures; below the first the whole rating holds, above the
            last the pipe is not used.
        shares: share of the rating at each, from 1 down; linear between.
        source: where the table comes from.
    """

    temperatures_c: tuple[float, ...]
    shares: tuple[float, ...]
    source: str


def _fahrenheit(*degrees: float) -> tuple[float, ...]:
    return tuple((each - 32.0) / 1.8 for each in degrees)


PVC_DERATING = Derating(
    _fahrenheit(73.0, 80.0, 90.0, 100.0, 110.0, 120.0, 130.0, 140.0),
    (1.00, 0.88, 0.75, 0.62, 0.50, 0.40, 0.30, 0.22),
    "PVC water pipe, 73 to 140 F: two pipe makers' printed tables (read; they differ by 0.01 at "
    "110 and 130 F, the lower is taken). PPFA User Bulletin 3-96, 1996, identical to Plastics Pipe "
    "Institute Recommendation C, prints 1.00 at 73 F and 0.88 at 80 F (read that far)",
)

PE100_DERATING = Derating(
    (20.0, 30.0, 40.0),
    (1.00, 0.87, 0.74),
    "PE 100 water pipe, 20 to 40 C for 50 years: pressure reduction coefficients printed with "
    "ISO 4427-1 and EN 12201-1, annex A (recalled; not verified)",
)

DERATINGS = MappingProxyType(
    {
        "pvc": PVC_DERATING,
        "pvc_u": PVC_DERATING,
        "pvcu": PVC_DERATING,
        "upvc": PVC_DERATING,
        "pe100": PE100_DERATING,
        "pe": PE100_DERATING,
        "hdpe": PE100_DERATING,
    }
)
"""Derating table by material, case, blanks and hyphens ignored.

PVC-U made to metric standards uses the same table: it starts lower than the curve of EN ISO
1452-2 annex A is said to (from 25 C; second hand), so it is the safer of the two.
"""


def pressure_pa(head_m: float, temperature_c: float = 20.0) -> float:
    """Return the pressure of a head of water: rho g h, in pascals.

    Args:
        head_m: head in metres of water.
        temperature_c: water temperature, 0 to 100.

    Raises:
        ValueError: for a temperature outside its limits.
    """
    return density_kg_m3(temperature_c) * GRAVITY * head_m


def derating_for(material: str) -> Derating:
    """Return the derating table of a material.

    Raises:
        ValueError: for a material without a table, naming those that have one.
    """
    key = material.strip().lower().replace("-", "_").replace(" ", "_")
    key = key if key in DERATINGS else key.replace("_", "")
    if key not in DERATINGS:
        raise ValueError(f"no derating table for {material!r}; known: {', '.join(DERATINGS)}")
    return DERATINGS[key]


def rating_at_temperature(rating_pa: float, material: str, temperature_c: float) -> float:
    """Return what a pipe is rated for at the temperature of its water and its surroundings.

    Args:
        rating_pa: rating at the standard's own temperature (PVC 23 C, PE 100 20 C).
        material: pvc (or PVC-U) or pe100.
        temperature_c: temperature in degrees Celsius.

    Returns:
        Rating in pascals; linear between the points of :data:`DERATINGS`, no gain when colder.

    Raises:
        ValueError: for an unknown material, or a temperature above its table's last.

    >>> rating_at_temperature(1.6e6, "pe100", 30.0)
    1392000.0
    """
    table = derating_for(material)
    if rating_pa < 0.0:
        raise ValueError("a pressure rating must not be negative")
    if temperature_c > table.temperatures_c[-1]:
        raise ValueError(
            f"{material} has no rating at {temperature_c:g} C: "
            f"its table ends at {table.temperatures_c[-1]:g} C"
        )
    return rating_pa * float(np.interp(temperature_c, table.temperatures_c, table.shares))
