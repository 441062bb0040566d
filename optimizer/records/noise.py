"""How long a pump may be heard: what a site asks."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class NoiseLimit:
    """A pump louder than ``louder_than_db`` runs at most ``hours_per_day_most``.

    Levels are sound pressure, A-weighted, one metre from the pump where it stands; pumps that run
    side by side count together (:func:`optimizer.physics.noise.together_db`).
    """

    louder_than_db: float
    hours_per_day_most: float
