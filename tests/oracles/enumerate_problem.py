"""The least cost of a DesignProblem by trying every combination of discrete choices.

It shares no code and no idea with the program: it walks over plans, pump duties, sumps and the
builds of every stretch, follows the water down the tree with plain additions, and keeps the
cheapest combination that breaks no rule. What it finds is the optimum because nothing is left out.
"""

from itertools import product

from optimizer.records.problem import DesignProblem

TINY = 1e-9  # metres and cubic metres: sums of a few decimals may round


def least_cost(problem: DesignProblem) -> int | None:
    """The least cost in cents, or None where no combination keeps every rule."""
    branches = sorted({plan.branch for plan in problem.plans})
    choices = [[p for p in problem.plans if p.branch == b] for b in branches]
    costs = [
        cost
        for plans in product(*choices)
        if keeps_the_site_s_limits(problem, plans)
        for cost in costs_with_plans(problem, plans)
    ]
    return min(costs, default=None)


def keeps_the_site_s_limits(problem, plans) -> bool:
    types = {o.id: o.bed_type for o in problem.options}
    used = {p.option for p in plans if p.option is not None}
    limits = problem.requirements
    return (
        len({types[o] for o in used}) == len(used)
        and sum(p.beds for p in plans) >= limits.beds_least
        and sum(p.area_m2 for p in plans) >= limits.area_least_m2 - TINY
    )


def costs_with_plans(problem, plans):
    duties = {s: u for p in plans for s, u in p.duties.items()}
    held = sum(p.held_m3 + p.lost_m3 for p in plans)
    fixed = problem.fixed_cents + sum(p.cost_cents for p in plans)
    for carried in carried_duties(problem, plans, duties):
        root = next(s for s in problem.stretches if s.tail == "pump")
        if root.id not in carried:
            continue
        for duty in problem.pump_duties:
            if duty.flow_steps != carried[root.id].flow_steps:
                continue
            pump = next(p for p in problem.pumps if p.id == duty.pump)
            if is_heard_too_long(problem, pump):
                continue
            for sump in problem.sumps:
                if sump.band == duty.band and sump.working_m3 >= held - TINY:
                    pipe = least_pipe_cost(problem, carried, duty, pump, sump)
                    drain = least_drain_cost(problem, plans, sump)
                    if pipe is not None and drain is not None:
                        bought = pump.cost_cents + duty.running_cents + sump.cost_cents
                        yield fixed + bought + pipe + drain


def is_heard_too_long(problem, pump) -> bool:
    most = problem.requirements.loud_hours_most
    return most is not None and pump.loud_hours > most


def carried_duties(problem, plans, duties):
    """Every way to give each stretch a duty: fixed by plans, or any of the summed flow."""
    flow_of = {p.branch: p.flow_steps for p in plans}
    options = []
    for stretch in problem.stretches:
        if stretch.branch is not None:
            wanted = [u for u in stretch.duties if u.id == duties.get(stretch.id)]
        else:
            flow = sum(flow_of[b] for b in fed_branches(problem, stretch))
            wanted = [u for u in stretch.duties if u.flow_steps == flow]
            if flow == 0 or not wanted:
                wanted = [*wanted, None] if flow == 0 else []
                if flow:
                    return
        options.append([(stretch.id, u) for u in wanted] or [(stretch.id, None)])
    for combination in product(*options):
        yield {s: u for s, u in combination if u is not None}


def fed_branches(problem, stretch) -> set[str]:
    fed, reached = set(), {stretch.head}
    for other in problem.stretches:
        if other.tail in reached:
            reached.add(other.head)
            if other.branch is not None:
                fed.add(other.branch)
    return fed


def least_pipe_cost(problem, carried, duty, pump, sump) -> int | None:
    built = [s for s in problem.stretches if s.id in carried]
    share = problem.requirements.drain_back_share
    best: list[int | None] = [None]

    def follow(place, heads, cost, volume):
        if best[0] is not None and cost >= best[0]:
            return
        if place == len(built):
            if share * volume <= sump.spare_m3 + TINY:
                best[0] = cost
            return
        stretch = built[place]
        u = carried[stretch.id]
        for j in stretch.builds:
            part = stretch.table.get((u.id, j))
            if part is None or stretch.rating_head_m[j] < pump.shut_off_m:
                continue
            above = heads.get(stretch.tail, duty.head_m if stretch.tail == "pump" else None)
            head = above - part.loss_m
            if head < -TINY or not bed_is_served(problem, u, above, head, duty):
                continue
            if duty.head_m > (u.outlet_level_m or 0.0) + part.loss_m + part.throttle_m:
                continue
            follow(
                place + 1,
                {**heads, stretch.head: head},
                cost + part.cost_cents,
                volume + part.volume_m3,
            )

    follow(0, {"pump": duty.head_m}, 0, 0.0)
    return best[0]


def bed_is_served(problem, u, above, head, duty) -> bool:
    if u.outlet_level_m is None:
        return True
    rise = u.outlet_level_m - problem.lowest_outlet_m
    return (
        head >= u.outlet_level_m - TINY and above - u.outlet_level_m >= rise * duty.authority - TINY
    )


def least_drain_cost(problem, plans, sump) -> int | None:
    """Every way to lay the return pipes that the plans need, each followed down to the sump."""
    levels = {n: level for p in plans for n, level in p.drain_levels_m.items()}
    ways = []
    for drain in problem.drains:
        if sum(drain.bursts_m3_s.get(p.id, 0.0) for p in plans) > 0:
            ways.append([(drain, b) for b in drain.builds if bursts_are_carried(drain, b, plans)])
    costs = [
        sum(b.cost_cents for _, b in laid)
        for laid in product(*ways)
        if not laid or (invert("sump", laid, levels) >= sump.top_m - TINY and never_narrows(laid))
    ]
    return min(costs, default=None)


def bursts_are_carried(drain, build, plans) -> bool:
    """Whether a build holds all bursts, or what they count for by any other way to count."""
    ways = [
        (drain.bursts_m3_s, build.capacity_m3_s),
        *zip(drain.otherwise_beds, build.credited_beds, strict=True),
    ]
    return any(sum(sent.get(p.id, 0.0) for p in plans) <= able + TINY for sent, able in ways)


def never_narrows(laid) -> bool:
    """Whether every pipe is at least as wide as each that runs into it."""
    crown = {d.upper: b.crown_m for d, b in laid}
    return all(b.crown_m <= crown.get(d.lower, b.crown_m) + TINY for d, b in laid)


def invert(node, laid, levels) -> float:
    """The highest the return pipe can start at a node: under its bed and below what comes in."""
    crowns = [b.crown_m for d, b in laid if d.upper == node]
    own = levels[node] - crowns[0] if node in levels and crowns else float("inf")
    coming = [invert(d.upper, laid, levels) - b.fall_m for d, b in laid if d.lower == node]
    return min([own, *coming])
