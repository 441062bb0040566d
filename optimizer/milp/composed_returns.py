"""Return pipe of a site whose plans are settled: the exact front of (level reached, cost)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimizer.milp.composed_branches import TINY
from optimizer.milp.composed_labels import NOTHING_NEEDED, Ladder, Limits
from optimizer.milp.composed_parts import Part, Walk, Workshop, walked
from optimizer.milp.composed_read import Loads, Reading
from optimizer.milp.composed_states import added
from optimizer.milp.tables import SUMP_NODE
from optimizer.records.problem import BranchPlan
from optimizer.records.problem_drains import DrainBuild, DrainTable


@dataclass(frozen=True)
class Laid:
    """Return pipe under given plans.

    Attributes:
        part: front of (minus the level reached at the sump, cost); None where no bed drains.
    """

    part: Part | None

    def cents(self, top_m: float) -> float:
        """The least cost of pipe that ends above a level; inf where none does."""
        if self.part is None:
            return 0.0
        point = self._point(top_m)
        return np.inf if point < 0 else float(self.part.points.cents[point])

    def add_to(self, walk: Walk, top_m: float) -> None:
        """Note the builds of the cheapest pipe that ends above a level."""
        if self.part is not None:
            walked(self.part, self._point(top_m), walk)

    def _point(self, top_m: float) -> int:
        assert self.part is not None
        return int(np.searchsorted(self.part.points.need_m, TINY - top_m, side="right")) - 1


class Returns:
    """Lays return pipe; equal pipe under equal rows is worked out once.

    Each stretch is no narrower than what runs into it, so fronts are kept for every width that a
    stretch may have at most.

    Args:
        reading: the problem.
    """

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        tops = [k.top_m for k in reading.problem.sumps]
        self._workshop = Workshop(Limits(TINY - min(tops, default=0.0)))
        self._known: dict[frozenset[str], Laid] = {}

    @cached_property
    def widths_m(self) -> list[float]:
        """Every crown height a build may have, rising."""
        return sorted({b.crown_m for d in self.reading.problem.drains for b in d.builds})

    def under(self, plans: Sequence[BranchPlan]) -> Laid:
        """Return pipe under the plans of all branches."""
        key = frozenset(p.id for p in plans)
        if key not in self._known:
            self._known[key] = self._lay(plans)
        return self._known[key]

    def _lay(self, plans: Sequence[BranchPlan]) -> Laid:
        levels = {n: level for p in plans for n, level in p.drain_levels_m.items()}
        arriving: dict[str, list[list[Part | None]]] = {}
        for drain in reversed(self.reading.problem.drains):
            loads = added([drain.loads(p.id) for p in plans])
            if any(loads):
                above = self._together(arriving.pop(drain.upper, []))
                fronts = self._at_most(drain, loads, levels.get(drain.upper), above)
                arriving.setdefault(drain.lower, []).append(fronts)
        if SUMP_NODE not in arriving:
            return Laid(None)
        every = self._together(arriving[SUMP_NODE])[-1]
        return Laid(every or Part(self._workshop.start(0.0, np.inf).points.at(NO_POINTS)))

    def _together(self, arriving: list[list[Part | None]]) -> list[Part | None]:
        """Fronts, by greatest width, of all pipe that arrives at a node."""
        if not arriving:
            return [self._workshop.start(0.0, NOTHING_NEEDED)] * len(self.widths_m)
        made = arriving[0]
        for other in arriving[1:]:
            made = [
                None if a is None or b is None else self._workshop.join(a, b)
                for a, b in zip(made, other, strict=True)
            ]
        return made

    def _at_most(
        self, drain: DrainTable, loads: Loads, bed_m: float | None, above: list[Part | None]
    ) -> list[Part | None]:
        """Fronts of a stretch with all above it, by the width it has at most."""
        best: Part | None = None
        found: list[Part | None] = []
        able = enough(drain, loads)
        for width, below in zip(self.widths_m, above, strict=True):
            builds = [b for b in able if b.crown_m == width]
            if builds and below is not None:
                made = self._workshop.lay(drain_ladder(drain.id, builds, bed_m), below)
                made_too = [p for p in (best, made) if p is not None and len(p.points)]
                best = self._workshop.best(made_too) if made_too else None
            found.append(best)
        return found


NO_POINTS = np.zeros(0, dtype=np.int64)


def drain_ladder(drain: str, builds: Iterable[DrainBuild], bed_m: float | None) -> Ladder:
    """Ways to lay a return stretch, under a bed's highest level or none."""
    kept = list(builds)
    base = [NOTHING_NEEDED if bed_m is None else b.crown_m - bed_m for b in kept]
    return Ladder(
        drain,
        tuple(("", b.id) for b in kept),
        np.array([b.fall_m for b in kept]),
        np.array(base),
        np.zeros(len(kept)),
        np.array([float(b.cost_cents) for b in kept]),
    )


def enough(drain: DrainTable, loads: Loads) -> list[DrainBuild]:
    """The builds that carry what a stretch is loaded with, by any one way to count it."""
    return [
        b
        for b in drain.builds
        if any(load <= able + TINY for load, able in zip(loads, b.carried, strict=True))
    ]


def least_cents(drain: DrainTable, loads: Loads) -> float:
    """The least cost of a return stretch that carries its load, whatever its fall."""
    if not any(loads):
        return 0.0
    return float(min((b.cost_cents for b in enough(drain, loads)), default=np.inf))
