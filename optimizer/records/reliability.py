"""In how many of all the ways its coefficients may fall out a design works."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pandas as pd


@dataclass(frozen=True, eq=False)
class Reliability:
    """How surely a design's siphons start and stop at every running level of the sump.

    Attributes:
        draws: number of draws.
        share: share of draws in which every bed works: its siphon starts and stops.
        by_bed: bed id to the share in which it works.
        starts: share in which every siphon starts.
        stops: share in which every siphon stops.
        floods: share in which every bed works and floods as often as promised at least.
        to_blame: coefficient to the share of failed draws that would have worked, had it alone
            been nominal; shares may add up to more or less than 1.
    """

    draws: int
    share: float
    by_bed: dict[str, float]
    starts: float
    stops: float
    floods: float
    to_blame: dict[str, float]

    @property
    def standard_error(self) -> float:
        """Sampling error of ``share``."""
        return math.sqrt(self.share * (1.0 - self.share) / self.draws)

    @property
    def weakest(self) -> tuple[str, float]:
        """The bed that works in the fewest draws, and its share; the first of several."""
        return min(self.by_bed.items(), key=lambda each: each[1])

    @property
    def most_to_blame(self) -> str | None:
        """The coefficient to measure first; ``None`` where none alone would mend any draw."""
        worst = max(self.to_blame, key=lambda name: self.to_blame[name])
        return worst if self.share < 1.0 and self.to_blame[worst] > 0.0 else None

    def frame(self) -> pd.DataFrame:
        """Return one row a bed: bed, share of draws in which it works."""
        return pd.DataFrame({"bed": list(self.by_bed), "share": list(self.by_bed.values())})
