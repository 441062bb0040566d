"""A fish tank as it stands in a finished design."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class BuiltFishTank:
    """The fish tank that the whole pumped flow passes through; its level is on the site's datum.

    ``turnovers_per_hour`` is at the duty flow. ``feed_supported_kg_per_day`` is the least and the
    most feed that the growing area takes up under ``crop`` (leafy or fruiting). It stands on the
    return, below the end of all return pipe, or feeds the beds from above (``feeds_beds``).
    """

    volume_m3: float
    water_level_m: float
    turnovers_per_hour: float
    turnovers_per_hour_least: float
    feed_kg_per_day: float
    feed_supported_kg_per_day: tuple[float, float]
    crop: str
    feeds_beds: bool = False
