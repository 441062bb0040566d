"""Best-first search over scenes: always the one whose bound is least, until that proves the best.

A scene's table ignores some of what couples a site. Where its best combination breaks such a rule
the scene is looked at more closely: pump duties that ask for more are taken apart, the pipes' water
gets a price, thinned fronts get finer, and last the plans of one row are taken apart.
"""

from __future__ import annotations

import heapq
import math
import threading
from collections.abc import Callable
from dataclasses import replace

from optimizer.milp.composed_clock import Clock, OutOfTime
from optimizer.milp.composed_drives import (
    Settled,
    Shelf,
    by_bearing,
    cheapest,
    drives,
    pipes_of,
)
from optimizer.milp.composed_looking import Looking
from optimizer.milp.composed_read import Reading
from optimizer.milp.composed_returns import Returns
from optimizer.milp.composed_scene import Key, Plans, Scene
from optimizer.milp.composed_states import able
from optimizer.milp.composed_table import traced
from optimizer.milp.composed_water import exact_water
from optimizer.milp.engine import Progress
from optimizer.milp.solve import LESS_THAN_A_CENT

PRICES_MOST = 10
SETTLE_AT_ONCE = 3
LOOKS_MOST = 250  # more looks than this are left to the complete program
LOOKS_WITHOUT = 60  # and more than this without any design
FINER = 16.0


class Search:
    """The search.

    Args:
        reading: the problem.
        gap: relative gap at which to stop.
        time_limit_s: time limit in seconds, or None.
        progress: called about ten times a second.
        stop: set it from any thread to keep the best so far.
        known_cents: cost of a design that is known to be allowed: one that does not beat it by more
            than the gap is not looked for.
    """

    def __init__(
        self,
        reading: Reading,
        gap: float,
        time_limit_s: float | None,
        progress: Callable[[Progress], None] | None,
        stop: threading.Event,
        known_cents: float = math.inf,
    ) -> None:
        self.reading = reading
        self.gap = gap
        self.known_cents = known_cents
        self.progress = progress
        self.clock = Clock(time_limit_s, stop, self._tell)
        self.best: Settled | None = None
        self.bound = -math.inf
        self.dropped = math.inf
        self.ended = "optimal"
        self.looks = 0
        self.returns = Returns(reading)
        self.drives = drives(reading)
        self.shelf = Shelf(reading, self.drives)
        self.looking = Looking(reading, self.returns, self.shelf, self.clock.tick)
        self._waiting: list[tuple[float, int, Scene]] = []
        self._count = 0

    @property
    def cheapest(self) -> float:
        """The cost of the best design so far, or of the one known before."""
        return self.known_cents if self.best is None else float(self.best.cents)

    @property
    def limit(self) -> float:
        """Designs that cost at least this are no news."""
        best = self.cheapest
        return best - max(self.gap * best, LESS_THAN_A_CENT) if math.isfinite(best) else math.inf

    def run(self) -> None:
        """Search until the best design is proven, or time is up, or nothing more can be done."""
        for scene in self._first_scenes():
            self._wait(scene)
        while self.ended == "optimal" and self._waiting:
            self.bound = self._waiting[0][0]
            if self.bound >= self.limit:
                break
            _, _, scene = heapq.heappop(self._waiting)
            try:
                self._advance(scene)
            except OutOfTime:
                self.ended = "stopped"
                self._wait(scene)
        self.bound = self._proven()
        self.clock.say()

    def _advance(self, scene: Scene) -> None:
        """Look at a scene for the first time, or more closely."""
        self.clock.tick()
        if scene.known is None:
            self._look(scene)
        elif self._too_many_looks() or not self._closer(scene):
            self.ended = "stuck"
            self._wait(scene)

    def _too_many_looks(self) -> bool:
        return self.looks > (LOOKS_WITHOUT if math.isinf(self.cheapest) else LOOKS_MOST)

    def _proven(self) -> float:
        """What no design can cost less than, once the search has ended."""
        if self.best is None:
            return self.bound
        waiting = self._waiting[0][0] if self._waiting else math.inf
        return min(waiting, self.looking.dropped, self.dropped, float(self.best.cents))

    def _wait(self, scene: Scene) -> None:
        if scene.bound >= self.limit:
            self.dropped = min(self.dropped, scene.bound)
        else:
            self._count += 1
            heapq.heappush(self._waiting, (scene.bound, self._count, scene))

    def _first_scenes(self) -> list[Scene]:
        made = []
        for shut_off, found in by_bearing(self.reading, self.drives):
            for options in self.reading.picks():
                picked = {
                    b: [p for p in every if p.option is None or p.option in options]
                    for b, every in self.reading.tables.plans_of_branch.items()
                }
                plans = able(picked, self.reading.problem.requirements)
                if all(plans.values()):
                    made.append(Scene(plans, shut_off, list(found), thin_cents=self._thin(plans)))
        return made

    def _thin(self, plans: Plans) -> float:
        """What each step may thin a front by, so that all steps take half of the gap."""
        whole = sum(max(p.cost_cents for p in found) for found in plans.values())
        steps = 2 * len(plans) + len(self.reading.tables.shared)
        return self.gap * whole / (2.0 * steps)

    def _look(self, scene: Scene) -> None:
        """Build the scene's table, take its best combinations for designs, and let it wait."""
        self.looks += 1
        self.looking.look(
            scene, lambda: self.cheapest, lambda: self.limit, lambda: self._settle_best(scene)
        )
        self._wait(scene)

    def _settle_best(self, scene: Scene) -> None:
        known = scene.known or {}
        points: set[int] = set()
        for key in heapq.nsmallest(8 * SETTLE_AT_ONCE, known, key=lambda k: (known[k], k)):
            point = self.looking.point(scene, key)
            if point not in points and len(points) < SETTLE_AT_ONCE:
                points.add(point)
                self._settle(scene, point)

    def _settle(self, scene: Scene, point: int) -> None:
        assert scene.flat is not None
        walk = traced(scene.flat, point)
        plans = [self.looking.plan[p] for p in walk.plans]
        pipes = pipes_of(self.reading, walk, plans)
        made = cheapest(
            self.shelf,
            walk,
            pipes,
            self.returns.under(plans),
            self.drives,
            self.reading.problem.fixed_cents,
        )
        if made is not None and made.cents < self.cheapest:
            self.best = made

    def _closer(self, scene: Scene) -> bool:
        """Look more closely at a scene; False where nothing more can be done."""
        assert scene.known is not None and scene.flat is not None
        # Not empty: the search ends before a scene whose bound, the least of these, is no news.
        scene.known = known = self.looking.alive(scene.known, self.limit)
        key = min(known, key=lambda k: (known[k], k))
        drive, sump = scene.drives[key[1]], scene.drives[key[1]].sumps[key[2]]
        walk = traced(scene.flat, self.looking.point(scene, key))
        pipes = pipes_of(self.reading, walk, [self.looking.plan[p] for p in walk.plans])
        if not pipes.bear(drive):
            return self._take_drives_apart(scene, key)
        if pipes.volume_m3 > sump.spare_m3 + 1e-9 and scene.tries < PRICES_MOST:
            return self._other_price(scene, too_much=True)
        if scene.thin_cents > 0.0:
            return self._finer(scene)
        if scene.price > 0.0 and scene.tries < PRICES_MOST:
            return self._other_price(scene, too_much=False)
        return self._take_plans_apart(scene, key)

    def _take_drives_apart(self, scene: Scene, key: Key) -> bool:
        """Give those that ask for at least as much as the best one a table of their own."""
        alive = sorted({n for _, n, _ in scene.known or {}})
        drive = scene.drives[key[1]]
        above = [
            n
            for n in alive
            if scene.drives[n].asks_m >= drive.asks_m
            and scene.drives[n].throttles >= drive.throttles
        ]
        rest = scene.with_drives(n for n in alive if n not in above)
        self._look(scene.with_drives(above))
        if rest.drives:
            rest.bound = max(scene.bound, min((rest.known or {}).values(), default=math.inf))
            self._wait(rest)
        return True

    def _other_price(self, scene: Scene, *, too_much: bool) -> bool:
        """Move the price on the pipes' water towards the one that gives the highest bound."""
        low, high = scene.prices
        low, high = (scene.price, high) if too_much else (low, scene.price)
        first = 1e4 if scene.price == 0.0 else 4.0 * scene.price
        price = first if math.isinf(high) else (math.sqrt(low * high) if low else high / 4.0)
        self._look(replace(scene, prices=(low, high), price=price, tries=scene.tries + 1))
        return True

    def _finer(self, scene: Scene) -> bool:
        thin = scene.thin_cents / FINER
        self._look(replace(scene, thin_cents=thin if thin >= LESS_THAN_A_CENT / 8.0 else 0.0))
        return True

    def _take_plans_apart(self, scene: Scene, key: Key) -> bool:
        """Split the plans of one row in two; where none can be split, count the water exactly."""
        several = {b: found for b, found in scene.plans.items() if len(found) > 1}
        if not several:
            return self._count_water(scene)
        branch = max(several, key=lambda b: (len(several[b]), b))
        half = len(several[branch]) // 2
        for part in (several[branch][:half], several[branch][half:]):
            plans = {**scene.plans, branch: part}
            self._wait(
                Scene(
                    plans,
                    scene.shut_off_m,
                    scene.with_drives(sorted({n for _, n, _ in scene.known or {}})).drives,
                    scene.bound,
                    scene.thin_cents,
                    scene.price,
                    prices=scene.prices,
                )
            )
        return True

    def _count_water(self, scene: Scene) -> bool:
        """Settle a scene without choice of plans by fronts that carry the pipes' water along."""
        made = exact_water(self.reading, scene, self.returns, self.limit, self.clock.tick)
        if made:
            self.best = made[-1]  # each is cheaper than the one before, and than the best so far
        return made is not None

    def _tell(self, seconds: float) -> None:
        if self.progress is not None:
            best = None if self.best is None else float(self.best.cents)
            bound = min(self.bound, self.cheapest) if math.isfinite(self.bound) else None
            self.progress(Progress(seconds, best, bound))
