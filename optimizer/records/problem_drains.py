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
        credited_m3_s: for each other way to count bursts, the most it is credited with.
    """

    id: str
    cost_cents: int
    capacity_m3_s: float
    fall_m: float
    crown_m: float
    pipe: str = ""
    pipe_cents: int = 0
    credited_m3_s: tuple[float, ...] = ()

    @property
    def carried_m3_s(self) -> tuple[float, ...]:
        """What it may be loaded with: by its capacity, then by each other way to count."""
        return (self.capacity_m3_s, *self.credited_m3_s)


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
        otherwise_m3_s: other ways to count the same bursts, of which any one may be kept instead
            of the plain sum: the same plans to what they count for there, inf where that way does
            not cover their beds. A build's ``credited_m3_s`` is what each is held against.
    """

    id: str
    upper: str
    lower: str
    builds: tuple[DrainBuild, ...]
    bursts_m3_s: Mapping[str, float]
    otherwise_m3_s: tuple[Mapping[str, float], ...] = ()

    def loads_m3_s(self, plan: str) -> tuple[float, ...]:
        """What a plan loads the stretch with: its plain sum, then by each other way to count."""
        return tuple(each.get(plan, 0.0) for each in (self.bursts_m3_s, *self.otherwise_m3_s))
