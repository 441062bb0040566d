"""Settled plans and a tight sump: fronts of (head needed, water that drains back, cost)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from optimizer.milp.composed_branches import TINY, Branches
from optimizer.milp.composed_drives import Drive, Settled
from optimizer.milp.composed_labels import Limits
from optimizer.milp.composed_parts import Part, Walk, walked
from optimizer.milp.composed_read import Reading
from optimizer.milp.composed_returns import Returns
from optimizer.milp.composed_scene import Scene
from optimizer.milp.tables import PUMP_NODE
from optimizer.records.problem import StretchTable

POINTS_MOST = 20_000  # a front with more points is given up


class TooManyPoints(Exception):
    """A front grew past ``POINTS_MOST``."""


class ExactWater:
    """The least cost of a scene in which every branch has one plan, drive by drive.

    Args:
        reading: the problem.
        scene: the scene.
        returns: return pipe.
        tick: called before every step; it may raise to end the search.
    """

    def __init__(
        self, reading: Reading, scene: Scene, returns: Returns, tick: Callable[[], None]
    ) -> None:
        self.reading = reading
        self.scene = scene
        self.tick = tick
        self.plans = {b: found[0] for b, found in scene.plans.items()}
        self.laid = returns.under(list(self.plans.values()))
        self.held_m3 = sum(p.held_m3 + p.lost_m3 for p in self.plans.values())
        self._parts: dict[tuple[float, int], Part] = {}

    def designs(self, limit: float) -> Iterator[Settled]:
        """Ever cheaper designs, each below a limit, until none is left.

        Raises:
            TooManyPoints: where a front grows too long.
        """
        bounds: dict[int, float] = {}
        for (_, n, _), cents in (self.scene.known or {}).items():
            bounds[n] = min(cents, bounds.get(n, np.inf))
        for n in sorted(bounds, key=lambda n: (bounds[n], n)):
            if bounds[n] < limit:
                best = self._cheapest(self.scene.drives[n], limit)
                if best is not None:
                    yield best
                    limit = best.cents

    def _cheapest(self, drive: Drive, limit: float) -> Settled | None:
        part, best = self._part(drive), None
        fixed = self.reading.problem.fixed_cents + drive.cents
        points = part.points
        reached = points.need_m <= drive.duty.head_m + TINY
        for sump in drive.sumps:
            if sump.working_m3 < self.held_m3 - TINY:
                continue
            fits = np.flatnonzero(reached & (points.volume_m3 <= sump.spare_m3 + TINY))
            if not len(fits):
                continue
            point = int(fits[np.argmin(points.cents[fits])])
            total = float(points.cents[point]) + fixed + sump.cost_cents
            total += self.laid.cents(sump.top_m)
            if total < limit:
                limit = total
                best = Settled(round(total), walked(part, point, Walk()), drive, sump, self.laid)
        return best

    def _part(self, drive: Drive) -> Part:
        """The front under all that a pump duty asks for."""
        key = (drive.asks_m, drive.throttles)
        if key not in self._parts:
            spare = max(k.spare_m3 for d in self.scene.drives for k in d.sumps) + TINY
            setting = replace(
                self.scene.setting(),
                authority=drive.asks_m,
                throttled_m=drive.duty.head_m,
                limits=Limits(max(d.duty.head_m for d in self.scene.drives) + TINY, spare),
                cents_per_m3=0.0,
                count_volume=True,
            )
            self._parts[key] = self._supply(Branches(self.reading, setting))
        return self._parts[key]

    def _supply(self, branches: Branches) -> Part:
        at: dict[str, Part] = {}
        for stretch in reversed(self.reading.tables.shared):
            self.tick()
            part = self._at_node(branches, stretch.head, at)
            flow = self._flow(stretch)
            if flow or stretch.tail == PUMP_NODE:
                duties = tuple(u.id for u in stretch.duties if u.flow_steps == flow)
                part = branches.workshop.lay(branches.ladder(stretch, duties), part)
            if len(part.points) > POINTS_MOST:
                raise TooManyPoints
            beside = at.get(stretch.tail)
            at[stretch.tail] = part if beside is None else branches.workshop.join(part, beside)
        return self._at_node(branches, PUMP_NODE, at)

    def _at_node(self, branches: Branches, node: str, at: dict[str, Part]) -> Part:
        part = at.pop(node, None) or branches.workshop.start(0.0, 0.0)
        for branch in self.reading.branches_at.get(node, []):
            self.tick()
            if branch in self.plans:
                part = branches.workshop.join(part, branches.part(self.plans[branch]))
        return part

    def _flow(self, stretch: StretchTable) -> int:
        below = self.reading.tables.branches_below[stretch.id]
        return sum(self.plans[b].flow_steps for b in below if b in self.plans)


def exact_water(
    reading: Reading,
    scene: Scene,
    returns: Returns,
    limit: float,
    tick: Callable[[], None],
) -> list[Settled] | None:
    """Every design found on the way to the cheapest one of a scene, or None where given up."""
    try:
        return list(ExactWater(reading, scene, returns, tick).designs(limit))
    except TooManyPoints:
        return None
