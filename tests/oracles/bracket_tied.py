"""Where the least cost of a tied problem must lie, by programs that have no ties.

A budget, few sizes of pipe, pipe in stock and two sizes on a stretch are searched by the complete
program alone. Here each is taken away or given a price, and the composed program, which shares no
row and no search with the complete one, solves what is left:

* without the ties nothing costs more, so the free optimum less all the stock's worth is a floor;
* stock saves min(worth, laid) of a size, no more than any weighted mean of the two: with a weight
  of 0, 1/2 or 1 on what is laid, pipe of that size merely has another price;
* few sizes: every choice of so many sizes is a problem of fewer builds;
* a budget: money above it may be bought at a price (1 or 3 for every 1), which only lowers costs;
* two sizes: each stretch may be laid in steps of its length; a step priced at its short end and
  losing as at its long end costs no more than any share within it.

Every design found on the way is priced again under the true rules, and the cheapest that keeps them
is a ceiling.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations

from optimizer.errors import Infeasible
from optimizer.milp.composed import solve_composed
from optimizer.records.choice import Choice
from optimizer.records.problem import DesignProblem
from tests.oracles.bracket_steps import in_steps, without_ties

HALVES = (0, 1, 2)
"""Weights of what is laid from stock, in halves."""

MONEY_WEIGHTS = (0, 1, 3)
"""Prices of a cent of budget, beside its own."""

CHOICES_MOST = 24
"""More choices of sizes than this are not tried one by one."""


@dataclass(frozen=True)
class Bracket:
    """Bounds on the least cost in cents.

    Attributes:
        floor: no design costs less; infinite where there is none at all.
        ceiling: some design costs no more; infinite where none is known.
    """

    floor: float
    ceiling: float


def composed_choice(problem: DesignProblem) -> Choice | None:
    """The composed program's proven optimum, or None where there is no design."""
    try:
        return solve_composed(problem, gap=0.0, hand_over=False)
    except Infeasible:
        return None


def bracket(problem: DesignProblem) -> Bracket:
    """Where the least cost lies; see the module."""
    if any(stretch.mixes for stretch in problem.stretches):
        return _two_sizes(problem)
    floors, designs = [], []
    for sizes in _choices_of_sizes(problem):
        laid = problem if sizes is None else _laid_in(problem, sizes)
        found = [_weighed(laid, half, money) for half, money in _weights(problem)]
        floors.append(max(floor for floor, _ in found))
        designs += [choice for _, choice in found if choice is not None]
    prices = [cost for each in designs if (cost := true_cost(problem, each)) is not None]
    floor = math.inf if _too_dear(problem) else min(floors)
    return Bracket(floor, min(prices, default=math.inf))


def _weights(problem: DesignProblem) -> Iterator[tuple[int, int]]:
    for half in HALVES if problem.stock else (0,):
        for money in MONEY_WEIGHTS if problem.requirements.budget_cents is not None else (0,):
            yield half, money


def _choices_of_sizes(problem: DesignProblem) -> Iterable[frozenset[str] | None]:
    """Every choice of as many sizes as may be laid; None alone, any size, where they are many."""
    most = problem.requirements.pipe_sizes_most
    sizes = sorted(
        {b.pipe for s in problem.stretches for b in s.table.values() if b.pipe}
        | {b.pipe for d in problem.drains for b in d.builds if b.pipe}
        | {pipe for pump in problem.pumps for pipe in pump.pipe_cents}
    )
    if most is None or math.comb(len(sizes), min(most, len(sizes))) > CHOICES_MOST:
        return [None]
    return [frozenset(each) for each in combinations(sizes, min(most, len(sizes)))]


def _laid_in(problem: DesignProblem, sizes: frozenset[str]) -> DesignProblem:
    def fits(pipe: str) -> bool:
        return not pipe or pipe in sizes

    stretches = []
    for s in problem.stretches:
        table = {key: b for key, b in s.table.items() if fits(b.pipe)}
        builds = tuple(j for j in s.builds if any(key[1] == j for key in table))
        stretches.append(replace(s, table=table, builds=builds))
    drains = tuple(
        replace(d, builds=tuple(b for b in d.builds if fits(b.pipe))) for d in problem.drains
    )
    pumps = tuple(p for p in problem.pumps if all(fits(pipe) for pipe in p.pipe_cents))
    kept = {p.id for p in pumps}
    duties = tuple(d for d in problem.pump_duties if d.pump in kept)
    return replace(
        problem, stretches=tuple(stretches), drains=drains, pumps=pumps, pump_duties=duties
    )


def _weighed(problem: DesignProblem, half: int, money: int) -> tuple[float, Choice | None]:
    """A floor of the cost with stock and budget weighed, and the design that reaches it."""
    choice = composed_choice(_weighed_problem(problem, half, money))
    if choice is None:
        return math.inf, None
    worth = sum(stock.worth_cents for stock in problem.stock)
    twice = choice.record.cost_cents - (1 + money) * (2 - half) * worth
    return twice / 2.0 - money * (problem.requirements.budget_cents or 0), choice


def _weighed_problem(problem: DesignProblem, half: int, money: int) -> DesignProblem:
    """All costs doubled; first costs once more for each price of money; stock at its weight."""
    free, first = without_ties(problem), 2 * (1 + money)
    stocked = {stock.pipe for stock in problem.stock}

    def priced(cost: int, pipes: dict[str, int]) -> int:
        laid = sum(cents for pipe, cents in pipes.items() if pipe in stocked)
        return first * cost - (1 + money) * half * laid

    stretches = tuple(
        replace(
            s,
            table={
                key: replace(b, cost_cents=priced(b.cost_cents, {b.pipe: b.pipe_cents}))
                for key, b in s.table.items()
            },
        )
        for s in free.stretches
    )
    drains = tuple(
        replace(
            d,
            builds=tuple(
                replace(b, cost_cents=priced(b.cost_cents, {b.pipe: b.pipe_cents}))
                for b in d.builds
            ),
        )
        for d in free.drains
    )
    return replace(
        free,
        stretches=stretches,
        drains=drains,
        plans=tuple(replace(p, cost_cents=first * p.cost_cents) for p in free.plans),
        sumps=tuple(replace(k, cost_cents=first * k.cost_cents) for k in free.sumps),
        pumps=tuple(
            replace(
                p,
                cost_cents=priced(p.cost_cents - p.later_cents, dict(p.pipe_cents))
                + 2 * p.later_cents,
                later_cents=2 * p.later_cents,
            )
            for p in free.pumps
        ),
        pump_duties=tuple(replace(d, running_cents=2 * d.running_cents) for d in free.pump_duties),
        fixed_cents=first * free.fixed_cents,
    )


def _too_dear(problem: DesignProblem) -> bool:
    """Whether no design can be bought within the budget, running costs set aside."""
    budget = problem.requirements.budget_cents
    if budget is None:
        return False
    cheapest = cheapest_to_buy(problem)
    return cheapest is None or cheapest > budget


def cheapest_to_buy(problem: DesignProblem) -> float | None:
    """A floor of what must be paid at first; None where there is no design at all.

    It is what the cheapest design to buy costs where nothing lies in stock.
    """
    first = replace(
        problem,
        pumps=tuple(
            replace(p, cost_cents=p.cost_cents - p.later_cents, later_cents=0)
            for p in problem.pumps
        ),
        pump_duties=tuple(replace(d, running_cents=0) for d in problem.pump_duties),
        requirements=replace(problem.requirements, budget_cents=None),
    )
    floor = max(_weighed(first, half, 0)[0] for half, _ in _weights(first))
    return None if math.isinf(floor) else floor


def true_cost(problem: DesignProblem, choice: Choice) -> int | None:
    """A choice priced again under the budget, the limit on sizes and the stock; None if it breaks.

    Added up here from the tables, not taken from any program's record.
    """
    pump = next(p for p in problem.pumps if p.id == choice.pump)
    builds = list(_laid(problem, choice))
    pipes: dict[str, int] = dict(pump.pipe_cents)
    for _, pipe, cents in builds:
        if pipe:
            pipes[pipe] = pipes.get(pipe, 0) + cents
    saved = sum(min(s.worth_cents, pipes.get(s.pipe, 0)) for s in problem.stock)
    first = problem.fixed_cents - saved + pump.cost_cents - pump.later_cents
    first += sum(p.cost_cents for p in problem.plans if p.id in choice.plans.values())
    first += sum(cost for cost, _, _ in builds)
    first += next(k.cost_cents for k in problem.sumps if k.id == choice.sump)
    asked = problem.requirements
    if asked.pipe_sizes_most is not None and len(pipes) > asked.pipe_sizes_most:
        return None
    if asked.budget_cents is not None and first > asked.budget_cents:
        return None
    return first + pump.later_cents + _running_cents(problem, choice)


def _laid(problem: DesignProblem, choice: Choice) -> Iterator[tuple[int, str, int]]:
    """Cost, pipe and cents of pipe of everything laid."""
    for stretch in problem.stretches:
        if stretch.id in choice.builds:
            build = stretch.table[choice.builds[stretch.id]]
            yield build.cost_cents, build.pipe, build.pipe_cents
    for drain in problem.drains:
        if drain.id in choice.drains:
            laid = next(b for b in drain.builds if b.id == choice.drains[drain.id])
            yield laid.cost_cents, laid.pipe, laid.pipe_cents


def _running_cents(problem: DesignProblem, choice: Choice) -> int:
    plans = {p.id: p for p in problem.plans}
    flow = sum(plans[name].flow_steps for name in choice.plans.values())
    return next(
        d.running_cents
        for d in problem.pump_duties
        if (d.pump, d.band, d.flow_steps) == (choice.pump, choice.band, flow)
    )


def _two_sizes(problem: DesignProblem) -> Bracket:
    costs = [
        None if choice is None else choice.record.cost_cents
        for choice in (composed_choice(in_steps(problem, best)) for best in (True, False))
    ]
    low, high = (math.inf if cost is None else float(cost) for cost in costs)
    return Bracket(low, high)
