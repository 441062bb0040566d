"""The least cost under a budget, a number of pipe sizes and pipe in stock, by trying everything.

Where choices are tied across the site, the cheapest pipe is no longer the best pipe: so every way
to lay supply and return pipe that keeps its own rules is listed with its money, and the limits are
held against each whole design. For problems of a few stretches.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

from optimizer.records.problem import DesignProblem
from tests.oracles.enumerate_problem import (
    TINY,
    bed_is_served,
    bursts_are_carried,
    carried_duties,
    invert,
    is_heard_too_long,
    keeps_the_site_s_limits,
    never_narrows,
)


@dataclass(frozen=True)
class Laid:
    """Pipe laid in one way: its price, and cents of pipe by size (empty for pipe laid already)."""

    cents: int
    pipe_cents: dict[str, int]


def least_tied_cost(problem: DesignProblem) -> int | None:
    """The least cost in cents of any design that keeps every limit, or None."""
    branches = sorted({plan.branch for plan in problem.plans})
    choices = [[p for p in problem.plans if p.branch == b] for b in branches]
    costs = [
        cost
        for plans in product(*choices)
        if keeps_the_site_s_limits(problem, plans)
        for cost in _costs(problem, plans)
    ]
    return min(costs, default=None)


def _costs(problem, plans):
    held = sum(p.held_m3 + p.lost_m3 for p in plans)
    root = next(s for s in problem.stretches if s.tail == "pump")
    duties = {s: u for p in plans for s, u in p.duties.items()}
    for carried in carried_duties(problem, plans, duties):
        for duty in problem.pump_duties:
            if root.id not in carried or duty.flow_steps != carried[root.id].flow_steps:
                continue
            pump = next(p for p in problem.pumps if p.id == duty.pump)
            if is_heard_too_long(problem, pump):
                continue
            for sump in problem.sumps:
                if sump.band != duty.band or sump.working_m3 < held - TINY:
                    continue
                bought = problem.fixed_cents + sum(p.cost_cents for p in plans) + sump.cost_cents
                for supply in _supplies(problem, carried, duty, pump, sump):
                    for returns in _returns(problem, plans, sump):
                        first = bought + pump.cost_cents - pump.later_cents
                        laid = (supply, returns, Laid(0, dict(pump.pipe_cents)))
                        first += _paid_at_first(problem, laid)
                        if _keeps_the_limits(problem, first, laid):
                            yield first + pump.later_cents + duty.running_cents


def _paid_at_first(problem, laid) -> int:
    saved = 0
    for stock in problem.stock:
        saved += min(stock.worth_cents, sum(each.pipe_cents.get(stock.pipe, 0) for each in laid))
    return sum(each.cents for each in laid) - saved


def _keeps_the_limits(problem, first, laid) -> bool:
    asked = problem.requirements
    sizes = {size for each in laid for size in each.pipe_cents}
    if asked.pipe_sizes_most is not None and len(sizes) > asked.pipe_sizes_most:
        return False
    return asked.budget_cents is None or first <= asked.budget_cents


def _laid(builds) -> Laid:
    pipe_cents: dict[str, int] = {}
    for build in builds:
        if build.pipe:
            pipe_cents[build.pipe] = pipe_cents.get(build.pipe, 0) + build.pipe_cents
    return Laid(sum(b.cost_cents for b in builds), pipe_cents)


def _supplies(problem, carried, duty, pump, sump):
    built = [s for s in problem.stretches if s.id in carried]
    ways = [
        [
            s.table[carried[s.id].id, j]
            for j in s.builds
            if (carried[s.id].id, j) in s.table and s.rating_head_m[j] >= pump.shut_off_m
        ]
        for s in built
    ]
    share = problem.requirements.drain_back_share
    for builds in product(*ways):
        if share * sum(b.volume_m3 for b in builds) > sump.spare_m3 + TINY:
            continue
        if _water_arrives(problem, built, builds, carried, duty):
            yield _laid(builds)


def _water_arrives(problem, built, builds, carried, duty) -> bool:
    heads = {"pump": duty.head_m}
    for stretch, build in zip(built, builds, strict=True):
        u, above = carried[stretch.id], heads[stretch.tail]
        head = above - build.loss_m
        if head < -TINY or not bed_is_served(problem, u, above, head, duty):
            return False
        if duty.head_m > (u.outlet_level_m or 0.0) + build.loss_m + build.throttle_m:
            return False
        heads[stretch.head] = head
    return True


def _returns(problem, plans, sump):
    levels = {n: level for p in plans for n, level in p.drain_levels_m.items()}
    ways = []
    for drain in problem.drains:
        if sum(drain.bursts_m3_s.get(p.id, 0.0) for p in plans) > 0:
            ways.append([(drain, b) for b in drain.builds if bursts_are_carried(drain, b, plans)])
    for laid in product(*ways):
        if not laid or (invert("sump", laid, levels) >= sump.top_m - TINY and never_narrows(laid)):
            yield _laid([build for _, build in laid])
