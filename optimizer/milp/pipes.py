"""What each stretch carries, how it is built, and the head it leaves."""

from __future__ import annotations

from optimizer.milp.family import family
from optimizer.milp.modeling import Index, Model, Row, Term, linear
from optimizer.milp.tables import PUMP_NODE, Tables


def _of_one_branch(tables: Tables) -> list[Index]:
    return [(s, u) for s, u in tables.duty if tables.stretch[s].branch is not None]


def _below_shared(tables: Tables) -> list[Index]:
    return [(s.id, child) for s in tables.shared for child in tables.children[s.id]]


def _raised_drops(tables: Tables) -> list[Index]:
    if tables.greatest_authority <= 0:
        return []
    return [key for key in tables.duty if tables.rise_m(*key) > 0]


def _with_head_below(tables: Tables) -> list[Index]:
    nodes = set(tables.nodes)
    return [(s.id,) for s in tables.problem.stretches if s.head in nodes]


def _losses(model: Model, tables: Tables, stretch: str) -> list[Term]:
    keys = tables.triples_of_stretch[stretch]
    terms = [(tables.build[key].loss_m, model.build[key]) for key in keys]
    for key in (key for key in keys if key in tables.mix):
        mix = tables.mix[key]
        terms += [(-mix.gain_m, model.wide[key]), (mix.reducer_m, model.two[key])]
    return terms


@family("S1", ("stretch", "duty"), _of_one_branch)
def plan_sets_the_duty(model: Model, tables: Tables, stretch: str, duty: str) -> Row:
    """A stretch that serves one branch carries what the branch's plan puts on it.

    carries[s, u] = sum(p of the branch with duty u on s) plan[p]
    """
    plans = [(-1, model.plan[p]) for p in tables.plans_with_duty[stretch, duty]]
    return linear([(1, model.carries[stretch, duty]), *plans]) == 0


@family("S2", ("stretch",), lambda t: [(s.id,) for s in t.shared])
def one_duty_per_shared_stretch(model: Model, tables: Tables, stretch: str) -> Row:
    """A shared stretch carries at most one duty.

    sum(u) carries[s, u] <= 1
    """
    return linear((1, model.carries[stretch, u.id]) for u in tables.stretch[stretch].duties) <= 1


@family("S3", ("stretch",), lambda t: [(s.id,) for s in t.at_one_time])
def shared_flow_adds_up(model: Model, tables: Tables, stretch: str) -> Row:
    """A shared stretch whose branches have water together carries the sum of their flows.

    sum(u) flow(u) carries[s, u] = sum(p of branches below s) flow(p) plan[p]
    """
    terms: list[Term] = [
        (u.flow_steps, model.carries[stretch, u.id]) for u in tables.stretch[stretch].duties
    ]
    for branch in tables.branches_below[stretch]:
        terms += [(-p.flow_steps, model.plan[p.id]) for p in tables.plans_of_branch.get(branch, [])]
    return linear(terms) == 0


@family("S4", ("stretch", "stretch below"), _below_shared)
def water_comes_from_upstream(model: Model, tables: Tables, stretch: str, below: str) -> Row:
    """Where a stretch below carries water, the shared stretch above carries some duty.

    sum(v with flow) carries[below, v] <= sum(u) carries[s, u]
    """
    flowing = [
        (1, model.carries[below, v.id]) for v in tables.stretch[below].duties if v.flow_steps
    ]
    above = [(-1, model.carries[stretch, u.id]) for u in tables.stretch[stretch].duties]
    return linear([*flowing, *above]) <= 0


@family("S5", ("stretch", "duty"), lambda t: list(t.duty))
def one_build_per_carried_duty(model: Model, tables: Tables, stretch: str, duty: str) -> Row:
    """A carried duty has exactly one of the builds allowed under it, and no other duty has any.

    sum(j allowed under u) build[s, u, j] = carries[s, u]
    """
    builds = [(1, model.build[stretch, duty, j]) for j in tables.builds_of_duty[stretch, duty]]
    return linear([*builds, (-1, model.carries[stretch, duty])]) == 0


@family("S6", ("stretch", "build"), lambda t: t.stretch_builds)
def build_is_the_dearest_reached(model: Model, tables: Tables, stretch: str, build: str) -> Row:
    """The build in place is the dearest one that "at least this build" reaches.

    sum(u that may use j) build[s, u, j] = at_least[s, j] - at_least[s, next dearer]
    """
    terms: list[Term] = [
        (1, model.build[stretch, u, build]) for u in tables.duties_of_build[stretch, build]
    ]
    terms.append((-1, model.at_least[stretch, build]))
    dearer = tables.next_build.get((stretch, build))
    if dearer is not None:
        terms.append((1, model.at_least[stretch, dearer]))
    return linear(terms) == 0


@family("S7", ("stretch", "build with a dearer one"), lambda t: list(t.next_build))
def builds_are_nested(model: Model, tables: Tables, stretch: str, build: str) -> Row:
    """What is at least the next dearer build is at least this one.

    at_least[s, next dearer] <= at_least[s, j]
    """
    dearer = tables.next_build[stretch, build]
    return linear([(1, model.at_least[stretch, dearer]), (-1, model.at_least[stretch, build])]) <= 0


@family("H1", ("stretch that is no drop",), _with_head_below)
def head_falls_along_a_stretch(model: Model, tables: Tables, stretch: str) -> Row:
    """The head below a stretch is the head above it less what it loses in one size or two.

    head[downstream] + sum(u, j) (loss(u, j) build[s, u, j]
        - gain(u, j) wide[s, u, j] + reducer(u, j) two[s, u, j]) <= head[upstream]
    """
    ends = tables.stretch[stretch]
    losses = _losses(model, tables, stretch)
    return linear([(1, model.head[ends.head]), (-1, model.head[ends.tail]), *losses]) <= 0


@family("H2", ("drop",), lambda t: [(s,) for s in t.drops])
def outlet_is_reached(model: Model, tables: Tables, drop: str) -> Row:
    """The head at a take-off lifts the water to the bed through the drop and its open valve.

    head[take-off] >= sum(u, j) (loss(u, j) + outlet level(u)) build[s, u, j]
    """
    terms: list[Term] = [(1, model.head[tables.stretch[drop].tail])]
    for key in tables.triples_of_stretch[drop]:
        level = tables.duty[key[:2]].outlet_level_m or 0.0
        terms.append((-tables.build[key].loss_m - level, model.build[key]))
    return linear(terms) >= 0


@family("H3", ("drop", "duty whose outlet is not the lowest"), _raised_drops)
def drift_is_held(model: Model, tables: Tables, drop: str, duty: str) -> Row:
    """A bed above the lowest one keeps enough head that its inflow drifts no more than allowed.

    head[take-off] - outlet(u) carries[s, u]
        >= rise(u) authority - drift_big_m(u) (1 - carries[s, u])
    rise(u) = outlet(u) - lowest outlet
    authority = sum(p, w, f) authority(p, w, f) pump_duty[p, w, f]
    drift_big_m(u) = rise(u) * (greatest authority of any pump duty)
    """
    rise_m = tables.rise_m(drop, duty)
    level_m = tables.duty[drop, duty].outlet_level_m or 0.0
    drift_big_m = rise_m * tables.greatest_authority
    authority = [
        (-rise_m * d.authority, model.pump_duty[key]) for key, d in tables.pump_duty.items()
    ]
    head = (1, model.head[tables.stretch[drop].tail])
    carried = (-level_m - drift_big_m, model.carries[drop, duty])
    return linear([head, carried, *authority]) >= -drift_big_m


def _weak_ratings(tables: Tables) -> list[Index]:
    highest = max((p.shut_off_m for p in tables.problem.pumps), default=0.0)
    return [
        (s.id, rating)
        for s in tables.problem.stretches
        for rating in sorted({s.rating_head_m[j] for j in s.builds})
        if rating < highest
    ]


@family("H4", ("stretch", "rating below some pump's shut-off head"), _weak_ratings)
def pipe_bears_shut_off(model: Model, tables: Tables, stretch: str, rating: float) -> Row:
    """No pump is bought whose head at no flow is above what a pipe in place is rated for.

    sum(u, j rated at most r) build[s, u, j]
        + sum(u, j rated above r, its wider part at most r) two[s, u, j]
        + sum(p with shut-off above r) pump[p] <= 1
    """
    ratings = tables.stretch[stretch].rating_head_m
    weak = [
        (1, model.build[key])
        for key in tables.triples_of_stretch[stretch]
        if ratings[key[2]] <= rating
    ]
    weak += [
        (1, model.two[key])
        for key in tables.triples_of_stretch[stretch]
        if key in tables.mix and ratings[tables.mix[key].wider] <= rating < ratings[key[2]]
    ]
    strong = [(1, model.pump[p.id]) for p in tables.problem.pumps if p.shut_off_m > rating]
    return linear([*weak, *strong]) <= 1


def _wide_builds(tables: Tables) -> list[tuple[str, str, str]]:
    """Drops built so that their valve could not take up the head of some pump duty.

    Where zones flood in turn a stricter rule holds (Z5).
    """
    if tables.problem.zones:
        return []
    return [key for key in tables.build if tables.most_head_m(*key) < tables.greatest_head_m]


@family("H5", ("stretch", "duty", "build"), _wide_builds)
def valve_can_throttle(model: Model, tables: Tables, stretch: str, duty: str, build: str) -> Row:
    """No drop is built so wide that its valve, nearly shut, could not take up the pump's head.

    head[pump] <= most(s, u, j) + M(s, u, j) (1 - build[s, u, j]),
    most = outlet(u) + loss(u, j) + throttle(u, j), M = greatest head of any duty - most
    """
    most = tables.most_head_m(stretch, duty, build)
    slack = tables.greatest_head_m - most
    chosen = (slack, model.build[stretch, duty, build])
    return linear([(1, model.head[PUMP_NODE]), chosen]) <= most + slack
