"""A tank above the beds that the pump fills, and that feeds the beds by gravity."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.records.shelf import CountedPart

TANK = "tank"
"""The node of a tank's outlet, from which the beds are fed."""

TANK_RISER = "riser to tank"
"""The pipe from the pump up to the tank."""


TANK_LEVEL_DRIFT = 0.01
"""Change of inflow set aside for the weir of a tank's overflow (A62, assumption).

Its level moves by millimetres where the pump's flow moves with the sump's level.
"""


@dataclass(frozen=True)
class HeaderTank:
    """The tank as the grower asks for it.

    ``part`` is a tank of the catalog; None where the fish tank feeds the beds, with the area of its
    water in ``surface_m2``. ``water_level_m`` is on the site's datum, with the pump running and the
    excess overflowing. The outlet's upper edge lies ``outlet_below_water_m`` under it.
    """

    at: tuple[float, float]
    water_level_m: float
    part: str | None = None
    surface_m2: float | None = None
    outlet_below_water_m: float = 0.2


@dataclass(frozen=True)
class BuiltTank:
    """The tank in a finished design; levels are on the site's datum.

    ``water_m3`` is all it holds, ``above_outlet_m3`` what stands over its outlet and runs down when
    the pump stops.
    ``pump_flow_m3_s`` is what the pump brings with the sump at its lowest, setting and highest
    running level; what the beds do not take runs back over an overflow pipe, sized for
    ``overflow_m3_s`` and laid beside the riser with ``overflow_parts``. ``part`` is empty where the
    fish tank feeds the beds.
    """

    part: str
    label: str
    x_m: float
    y_m: float
    water_level_m: float
    inlet_level_m: float
    outlet_level_m: float
    water_m3: float
    above_outlet_m3: float
    pump_flow_m3_s: tuple[float, float, float]
    overflow_m3_s: float
    overflow_pipe: str
    overflow_nominal: str
    overflow_bore_m: float
    overflow_length_m: float
    overflow_manning_n: float
    overflow_parts: tuple[CountedPart, ...] = ()
