"""The cheapest pipe of a small site with a ring, by trying every choice of sizes.

Beds, kits, pump and flows are given. For every size of every shared pipe the one unknown, the flow
through the closing pipe, is found by halving an interval: the losses both ways round must be equal.
Then every row is tried in every size of every one of its pipes. Shared with the program are the
tables of what a pipe costs and the formula of what it loses; none of its fronts, boxes or search.
"""

from __future__ import annotations

import math
from itertools import product

from optimizer.physics.pipe import head_loss_m
from optimizer.records.header_ring import CLOSING

HALVINGS = 200


def cheapest_pipe_cents(site, catalog, network, problem, shared, choice):
    """Least cost in cents and the shared sizes, or None where nothing keeps all heads."""
    duty = next(
        d
        for d in problem.pump_duties
        if (d.pump, d.band) == (choice.pump, choice.band)
        and d.flow_steps == _total(problem, choice)
    )
    shut_off = next(p.shut_off_m for p in problem.pumps if p.id == choice.pump)
    plans = {p.branch: p for p in problem.plans if p.id in choice.plans.values()}
    ends = {s.id: (s.tail, s.head) for s in network.laid}
    step = problem.flow_step_m3_s
    rows = {b: _row_choices(problem, p, duty, shut_off) for b, p in plans.items()}
    node_of = {s.row: s.tail for s in reversed(network.stretches) if s.kind == "lateral"}
    taken = {}
    for branch, plan in plans.items():
        taken[node_of[branch]] = taken.get(node_of[branch], 0.0) + plan.flow_steps * step
    options = [
        [
            (pipe.table.builds[i], pipe, i)
            for i in range(len(pipe.pipes))
            if pipe.table.rating_head_m[pipe.table.builds[i]] >= shut_off
        ]
        for pipe in shared
    ]
    best = None
    for chosen in product(*options):
        heads, flows = _heads(site, chosen, ends, taken, duty.head_m)
        if any(abs(flows[p.table.id]) > p.most_m3_s[i] for _, p, i in chosen):
            continue
        if min(heads.values()) < 0.0:
            continue
        cost = sum(p.build(way).cost_cents for way, p, _ in chosen)
        for branch, found in rows.items():
            cost += min(
                (c for need, c in found if need <= heads[node_of[branch]]), default=math.inf
            )
        if math.isfinite(cost) and (best is None or cost < best[0]):
            best = (cost, {p.table.id: way for way, p, _ in chosen})
    return best


def _total(problem, choice):
    return sum(p.flow_steps for p in problem.plans if p.id in choice.plans.values())


def _heads(site, chosen, ends, taken, source_m):
    """Heads and flows, the closing pipe's flow found by halving."""
    sizes = {p.table.id: (p, i) for _, p, i in chosen}
    closing = ends[CLOSING]
    warmth = site.goals.water_temperature_c

    def loss(name, flow):
        pipe, i = sizes[name]
        part = pipe.pipes[i]
        return head_loss_m(flow, pipe.length_m, part.bore_m, part.roughness_m, warmth, pipe.local)

    tree = {name: pair for name, pair in ends.items() if name in sizes and name != CLOSING}

    def run(x):
        out = dict(taken)
        out[closing[0]] = out.get(closing[0], 0.0) + x
        out[closing[1]] = out.get(closing[1], 0.0) - x
        below = dict(out)
        flows = {}
        for name, (tail, head) in reversed(tree.items()):
            flows[name] = below.get(head, 0.0)
            below[tail] = below.get(tail, 0.0) + flows[name]
        heads = {"pump": source_m}
        for name, (tail, head) in tree.items():
            heads[head] = heads[tail] - loss(name, flows[name])
        return heads, {**flows, CLOSING: x}

    low, high = -sum(taken.values()), sum(taken.values())
    for _ in range(HALVINGS):
        x = (low + high) / 2.0
        if x in (low, high):  # no number lies between
            break
        heads, _ = run(x)
        if heads[closing[0]] - heads[closing[1]] > loss(CLOSING, x):
            low = x
        else:
            high = x
    return run((low + high) / 2.0)


def _row_choices(problem, plan, duty, shut_off):
    """(Head needed at the header, cents) of every way to build a row's pipe."""
    own = [s for s in problem.stretches if s.branch == plan.branch and s.id in plan.duties]
    ways = [
        [
            j
            for j in s.builds
            if (plan.duties[s.id], j) in s.table and s.rating_head_m[j] >= shut_off
        ]
        for s in own
    ]
    raised = any(
        (u.outlet_level_m or 0.0) > problem.lowest_outlet_m
        for s in problem.stretches
        for u in s.duties
    )
    authority = duty.authority if raised else 0.0
    first = own[0].tail
    found = []
    for picked in product(*ways):
        lost, need, cost, fits = {first: 0.0}, 0.0, 0, True
        for stretch, way in zip(own, picked, strict=True):
            name = plan.duties[stretch.id]
            build = stretch.table[name, way]
            outlet = next(u.outlet_level_m for u in stretch.duties if u.id == name)
            lost[stretch.head] = lost[stretch.tail] + build.loss_m
            cost += build.cost_cents
            if outlet is None:
                need = max(need, lost[stretch.head])
                continue
            rise = max(0.0, outlet - problem.lowest_outlet_m)
            need = max(
                need, lost[stretch.head] + outlet, lost[stretch.tail] + outlet + rise * authority
            )
            fits = fits and outlet + build.loss_m + build.throttle_m >= duty.head_m
        if fits:
            found.append((need, cost))
    return found
