"""Zones that flood in turn: what shared pipe and pump carry, and what valves must hold back."""

from __future__ import annotations

from optimizer.milp.family import family
from optimizer.milp.modeling import Index, Model, Row, Term, linear
from optimizer.milp.tables import Tables


def _flows_of(model: Model, tables: Tables, branches: list[str]) -> list[Term]:
    """The flow that the chosen plans of some branches ask for."""
    plans = (p for branch in branches for p in tables.plans_of_branch.get(branch, []))
    return [(p.flow_steps, model.plan[p.id]) for p in plans if p.flow_steps]


@family("Z1", ("zone",), lambda t: [(z.id,) for z in t.problem.zones])
def zone_has_water(model: Model, tables: Tables, zone: str) -> Row:
    """In every zone something is built, and the pump moves as much in its turn as it must.

    sum(p of branches in z) flow(p) plan[p] >= flow_least(z)
    """
    table = tables.zone[zone]
    return linear(_flows_of(model, tables, list(table.branches))) >= table.flow_least_steps


@family("Z2", ("stretch", "zone"), lambda t: t.zones_sharing)
def shared_flow_reaches_every_zone(model: Model, tables: Tables, stretch: str, zone: str) -> Row:
    """A stretch that zones share carries no less than any of them asks below it.

    sum(u) flow(u) carries[s, u] >= sum(p of branches in z below s) flow(p) plan[p]
    """
    carried: list[Term] = [
        (u.flow_steps, model.carries[stretch, u.id]) for u in tables.stretch[stretch].duties
    ]
    asked = _flows_of(model, tables, tables.branches_of_zone_below(stretch, zone))
    return linear([*carried, *((-flow, plan) for flow, plan in asked)]) >= 0


@family("Z3", (), lambda t: [()] if t.problem.zones else [])
def one_zone_is_the_greatest(model: Model, tables: Tables) -> Row:
    """One zone is named as that with the greatest flow.

    sum(z) greatest[z] = 1
    """
    return linear((1, model.greatest[z.id]) for z in tables.problem.zones) == 1


@family("Z4", ("zone",), lambda t: [(z.id,) for z in t.problem.zones])
def pump_is_counted_at_the_greatest_zone(model: Model, tables: Tables, zone: str) -> Row:
    """The first stretch carries no more than the greatest zone asks.

    sum(u) flow(u) carries[first, u] - sum(p of branches in z) flow(p) plan[p]
        <= F (1 - greatest[z]),  F = greatest flow of any duty of the first stretch
    """
    most = max((u.flow_steps for u in tables.root.duties), default=0)
    carried: list[Term] = [
        (u.flow_steps, model.carries[tables.root.id, u.id]) for u in tables.root.duties
    ]
    asked = _flows_of(model, tables, list(tables.zone[zone].branches))
    named = (most, model.greatest[zone])
    return linear([*carried, *((-flow, plan) for flow, plan in asked), named]) <= most


def _wide_builds(tables: Tables) -> list[Index]:
    """Drops built so that their valve could not take up the head of some pump at no flow."""
    if not tables.problem.zones:
        return []
    most = tables.greatest_shut_off_m
    return [key for key in tables.build if tables.most_head_m(*key) < most]


@family("Z5", ("stretch", "duty", "build"), _wide_builds)
def valve_can_throttle_at_no_flow(
    model: Model, tables: Tables, stretch: str, duty: str, build: str
) -> Row:
    """No drop is so wide that its valve, nearly shut, could not take up the pump's shut-off head.

    In the turn of a small zone the pump gives more head than it is counted on for.

    sum(p) shut_off(p) pump[p] + sum(w) middle(w) band[w]
        <= most(s, u, j) + M(s, u, j) (1 - build[s, u, j]),
    most = outlet(u) + loss(u, j) + throttle(u, j), M = greatest shut-off head and middle - most
    """
    most = tables.most_head_m(stretch, duty, build)
    slack = tables.greatest_shut_off_m - most
    pumps = [(p.shut_off_m, model.pump[p.id]) for p in tables.problem.pumps]
    bands = [((w.low_m + w.high_m) / 2.0, model.band[w.id]) for w in tables.problem.bands]
    chosen = (slack, model.build[stretch, duty, build])
    return linear([*pumps, *bands, chosen]) <= most + slack
