"""Return pipe: which size and slope each stretch has, and that water runs down to the sump."""

from __future__ import annotations

import math

from optimizer.milp.counted import counts, most_load, not_covered, plans_not_covered
from optimizer.milp.family import family
from optimizer.milp.modeling import Model, Row, linear
from optimizer.milp.tables import SUMP_NODE, Tables

LITRES = 1000.0  # bursts are summed in L/s: the solver then errs by 1e-6 L/s at most


@family("D1", ("drain",), lambda t: [(s.id,) for s in t.problem.drains])
def one_size_per_drain(model: Model, tables: Tables, drain: str) -> Row:
    """A return stretch is laid in at most one size and slope.

    sum(j) drain[s, j] <= 1
    """
    return linear((1, model.drain[drain, b.id]) for b in tables.drain[drain].builds) <= 1


@family("D2", ("drain",), lambda t: [(s.id,) for s in t.problem.drains])
def drain_carries_its_bursts(model: Model, tables: Tables, drain: str) -> Row:
    """A return stretch carries the bursts that the chosen plans send through it.

    sum(p) burst(s, p) plan[p] <= sum(j) capacity(j) drain[s, j] + M(s) sum(c) counted[s, c],
    c = other ways to count, M(s) = the most that any plans send
    """
    table = tables.drain[drain]
    bursts = [(burst * LITRES, model.plan[p]) for p, burst in table.bursts_m3_s.items()]
    carried = [(-b.capacity_m3_s * LITRES, model.drain[drain, b.id]) for b in table.builds]
    most = most_load(tables, table.bursts_m3_s) * LITRES
    freed = [(-most, model.counted[drain, c]) for c in range(len(table.otherwise_beds))]
    return linear([*bursts, *carried, *freed]) <= 0


@family("D7", ("drain", "count"), counts)
def drain_carries_what_is_counted(model: Model, tables: Tables, drain: str, count: int) -> Row:
    """A return stretch sized by another count serves the beds that the chosen plans count there.

    sum(p) beds(s, c, p) plan[p] <= sum(j) served(j, c) drain[s, j] + M(s, c) (1 - counted[s, c]),
    M(s, c) = the most beds that any plans count, and served is at most so many
    """
    table = tables.drain[drain]
    loads = table.otherwise_beds[count]
    most = most_load(tables, loads)
    sent = [(beds, model.plan[p]) for p, beds in loads.items() if math.isfinite(beds)]
    served = [(-min(b.credited_beds[count], most), model.drain[drain, b.id]) for b in table.builds]
    return linear([*sent, *served, (most, model.counted[drain, count])]) <= most


@family("D8", ("drain", "count", "branch"), not_covered)
def beds_are_counted(model: Model, tables: Tables, drain: str, count: int, branch: str) -> Row:
    """A way to count is used only where it covers the beds of every chosen plan.

    counted[s, c] + sum(p of the branch, not covered by c) plan[p] <= 1
    """
    others = plans_not_covered(tables, drain, count, branch)
    return linear([(1, model.counted[drain, count]), *((1, model.plan[p]) for p in others)]) <= 1


@family("D3", ("drain",), lambda t: [(s.id,) for s in t.problem.drains])
def drain_falls(model: Model, tables: Tables, drain: str) -> Row:
    """A return stretch falls at least as far as its slope asks.

    invert[upper] - invert[lower] >= sum(j) fall(j) drain[s, j]
    """
    table = tables.drain[drain]
    falls = [(-b.fall_m, model.drain[drain, b.id]) for b in table.builds]
    ends = [(1, model.invert[table.upper]), (-1, model.invert[table.lower])]
    return linear([*ends, *falls]) >= 0


@family("D4", ("node",), lambda t: [(n,) for n in t.drain_levels])
def drain_lies_under_the_bed(model: Model, tables: Tables, node: str) -> Row:
    """Under a bed that is built the crown of its return pipe lies below the siphon's outlet.

    invert[n] + sum(j) crown(j) drain[s from n, j] + sum(p) M(p, n) plan[p] <= H,
    H = highest level of any plan + greatest crown, M(p, n) = H - level(p, n)
    """
    table, highest = tables.drain_from[node], tables.highest_drain_m
    crowns = [(b.crown_m, model.drain[table.id, b.id]) for b in table.builds]
    plans = [(highest - level, model.plan[p]) for p, level in tables.drain_levels[node].items()]
    return linear([(1, model.invert[node]), *crowns, *plans]) <= highest


@family("D5", (), lambda t: [()] if t.problem.drains else [])
def drains_end_above_the_water(model: Model, tables: Tables) -> Row:
    """Return pipe ends above the highest water the sump may hold.

    invert[sump] >= sum(k) top(k) sump[k]
    """
    tops = [(-k.top_m, model.sump[k.id]) for k in tables.problem.sumps]
    return linear([(1, model.invert[SUMP_NODE]), *tops]) >= 0


@family("D6", ("drain",), lambda t: [(s.id,) for s in t.problem.drains if s.lower in t.drain_from])
def drain_never_narrows(model: Model, tables: Tables, drain: str) -> Row:
    """A return stretch is no wider than the one it runs into.

    sum(j) crown(j) drain[s, j] <= sum(j) crown(j) drain[s below, j]
    """
    upper = tables.drain[drain]
    lower = tables.drain_from[upper.lower]
    wide = [(b.crown_m, model.drain[upper.id, b.id]) for b in upper.builds]
    wider = [(-b.crown_m, model.drain[lower.id, b.id]) for b in lower.builds]
    return linear([*wide, *wider]) <= 0
