"""What return pipe must cost beyond its least, so that it ends above the sump's highest water.

The fronts of supply pipe count every return stretch at the least cost of any size that carries its
burst, whatever its fall. Over that least cost the same steps from row to pump give, for each state,
a front of (level reached at the sump, extra cost); the extra cost is added to the bound. How beds
are spread over the rows is free in both, so the sum stays a bound. That pipe never narrows is left
out here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from optimizer.milp.composed_branches import TINY
from optimizer.milp.composed_labels import NOTHING_NEEDED, Limits
from optimizer.milp.composed_parts import Part, Workshop
from optimizer.milp.composed_read import Loads, Reading
from optimizer.milp.composed_returns import drain_ladder, enough, least_cents
from optimizer.milp.composed_states import State, States
from optimizer.milp.composed_steps import Step
from optimizer.records.problem import BranchPlan
from optimizer.records.problem_drains import DrainTable

JOINS_MOST = 20_000  # where more joins were needed at one node the extra cost is left out
Fronts = dict[State, Part]


class Fall:
    """Extra cost of return pipe by state and by the level it must end above.

    Args:
        reading: the problem.
        states: the states, and the plans that may be chosen.
        steps: the steps of the supply, in order.
        tick: called before every step; it may raise to end the search.
    """

    def __init__(
        self, reading: Reading, states: States, steps: list[Step], tick: Callable[[], None]
    ) -> None:
        self.reading = reading
        self.states = states
        self.steps = steps
        self.tick = tick
        tops = [k.top_m for k in reading.problem.sumps]
        self._workshop = Workshop(Limits(TINY - min(tops, default=0.0)))
        self._known: dict[tuple[State, float], float] = {}
        self._fronts = self._at_the_sump() if reading.problem.drains else None

    def extra_cents(self, state: State, top_m: float) -> float:
        """The least extra cost at a state; inf where no return pipe ends above the level."""
        if self._fronts is None:
            return 0.0
        if (state, top_m) not in self._known:
            self._known[state, top_m] = self._read(self._fronts.get(state), top_m)
        return self._known[state, top_m]

    def _read(self, part: Part | None, top_m: float) -> float:
        if part is None:
            return np.inf
        point = int(np.searchsorted(part.points.need_m, TINY - top_m, side="right")) - 1
        return np.inf if point < 0 else float(part.points.cents[point])

    def _at_the_sump(self) -> Fronts | None:
        """Fronts of every state of the whole site; None where that takes too many joins."""
        made: list[Fronts] = []
        for step in self.steps:
            self.tick()
            if step.one is None:
                made.append(self._of_branch(step))
            elif step.two is not None:
                one, two = made[step.one], made[step.two]
                if len(one) * len(two) > JOINS_MOST:
                    return None
                made.append(self._met(one, two, step))
            elif step.returns:
                made.append(self._shared(made[step.one], step))
            else:
                made.append(made[step.one])
        return made[-1]

    def _of_branch(self, step: Step) -> Fronts:
        found: dict[State, list[Part]] = {}
        for plan in self.states.plans.get(min(step.fed, default=""), []):
            found.setdefault(self.states.of_plan(plan), []).append(self._of_plan(plan))
        return self._best(found) if found else {0: self._nothing()}

    def _of_plan(self, plan: BranchPlan) -> Part:
        """The front of a row's own return pipe, at its lower end."""
        arriving: dict[str, Part] = {}
        for drain in reversed(self.reading.drains_of_branch.get(plan.branch, [])):
            loads = drain.loads(plan.id)
            if any(loads):
                above = arriving.pop(drain.upper, None) or self._nothing()
                part = self._laid(drain, loads, plan.drain_levels_m.get(drain.upper), above)
                beside = arriving.get(drain.lower)
                arriving[drain.lower] = (
                    part if beside is None else self._workshop.join(part, beside)
                )
        return next(iter(arriving.values())) if len(arriving) == 1 else self._nothing()

    def _met(self, one: Fronts, two: Fronts, step: Step) -> Fronts:
        found: dict[State, list[Part]] = {}
        for a, left in one.items():
            for b, right in two.items():
                if len(left.points) and len(right.points) and self.states.may_do(a + b, step.fed):
                    found.setdefault(a + b, []).append(self._workshop.join(left, right))
        return self._best(found)

    def _shared(self, below: Fronts, step: Step) -> Fronts:
        """Return pipe that the branches of a step share is laid under every state."""
        found: Fronts = {}
        for state, above in below.items():
            loads, part = self.states.totals(state).loads, above
            for drain in reversed(self.reading.shared_drains.get(step.fed, [])):
                part = self._laid(drain, loads, None, part) if any(loads) else part
            found[state] = part
        return found

    def _laid(self, drain: DrainTable, loads: Loads, bed_m: float | None, above: Part) -> Part:
        """Put a stretch in every size, at what it costs over the cheapest, below some pipe."""
        ladder = drain_ladder(drain.id, enough(drain, loads), bed_m)
        extra = ladder.cents - least_cents(drain, loads)
        return self._workshop.lay(replace(ladder, cents=extra, key=b""), above)

    def _best(self, found: dict[State, list[Part]]) -> Fronts:
        return {state: self._workshop.best(parts) for state, parts in found.items()}

    def _nothing(self) -> Part:
        return self._workshop.start(0.0, NOTHING_NEEDED)
