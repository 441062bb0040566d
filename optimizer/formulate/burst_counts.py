"""How many bursts a return pipe must carry where the site trusts that siphons do not fire together.

Hunter's method: a pipe that carries m equal bursts serves the largest number of beds of which more
than m seldom fire at once. It takes all bursts as alike, so each way to count here takes the beds
of some bed types, each at the greatest burst and the greatest share of time draining among them. A
stretch that holds every burst above it serves too, whatever Hunter's method says of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from optimizer.formulate.bed_options import BedCandidate
from optimizer.physics.simultaneity import most_beds_for
from optimizer.records.site import Returns

LIKE_BURSTS = 2.0
"""Greatest burst that Hunter's method counts over the gentlest of its bed type (A55)."""


@dataclass(frozen=True)
class BurstCount:
    """One way to count bursts by Hunter's method.

    Attributes:
        covered: bed options whose beds may be counted so.
        burst_m3_s: the greatest burst among them.
        share: the greatest share of time that any of them drains.
        confidence: share of time in which no more bursts come than are counted.
    """

    covered: frozenset[str]
    burst_m3_s: float
    share: float
    confidence: float

    def counted_beds(self, option: str, beds: int) -> float:
        """Return how many of so many beds count: all, or inf where they are not covered."""
        return float(beds) if option in self.covered else math.inf

    def credited_beds(self, capacity_m3_s: float) -> int:
        """Return how many beds a pipe of some capacity serves."""
        together = math.floor(capacity_m3_s / self.burst_m3_s)
        return most_beds_for(together, self.share, self.confidence) if together else 0


def hunter_counts(returns: Returns, candidates: Sequence[BedCandidate]) -> tuple[BurstCount, ...]:
    """Return the ways to count bursts by Hunter's method: one up to each bed type's greatest burst.

    A bed type of great bursts that is listed and not built so raises no other's count.

    Args:
        returns: the site's return side; without ``bursts = "binomial"`` there is none.
        candidates: the bed options.
    """
    if returns.bursts == "all":
        return ()
    like = _with_like_bursts(candidates)
    greatest = {name: max(burst_m3_s(c) for c in found) for name, found in _by_type(like).items()}
    return tuple(
        _count(returns, [c for c in like if greatest[c.option.bed_type] <= burst])
        for burst in sorted(set(greatest.values()))
    )


def burst_m3_s(candidate: BedCandidate) -> float:
    """Return the greatest discharge of a bed's siphon, as it primes."""
    bed = candidate.kind.siphon
    return bed.discharge_m3_s(bed.prime_level_m)


def draining_share(candidate: BedCandidate) -> float:
    """Return the share of its time that a bed drains, at its set inflow."""
    bed, inflow = candidate.kind.siphon, candidate.kind.inflow_m3_s
    return bed.drain_s(inflow) / bed.cycle_s(inflow)


def _count(returns: Returns, covered: Sequence[BedCandidate]) -> BurstCount:
    return BurstCount(
        frozenset(c.option.id for c in covered),
        max(burst_m3_s(c) for c in covered),
        max(draining_share(c) for c in covered),
        returns.confidence,
    )


def _by_type(candidates: Sequence[BedCandidate]) -> Mapping[str, list[BedCandidate]]:
    found: dict[str, list[BedCandidate]] = {}
    for candidate in candidates:
        found.setdefault(candidate.option.bed_type, []).append(candidate)
    return found


def _with_like_bursts(candidates: Sequence[BedCandidate]) -> list[BedCandidate]:
    """Return the options of each type but the fierce: one of those would size every pipe."""
    kept: list[BedCandidate] = []
    for found in _by_type(candidates).values():
        gentlest = min(burst_m3_s(c) for c in found)
        kept += [c for c in found if burst_m3_s(c) <= LIKE_BURSTS * gentlest]
    return kept
