"""The composed program: exact fronts of every subtree, then the cheapest combination of them."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from optimizer.errors import SolverFailed
from optimizer.milp.composed_branches import Branches, Setting
from optimizer.milp.composed_choice import Combination, Drive, combinations, drives
from optimizer.milp.composed_labels import Limits
from optimizer.milp.composed_parts import Walk, Workshop, walked
from optimizer.milp.composed_read import Reading
from optimizer.milp.composed_states import States, Table, Tree
from optimizer.milp.engine import Progress
from optimizer.milp.explain import explain, what_is_missing
from optimizer.milp.extract import Picked, cost_cents, heads_m, inverts_m
from optimizer.milp.solve import solve_complete
from optimizer.records.problem import Choice, DesignProblem, SolveRecord

FORMULATION = "composed"


def choose_formulation(problem: DesignProblem) -> str:
    """Which program suits a problem: ``composed`` or ``complete``."""
    return "complete" if why_complete(problem) else FORMULATION


def why_complete(problem: DesignProblem) -> str:
    """Why a problem needs the complete program; empty where it does not."""
    return Reading(problem).why_not()


def solve_composed(
    problem: DesignProblem,
    *,
    gap: float = 1e-4,
    time_limit_s: float | None = None,
    seed: int = 0,
    progress: Callable[[Progress], None] | None = None,
    stop: threading.Event | None = None,
    words: Mapping[str, str] | None = None,
) -> Choice:
    """Find a least-cost design with the composed program.

    Where a valve of its answer could not throttle the pump, a return pipe would narrow, or the
    problem is not of its kind, the complete program answers instead and the record says so. The
    pipeline does not use it yet: it is exact, but slow where return pipe is designed.

    Args:
        problem: the decision problem.
        gap: relative gap at which to stop; 0 for a full proof.
        time_limit_s: time limit in seconds, or None.
        seed: kept for the complete program, where that is used.
        progress: called now and then.
        stop: set it from any thread to keep the best so far.
        words: the grower's words for requirements, for the explanation.

    Returns:
        The choice, its cost in whole cents, and a bound that is never above it.

    Raises:
        Infeasible: where no design exists, with the least changes that would allow one.
        SolverFailed: where the search was stopped before a first design.
        ValueError: where the problem's ids do not fit together.
    """
    if what_is_missing(problem):
        raise explain(problem, words)
    reading = Reading(problem)

    def complete() -> Choice:
        return solve_complete(
            problem,
            gap=gap,
            time_limit_s=time_limit_s,
            seed=seed,
            progress=progress,
            stop=stop,
            words=words,
        )

    if reading.why_not():
        return complete()
    search = Search(reading, gap, time_limit_s, progress, stop or threading.Event())
    search.run()
    if search.best is None:
        if search.ended == "stopped":
            raise SolverFailed("The search was stopped before a first design.")
        raise explain(problem, words)
    choice = search.choice()
    return choice if search.holds(choice) else complete()


@dataclass(frozen=True)
class Scene:
    """One pick of options and one class of pumps, with its fronts and the authority they hold."""

    setting: Setting
    states: States
    table: Table
    drives: tuple[Drive, ...]


@dataclass(frozen=True)
class Found:
    """A design: what it is made of and what it costs."""

    cents: int
    walk: Walk
    combination: Combination


class Search:
    """Best first over picks, pump classes and pump duties."""

    def __init__(
        self,
        reading: Reading,
        gap: float,
        time_limit_s: float | None,
        progress: Callable[[Progress], None] | None,
        stop: threading.Event,
    ) -> None:
        self.reading = reading
        self.gap = gap
        self.time_limit_s = time_limit_s
        self.progress = progress
        self.stop = stop
        self.started = time.perf_counter()
        self.best: Found | None = None
        self.bound = -math.inf
        self.ended = "optimal"

    def run(self) -> None:
        """Search until the best design is proven, or time is up."""
        waiting: list[tuple[float, int, Scene, Drive, Combination]] = []
        for scene in self._scenes():
            for found in combinations(
                scene.table, scene.states, scene.drives, self.reading.problem.fixed_cents
            ):
                drive = next(d for d in scene.drives if d.duty is found.duty)
                waiting.append((found.cents, len(waiting), scene, drive, found))
            if self._told_to_stop():
                return
        waiting.sort(key=lambda w: w[:2])
        for cents, _, scene, drive, found in waiting:
            self.bound = cents
            if self.best is not None and cents >= self.best.cents:
                break
            if self._told_to_stop():
                return
            self._settle(scene, drive, found)
        if self.best is not None:
            self.bound = min(float(self.best.cents), self.bound)
            self.bound = float(self.best.cents)

    def _settle(self, scene: Scene, drive: Drive, found: Combination) -> None:
        """Find the true least cost under one pump duty, whose authority may ask for more head."""
        if drive.duty.authority > scene.setting.authority and self.raised(scene):
            setting = replace(scene.setting, authority=drive.duty.authority)
            scene = self._scene(setting, (drive,), scene.states)
        for exact in combinations(
            scene.table, scene.states, (drive,), self.reading.problem.fixed_cents
        ):
            if self.best is None or exact.cents < self.best.cents:
                walk = walked(scene.table[exact.state], exact.point, Walk())
                self.best = Found(round(exact.cents), walk, exact)

    def raised(self, scene: Scene) -> bool:
        """Whether some bed under these options lies above the lowest outlet."""
        tables = self.reading.tables
        return any(tables.rise_m(s, u) > 0 for s, u in tables.duty)

    def _scenes(self) -> list[Scene]:
        made = []
        every = drives(self.reading)
        for shut_off, pumps in self._classes().items():
            mine = tuple(d for d in every if d.pump.id in pumps)
            if not mine:
                continue
            for options in self.reading.picks():
                setting = Setting(
                    options,
                    shut_off,
                    min(d.duty.authority for d in mine),
                    True,
                    True,
                    self._limits(mine),
                    True,
                )
                plans = {
                    b: [p for p in found if p.option is None or p.option in options]
                    for b, found in self.reading.tables.plans_of_branch.items()
                }
                if all(plans.values()):
                    made.append(self._scene(setting, mine, States(self.reading, plans)))
        return made

    def _scene(self, setting: Setting, mine: tuple[Drive, ...], states: States) -> Scene:
        branches = Branches(self.reading, setting, Workshop(setting.most))
        return Scene(setting, states, Tree(branches, states).root(), mine)

    def _limits(self, mine: tuple[Drive, ...]) -> Limits:
        slack = 1e-9
        sumps = [k for d in mine for k in d.sumps]
        return Limits(
            max(d.duty.head_m for d in mine) + slack,
            slack - min(k.top_m for k in sumps),
            max(k.spare_m3 for k in sumps) + slack,
        )

    def _classes(self) -> dict[float, set[str]]:
        """Greatest shut-off head of a class of pumps that the same pipes bear, to the pumps."""
        ratings = {r for s in self.reading.problem.stretches for r in s.rating_head_m.values()}
        classes: dict[int, list[tuple[float, str]]] = {}
        for pump in self.reading.problem.pumps:
            weak = sum(1 for r in ratings if r < pump.shut_off_m)
            classes.setdefault(weak, []).append((pump.shut_off_m, pump.id))
        return {max(found)[0]: {p for _, p in found} for found in classes.values()}

    def _told_to_stop(self) -> bool:
        seconds = time.perf_counter() - self.started
        if self.progress is not None:
            best = None if self.best is None else float(self.best.cents)
            bound = self.bound if math.isfinite(self.bound) else None
            self.progress(Progress(seconds, best, bound))
        if self.stop.is_set() or (self.time_limit_s is not None and seconds > self.time_limit_s):
            self.ended = "stopped"
        return self.ended == "stopped"

    def holds(self, choice: Choice) -> bool:
        """Whether a choice keeps the two rules that fronts do not ask.

        Every valve can take up the pump's head, and no return pipe narrows on its way down.
        """
        tables = self.reading.tables
        throttled = all(
            choice.heads_m["pump"] <= tables.most_head_m(s, u, j)
            for s, (u, j) in choice.builds.items()
        )
        crown = {
            tables.drain[s].upper: (b.crown_m, tables.drain[s].lower)
            for s, j in choice.drains.items()
            for b in tables.drain[s].builds
            if b.id == j
        }
        return throttled and all(
            lower not in crown or own <= crown[lower][0] for own, lower in crown.values()
        )

    def choice(self) -> Choice:
        """The best design found as a Choice, its cost added up again from the parts."""
        assert self.best is not None
        best, tables = self.best, self.reading.tables
        branch = {p.id: p.branch for p in self.reading.problem.plans}
        pick = Picked(
            plans={branch[p]: p for p in sorted(best.walk.plans)},
            builds={s: best.walk.builds[s] for s in tables.stretch if s in best.walk.builds},
            pump=best.combination.duty.pump,
            sump=best.combination.sump.id,
            band=best.combination.duty.band,
            drains={
                d.id: best.walk.drains[d.id]
                for d in self.reading.problem.drains
                if d.id in best.walk.drains
            },
        )
        cost = cost_cents(pick, tables)
        if cost != best.cents:
            raise SolverFailed(f"The fronts cost {best.cents} and their parts {cost} cents.")
        seconds = time.perf_counter() - self.started
        record = SolveRecord(FORMULATION, self.ended, cost, min(float(cost), self.bound), seconds)
        return Choice(
            plans=pick.plans,
            builds=pick.builds,
            heads_m=heads_m(pick, tables),
            pump=pick.pump,
            sump=pick.sump,
            band=pick.band,
            record=record,
            drains=pick.drains,
            inverts_m=inverts_m(pick, tables),
        )
