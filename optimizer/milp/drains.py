"""Return pipe: which size and slope each stretch has, and that water runs down to the sump."""

from __future__ import annotations

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

    sum(p) burst(s, p) plan[p] <= sum(j) capacity(j) drain[s, j]
    """
    table = tables.drain[drain]
    bursts = [(burst * LITRES, model.plan[p]) for p, burst in table.bursts_m3_s.items()]
    carried = [(-b.capacity_m3_s * LITRES, model.drain[drain, b.id]) for b in table.builds]
    return linear([*bursts, *carried]) <= 0


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
