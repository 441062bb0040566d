"""Return pipe as the program sees it: stretches, and the ways to lay each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class DrainBuild:
    """One way to lay a stretch of return pipe: a size at a slope.

    Attributes:
        id: build id.
        cost_cents: pipe and fittings.
        capacity_m3_s: flow at the fill limit.
        fall_m: drop from its upper to its lower end.
        crown_m: height of the pipe's inside top over its invert.
        pipe: the size of pipe it is bought in.
        pipe_cents: the part of its cost that is pipe by the metre.
        credited_beds: for each other way to count bursts, how many beds it serves.
    """

    id: str
    cost_cents: int
    capacity_m3_s: float
    fall_m: float
    crown_m: float
    pipe: str = ""
    pipe_cents: int = 0
    credited_beds: tuple[int, ...] = ()

    @property
    def carried(self) -> tuple[float, ...]:
        """What it may be loaded with: its capacity, then the beds it serves by each other count."""
        return (self.capacity_m3_s, *self.credited_beds)


@dataclass(frozen=True)
class DrainTable:
    """A stretch of the return tree, from ``upper`` to ``lower`` (``"sump"`` for the last).

    Attributes:
        id: stretch id.
        upper: upstream node.
        lower: downstream node.
        builds: ways to lay it.
        bursts_m3_s: plan id to the greatest flow that plan's beds send through this stretch; the
            flows of all chosen plans add up. Absent: none.
        otherwise_beds: other ways to count the same bursts, any one of which may be kept instead
            of the plain sum: the same plans to the beds that count there, inf where that way does
            not cover them. They are held against a build's ``credited_beds``.
    """

    id: str
    upper: str
    lower: str
    builds: tuple[DrainBuild, ...]
    bursts_m3_s: Mapping[str, float]
    otherwise_beds: tuple[Mapping[str, float], ...] = ()

    def loads(self, plan: str) -> tuple[float, ...]:
        """What a plan loads the stretch with: its plain sum, then its beds by each other count."""
        return tuple(each.get(plan, 0.0) for each in (self.bursts_m3_s, *self.otherwise_beds))
