"""Fish tank: how often its water is renewed, and how much feed the growing area makes up for."""

from __future__ import annotations

from types import MappingProxyType

FEED_KG_PER_M2_DAY = MappingProxyType({"leafy": (0.040, 0.050), "fruiting": (0.050, 0.080)})
"""Fish feed a day that a square metre of growing area takes up, least and most, by crop.

FAO Fisheries and Aquaculture Technical Paper 589, 2014: 40-50 g/m2/day for leafy, 50-80 for
fruiting crops (second hand).
"""


def turnover_per_hour(flow_m3_s: float, volume_m3: float) -> float:
    """Return how often an hour a flow renews a tank's volume.

    Args:
        flow_m3_s: flow through the tank, 0 or more.
        volume_m3: water in the tank, above 0.

    Raises:
        ValueError: for an argument outside its limits.

    >>> turnover_per_hour(0.001, 1.8)
    2.0
    """
    if not (flow_m3_s >= 0.0 and volume_m3 > 0.0):
        raise ValueError("a turnover needs a flow of 0 or more and a tank volume above 0")
    return flow_m3_s * 3600.0 / volume_m3


def feed_supported_kg_per_day(area_m2: float, crop: str) -> tuple[float, float]:
    """Return the fish feed a day that a growing area supports.

    Feed up to the first figure is supported by the published range as a whole; between the two it
    depends on the crop; above the second it is not.

    Args:
        area_m2: growing area, 0 or more.
        crop: leafy or fruiting.

    Returns:
        Least and most, in kg/day (:data:`FEED_KG_PER_M2_DAY`).

    Raises:
        ValueError: for a negative area or a crop without figures, naming those that have some.
    """
    if crop not in FEED_KG_PER_M2_DAY:
        known = ", ".join(FEED_KG_PER_M2_DAY)
        raise ValueError(f"no feed figures for the crop {crop!r}; known: {known}")
    if not area_m2 >= 0.0:
        raise ValueError(f"a growing area must not be negative, not {area_m2}")
    least, most = FEED_KG_PER_M2_DAY[crop]
    return area_m2 * least, area_m2 * most
