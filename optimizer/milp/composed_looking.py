"""A close look at one scene: its table, designs made of it, and a bound on each combination."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import partial

import numpy as np

from optimizer.milp.composed_branches import TINY, Branches
from optimizer.milp.composed_drives import Shelf
from optimizer.milp.composed_fall import Fall
from optimizer.milp.composed_guide import End, Guide
from optimizer.milp.composed_labels import Limits
from optimizer.milp.composed_parts import Workshop
from optimizer.milp.composed_read import Reading
from optimizer.milp.composed_returns import Laid, Returns
from optimizer.milp.composed_scene import Key, Scene
from optimizer.milp.composed_states import State, States
from optimizer.milp.composed_steps import steps
from optimizer.milp.composed_table import Table, traced
from optimizer.milp.fronts import Whole
from optimizer.milp.solve import BOUND_ROUNDING_CENTS
from optimizer.records.problem import SumpOption

ROUGH_THINNING = 1e-3  # share of cost that all steps may thin fronts by until a design is known
COARSEST = 16  # cells of head of the first guide
FINER = (64, 256, 1024)  # and of ever finer ones
FINER_OF_FEW = (256,)  # where few states and cells are left
FIRST_REACH = 1e-3  # a design is first supposed so far above the least possible cost
REACH_GROWS = 2.5
SIZE_MOST = 3000  # states and cells of the first guide, over all steps, that are few
LAST_REACH = 0.5


def above(least: float, reach: float) -> float:
    """A cost a little above a bound; inf where that is no longer little."""
    return math.inf if reach > LAST_REACH else least * (1.0 + reach) + 1.0


class Looking:
    """Builds a scene's table and bounds every combination in it.

    Args:
        reading: the problem.
        returns: return pipe.
        shelf: the sumps.
        tick: called often; it may raise to end the search.
    """

    def __init__(
        self, reading: Reading, returns: Returns, shelf: Shelf, tick: Callable[[], None]
    ) -> None:
        self.reading = reading
        self.shelf = shelf
        self.returns = returns
        self.tick = tick
        self.steps = steps(reading)
        self.plan = {p.id: p for p in reading.problem.plans}
        self._workshop: tuple[tuple[float, float], Workshop] | None = None
        self.dropped = math.inf  # the least bound that was dropped

    def alive(self, known: dict[Key, float], limit: float) -> dict[Key, float]:
        """The combinations bounded below a limit."""
        self.dropped = min(self.dropped, *(c for c in known.values() if c >= limit), math.inf)
        return {key: cents for key, cents in known.items() if cents < limit}

    def look(
        self,
        scene: Scene,
        cheapest: Callable[[], float],
        limit: Callable[[], float],
        settle: Callable[[], None],
    ) -> None:
        """Build the table under the scene's setting and raise its bounds.

        The table is first built as if a design little above the least possible cost were known,
        which keeps it short; where no such design turns up the supposed cost is raised.

        Args:
            scene: the scene.
            cheapest: the cost of the cheapest design known.
            limit: combinations that cost at least this are dropped.
            settle: called after each table, to make designs of it.
        """
        if scene.states is None:
            scene.states = States(self.reading, scene.plans)
            scene.settled = scene.states.settled()
            if not scene.settled:
                scene.fall = Fall(self.reading, scene.states, self.steps, self.tick)
        scene.looked = scene.asks
        branches = self._branches(scene)
        table = Table(
            branches,
            scene.states,
            self.steps,
            least_returns=not scene.settled,
            tick=self.tick,
        )
        rough = table.guide(COARSEST)
        least = rough.back(partial(self._ends, scene), self.tick)
        scene.bound = max(scene.bound, least)
        if least >= cheapest():
            self._drop(scene, least)
            return
        if math.isinf(cheapest()):
            thin = max(scene.thin_cents, least * ROUGH_THINNING / len(self.steps))
            self._passes(scene, table, rough, thin, cheapest, settle, until_one=True)
        found = self._passes(
            scene, table, rough, scene.thin_cents, cheapest, settle, until_one=False
        )
        self._raise(scene, found, limit())

    def _branches(self, scene: Scene) -> Branches:
        """Fronts of branches; scenes that follow each other with equal terms share those made."""
        setting = scene.setting()
        terms = (setting.authority, setting.cents_per_m3)
        if self._workshop is None or self._workshop[0] != terms:
            self._workshop = terms, Workshop(Limits(self.shelf.most_head_m + TINY))
        return Branches(self.reading, setting, self._workshop[1])

    def _drop(self, scene: Scene, least: float) -> None:
        """Drop a scene that cannot hold a cheaper design."""
        self.dropped = min(self.dropped, least)
        scene.known, scene.bound = {}, max(scene.bound, least)

    def _passes(
        self,
        scene: Scene,
        table: Table,
        rough: Guide,
        thin_cents: float,
        cheapest: Callable[[], float],
        settle: Callable[[], None],
        *,
        until_one: bool,
    ) -> dict[Key, float]:
        """Build tables, each supposing a dearer design known, until the supposed cost is real."""
        supposed, reach, close = -math.inf, FIRST_REACH, FIRST_REACH
        guide, sure = rough, -math.inf
        found: dict[Key, float] = {}
        while supposed < cheapest() and not (until_one and math.isfinite(cheapest())):
            if sure <= supposed:
                sure = cheapest()
                if rough.size(sure) > SIZE_MOST:
                    sure = min(sure, above(scene.bound, reach))
                elif math.isfinite(sure):
                    close = math.inf
                guide = self._finest(scene, table, rough, sure)
                scene.bound = max(scene.bound, guide.least)
                reach *= REACH_GROWS
            supposed, found = min(sure, cheapest(), above(scene.bound, close)), {}
            if guide.least < supposed:
                reach = close = close * REACH_GROWS
                scene.flat = table.root(guide, supposed, thin_cents)
                found = self._bounds(scene, supposed)
                kept, scene.known = scene.known, found
                settle()
                scene.known = kept
        if not until_one:
            self.dropped = min(self.dropped, supposed)
        return found

    def _finest(self, scene: Scene, table: Table, rough: Guide, supposed: float) -> Guide:
        """The finest guide to designs below a cost, or one that shows that there are none."""
        guide = rough
        for cells in FINER if rough.size(supposed) > SIZE_MOST else FINER_OF_FEW:
            if guide.least < supposed:
                guide = table.guide(cells, guide, supposed)
                guide.back(partial(self._ends, scene), self.tick)
        return guide

    def _ends(self, scene: Scene, states: Whole) -> Iterator[End]:
        """Pump duties, and the least cost of running, sump and what is fixed, by state."""
        assert scene.states is not None
        flows, held = scene.states.flows(states), scene.states.held_m3(states)
        for flow in np.unique(flows).tolist():
            rows = np.flatnonzero(flows == flow)
            for band, (heads_m, cents) in scene.leading(flow).items():
                ranks, which = np.unique(self.shelf.ranks(band, held[rows]), return_inverse=True)
                if scene.fall is None:
                    costs = [self._least_more(scene, 0, band, rank) for rank in ranks.tolist()]
                    yield End(rows, heads_m, cents, np.array(costs)[which])
                    continue
                by_state = zip(states[rows].tolist(), ranks[which].tolist(), strict=True)
                more = [self._least_more(scene, state, band, rank) for state, rank in by_state]
                yield End(rows, heads_m, cents, np.array(more))

    def _least_more(self, scene: Scene, state: State, band: str, rank: int) -> float:
        """The least cost of a sump, of return pipe that ends above it, and of what is fixed."""
        key = (state, band, rank, scene.price)
        if key not in scene.more:
            costs = [
                k.cost_cents + self._fall(scene, state, k) - scene.price * (k.spare_m3 + TINY)
                for _, k in self.shelf.of_rank(band, rank)
            ]
            scene.more[key] = min(costs, default=math.inf) + self.reading.problem.fixed_cents
        return scene.more[key]

    def _bounds(self, scene: Scene, limit: float) -> dict[Key, float]:
        found: dict[Key, float] = {}
        for place in range(len(scene.flat.states) if scene.flat else 0):
            self.tick()
            self._bound_state(scene, place, limit, found)
        return found

    def _raise(self, scene: Scene, found: dict[Key, float], limit: float) -> None:
        """Keep the better of the new and the earlier bounds."""
        if scene.known is not None:
            known = scene.known
            found = {key: max(cents, known[key]) for key, cents in found.items() if key in known}
        scene.known = self.alive(found, limit)
        scene.bound = max(scene.bound, min(found.values(), default=math.inf))

    def _bound_state(self, scene: Scene, place: int, limit: float, found: dict[Key, float]) -> None:
        assert scene.flat is not None and scene.states is not None
        state = int(scene.flat.states[place])
        totals, front = scene.states.totals(state), scene.flat.of_state(place)
        mine = scene.by_flow[totals.flow_steps]  # a state without a pump duty is in no table
        heads = np.array([scene.drives[n].duty.head_m for n in mine]) + TINY
        at = np.searchsorted(scene.flat.need_m[front], heads, side="right") - 1
        cents = np.where(at >= 0, scene.flat.cents[front][at], np.inf)
        sumps: dict[str, list[tuple[int, float]]] = {}
        for n, pipe in zip(mine, cents.tolist(), strict=True):
            drive = scene.drives[n]
            if pipe + drive.cents >= limit:
                continue
            band = drive.duty.band
            if band not in sumps:
                sumps[band] = self._sumps(scene, state, place, band, totals.held_m3)
            base = pipe + drive.cents + self.reading.problem.fixed_cents
            for k, more in sumps[band]:
                bound = math.ceil(base + more - BOUND_ROUNDING_CENTS)
                if bound < limit:
                    found[state, n, k] = bound

    def _sumps(
        self, scene: Scene, state: State, place: int, band: str, held_m3: float
    ) -> list[tuple[int, float]]:
        """Sumps that hold the beds' water, with their cost, return pipe's, less priced room."""
        laid = self.laid(scene, place) if scene.settled else None
        found = []
        for k, sump in self.shelf.worth_having(band, held_m3):
            back = self._fall(scene, state, sump) if laid is None else laid.cents(sump.top_m)
            cents = sump.cost_cents + back - scene.price * (sump.spare_m3 + TINY)
            if math.isfinite(cents):
                found.append((k, cents))
        return found

    def _fall(self, scene: Scene, state: State, sump: SumpOption) -> float:
        """What return pipe must cost beyond its least to end above a sump's highest water."""
        return 0.0 if scene.fall is None else scene.fall.extra_cents(state, sump.top_m)

    def laid(self, scene: Scene, place: int) -> Laid:
        """Return pipe under the only plans that make up a state."""
        assert scene.flat is not None
        state = int(scene.flat.states[place])
        if state not in scene.laid:
            walk = traced(scene.flat, int(scene.flat.starts[place]))
            scene.laid[state] = self.returns.under([self.plan[p] for p in walk.plans])
        return scene.laid[state]

    def point(self, scene: Scene, key: Key) -> int:
        """The point of the scene's table that bounds a combination."""
        assert scene.flat is not None
        state, n, _ = key
        place = int(np.searchsorted(scene.flat.states, state))
        front = scene.flat.of_state(place)
        head = scene.drives[n].duty.head_m + TINY
        at = np.searchsorted(scene.flat.need_m[front], head, side="right")
        return int(scene.flat.starts[place]) + int(at) - 1
