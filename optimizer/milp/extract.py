"""From solved variables to ids, with the cost and the heads computed again from the parts."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from optimizer.errors import SolverFailed
from optimizer.milp.modeling import Model, Variable, amount
from optimizer.milp.tables import PUMP_NODE, SUMP_NODE, Tables
from optimizer.records.problem import BranchPlan, Build
from optimizer.records.problem_drains import DrainBuild

BINARY_TOLERANCE = 1e-5  # a yes-or-no variable further from 0 and 1 than this is refused
HEAD_TOLERANCE_M = 1e-5  # heads recomputed from the parts may miss a limit by this much


@dataclass(frozen=True)
class Picked:
    """What was picked, by id, with nothing of the solver left in it."""

    plans: Mapping[str, str]
    builds: Mapping[str, tuple[str, str]]
    pump: str
    sump: str
    band: str
    drains: Mapping[str, str]
    mixes: Mapping[str, float] = field(default_factory=dict)


def picked(model: Model, tables: Tables) -> Picked:
    """Read the picks off a solved model.

    Raises:
        SolverFailed: where a yes-or-no variable is neither, or the picks contradict each other.
    """
    problem = tables.problem
    plans = {
        branch: _only((p.id for p in plans if _yes(model.plan[p.id])), f"plan of {branch}")
        for branch, plans in tables.plans_of_branch.items()
    }
    builds = _builds(model, tables, _duties(model, tables, plans))
    return Picked(
        plans,
        builds,
        _only((p.id for p in problem.pumps if _yes(model.pump[p.id])), "pump"),
        _only((k.id for k in problem.sumps if _yes(model.sump[k.id])), "sump"),
        _only((w.id for w in problem.bands if _yes(model.band[w.id])), "band"),
        _drains(model, tables, set(plans.values())),
        _mixes(model, tables, builds),
    )


def _mixes(model: Model, tables: Tables, builds: Mapping[str, tuple[str, str]]) -> dict[str, float]:
    """Every stretch with two sizes, with the share of its length that is wider.

    The solver keeps rows to a tolerance only: a wider part longer than it must be stands for head
    that is just enough, and is laid longer by what makes up for that, less than pipe is cut to.
    """
    found: dict[str, float] = {}
    for stretch, (duty, build) in builds.items():
        key = (stretch, duty, build)
        if key in tables.mix and _yes(model.two[key]):
            mix, share = tables.mix[key], amount(model.wide[key])
            if share > mix.least_share + BINARY_TOLERANCE:
                share += HEAD_TOLERANCE_M / mix.gain_m
            found[stretch] = min(max(share, mix.least_share), 1.0 - mix.least_share)
    return found


def _drains(model: Model, tables: Tables, plans: set[str]) -> dict[str, str]:
    """Every return stretch that some chosen plan drains through, with its build."""
    return {
        s.id: _only((b.id for b in s.builds if _yes(model.drain[s.id, b.id])), f"drain {s.id}")
        for s in tables.problem.drains
        if plans & s.bursts_m3_s.keys()
    }


def _duties(model: Model, tables: Tables, plans: Mapping[str, str]) -> dict[str, str]:
    """Every stretch that is built, with the duty it carries.

    A stretch that zones share may be left to carry more than the greatest of them asks, where that
    costs nothing; here it carries just that.
    """
    by_id = {p.id: p for p in tables.problem.plans}
    asked = _greatest_of_zones(tables, [by_id[plan] for plan in plans.values()])
    duties = {s: u for plan in plans.values() for s, u in by_id[plan].duties.items()}
    for stretch in tables.shared:
        for u in stretch.duties:
            if stretch.id in asked:
                carried = u.flow_steps == asked[stretch.id]
            else:
                carried = _yes(model.carries[stretch.id, u.id])
            if carried:
                duties[stretch.id] = u.id
    return {s: duties[s] for s in tables.stretch if s in duties}


def _greatest_of_zones(tables: Tables, plans: list[BranchPlan]) -> dict[str, int]:
    """Every stretch that zones share, with the most that any zone asks of it."""
    flow = {p.branch: p.flow_steps for p in plans}
    most: dict[str, int] = {}
    for s, zone in tables.zones_sharing:
        asked = sum(flow.get(branch, 0) for branch in tables.branches_of_zone_below(s, zone))
        most[s] = max(asked, most.get(s, 0))
    return most


def _builds(model: Model, tables: Tables, duties: Mapping[str, str]) -> dict[str, tuple[str, str]]:
    chosen: dict[str, tuple[str, str]] = {}
    for s, u in duties.items():
        reached = [j for j in tables.stretch[s].builds if _yes(model.at_least[s, j])]
        if not reached or (s, u, reached[-1]) not in tables.build:
            raise SolverFailed(f"The solver left stretch {s} without a build.")
        chosen[s] = (u, reached[-1])
    return chosen


def cost_cents(pick: Picked, tables: Tables) -> int:
    """The cost of a pick, added up from its parts in whole cents."""
    problem = tables.problem
    duty = tables.pump_duty[pick.pump, pick.band, _total_flow(pick, tables)]
    parts = [p.cost_cents for p in problem.plans if pick.plans.get(p.branch) == p.id]
    parts += [_stretch_cents(pick, tables, (s, u, j)) for s, (u, j) in pick.builds.items()]
    parts += [p.cost_cents for p in problem.pumps if p.id == pick.pump]
    parts += [k.cost_cents for k in problem.sumps if k.id == pick.sump]
    parts += [
        b.cost_cents for s in problem.drains for b in s.builds if pick.drains.get(s.id) == b.id
    ]
    return sum(parts) + duty.running_cents + problem.fixed_cents - _saved_cents(pick, tables)


def _saved_cents(pick: Picked, tables: Tables) -> int:
    """What pipe lying ready saves: its worth, or what is laid of its size where that is less."""
    problem = tables.problem
    laid: list[Build | DrainBuild] = [tables.build[s, u, j] for s, (u, j) in pick.builds.items()]
    laid += [b for s in problem.drains for b in s.builds if pick.drains.get(s.id) == b.id]
    lift = next(p.pipe_cents for p in problem.pumps if p.id == pick.pump)
    spent = {
        each.pipe: sum(b.pipe_cents for b in laid if b.pipe == each.pipe) + lift.get(each.pipe, 0)
        for each in problem.stock
    }
    return sum(min(each.worth_cents, spent[each.pipe]) for each in problem.stock)


def _stretch_cents(pick: Picked, tables: Tables, key: tuple[str, str, str]) -> int:
    if key[0] in pick.mixes:
        return tables.mix[key].cost_cents(pick.mixes[key[0]])
    return tables.build[key].cost_cents


def _stretch_loss_m(pick: Picked, tables: Tables, key: tuple[str, str, str]) -> float:
    lost = tables.build[key].loss_m
    if key[0] in pick.mixes:
        mix = tables.mix[key]
        lost += mix.reducer_m - pick.mixes[key[0]] * mix.gain_m
    return lost


def heads_m(pick: Picked, tables: Tables) -> dict[str, float]:
    """The head at every node with water: what the pump gives, less what the builds lose.

    Raises:
        SolverFailed: where an outlet is missed by more than ``HEAD_TOLERANCE_M``.
    """
    duty = tables.pump_duty[pick.pump, pick.band, _total_flow(pick, tables)]
    heads = {PUMP_NODE: duty.head_m}
    for stretch in tables.problem.stretches:
        if stretch.id in pick.builds and stretch.tail in heads:
            u, j = pick.builds[stretch.id]
            lost = _stretch_loss_m(pick, tables, (stretch.id, u, j))
            heads[stretch.head] = heads[stretch.tail] - lost
            _demand_head(heads[stretch.head], tables.duty[stretch.id, u].outlet_level_m, stretch.id)
    return heads


def inverts_m(pick: Picked, tables: Tables) -> dict[str, float]:
    """The level of the return pipe at every node, each as high as beds and falls allow.

    Raises:
        SolverFailed: where the water would not come out above the sump's highest level.
    """
    levels: dict[str, float] = {}
    chosen = set(pick.plans.values())
    for table in reversed(tables.problem.drains):
        if table.id not in pick.drains:
            continue
        build = next(b for b in table.builds if b.id == pick.drains[table.id])
        under = tables.drain_levels.get(table.upper, {})
        bed = min((level for p, level in under.items() if p in chosen), default=math.inf)
        levels[table.upper] = min(levels.get(table.upper, math.inf), bed - build.crown_m)
        lower = levels[table.upper] - build.fall_m
        levels[table.lower] = min(levels.get(table.lower, math.inf), lower)
    top = next(k.top_m for k in tables.problem.sumps if k.id == pick.sump)
    if levels.get(SUMP_NODE, top) < top - HEAD_TOLERANCE_M:
        raise SolverFailed("The solver's answer lets return pipe end below the sump's water.")
    return levels


def _demand_head(head_m: float, level_m: float | None, stretch: str) -> None:
    if head_m < (level_m or 0.0) - HEAD_TOLERANCE_M:
        raise SolverFailed(f"The solver's answer misses the outlet of stretch {stretch}.")


def _total_flow(pick: Picked, tables: Tables) -> int:
    if tables.root.id not in pick.builds:
        raise SolverFailed("The solver left the pump without a first stretch.")
    return tables.duty[tables.root.id, pick.builds[tables.root.id][0]].flow_steps


def _yes(variable: Variable) -> bool:
    value = amount(variable)
    if abs(value - round(value)) > BINARY_TOLERANCE:
        raise SolverFailed(f"The solver returned {value} for a yes-or-no variable.")
    return round(value) == 1


def _only(ids: Iterable[str], what: str) -> str:
    found = list(ids)
    if len(found) != 1:
        raise SolverFailed(f"The solver chose {len(found)} of one {what}.")
    return found[0]
