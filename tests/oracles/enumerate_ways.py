"""The ways in which one stretch of a site may be built, worked out again.

Part of the oracle in ``enumerate_site``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from optimizer.physics.laws import DarcyWeisbach
from optimizer.physics.pressure import pressure_pa, rating_at_temperature
from optimizer.physics.water import GRAVITY
from optimizer.records.network import CandidateNetwork, Stretch
from optimizer.records.parts import Catalog, Pipe
from optimizer.records.site import Site
from tests.oracles.enumerate_beds import STEPS_PER_M3_S, Option, cents
from tests.oracles.enumerate_plant import most_above_m, power_worth

PIECE_M = 0.3
"""No part of a stretch of two sizes is shorter."""

ROUNDED_CENTS = 2
"""What whole cents may take off a stretch of two sizes: it has two lines of pipe on the bill."""

Picks = Mapping[str, tuple[Option, int] | None]
Way = tuple[int, float, float, float, float, str, int]


@dataclass
class Tree:
    """The candidate network by stretch: parents, rows and bed positions below."""

    source: str = "pump"
    into: dict[str, Stretch] = field(default_factory=dict)
    out_of: dict[str, list[Stretch]] = field(default_factory=dict)
    beds_below: dict[str, list[tuple[str, int, float]]] = field(default_factory=dict)


@dataclass(frozen=True)
class Ways:
    """Every way to build one stretch: cents, head lost, water held, head the pipe bears.

    ``throttles_m`` is the further head a nearly shut valve takes up; ``pipe`` the size laid anew,
    empty for pipe that is there, and ``pipe_cents`` its metres alone.
    """

    cents: np.ndarray
    loss_m: np.ndarray
    volume_m3: np.ndarray
    bears_m: np.ndarray
    throttles_m: np.ndarray
    pipe: np.ndarray
    pipe_cents: np.ndarray


def tree_of(network: CandidateNetwork, source: str = "pump") -> Tree:
    """The supply tree below its source; what fills a tank is no part of it."""
    tree = Tree(source)
    for stretch in network.stretches:
        if stretch.tail == "pump" != source:
            continue
        tree.into[stretch.head] = stretch
        tree.out_of.setdefault(stretch.tail, []).append(stretch)
        tree.beds_below[stretch.id] = []
    for position in network.positions:
        node = f"bed {position.id}"
        while node != source:
            stretch = tree.into[node]
            bed = (position.row, position.index, position.ground_level_m)
            tree.beds_below[stretch.id].append(bed)
            node = stretch.tail
    return tree


@dataclass(frozen=True)
class Steps:
    """Into how many steps a stretch of two sizes is cut, and whether each is at its best end."""

    count: int
    best: bool


def is_built(bed: tuple[str, int, float], picks: Picks) -> bool:
    pick = picks[bed[0]]
    return pick is not None and bed[1] <= pick[1]


def ways_of(
    site: Site,
    catalog: Catalog,
    tree: Tree,
    stretch: Stretch,
    below: Sequence[tuple[str, int, float]],
    picks: Picks,
    steps: Steps | None,
) -> tuple[float | None, Ways]:
    chosen = [picks[row][0] for row, _, _ in below]
    by_zone: dict[int, int] = {}
    for (row, _, _), option in zip(below, chosen, strict=True):
        by_zone[zone_of(row, site)] = by_zone.get(zone_of(row, site), 0) + option.steps
    flow = max(by_zone.values()) / STEPS_PER_M3_S
    length, outlet = stretch.length_m, None
    if stretch.kind == "drop":
        level = chosen[0].outlet_m(below[0][2])
        length += abs(level - stretch.points[-1][2]) + chosen[0].width_m / 2.0
        outlet = level - site.ground.sump_floor_level_m
    parts = _parts(tree, stretch, len(below))
    table = [
        way
        for pipe, laid in _pipes_for(site, catalog, stretch)
        for way in _ways_of_pipe(site, catalog, stretch, pipe, laid, flow, length, parts)
    ]
    if steps is not None and stretch.kind != "drop":
        table += _two_sizes(site, catalog, stretch, (flow, length, parts), steps)
    columns = zip(*table, strict=True) if table else ((),) * 7
    return outlet, Ways(*(np.array(column) for column in columns))


def zone_of(row: str, site: Site) -> int:
    """The place of a row's zone; every row in one where none turn."""
    groups = site.zones.groups if site.zones else ()
    return next((n for n, group in enumerate(groups) if row in group), 0)


def _parts(tree: Tree, stretch: Stretch, beds: int) -> dict[str, int]:
    """The fittings bought with a stretch: rules of ``parts_in`` and ``tees_at_ends``."""
    parts = {
        k: n
        for k, n in stretch.fittings
        if k not in ("exit", "tee_run", "tee_branch", "timed_valve")
    }
    if any(k.startswith("tee_") for k, _ in stretch.fittings):
        parts["reducer"] = 1
    leaving = tree.out_of.get(stretch.head, [])
    if any(k.startswith("tee_") for each in leaving for k, _ in each.fittings):
        parts["tee"] = max(1, len(leaving) - 1)
        if beds == 1 and stretch.row is not None:
            parts["clean_out"] = 1
    return parts


def _pipes_for(site: Site, catalog: Catalog, stretch: Stretch) -> Iterator[tuple[Pipe, bool]]:
    run = stretch.row if stretch.kind == "lateral" else stretch.kind
    laid = {each.pipe for each in site.standing.pipes if each.run == run}
    wanted = set(site.purchase.pipes)
    for pipe in catalog.pipes.values():
        sold = pipe.series == site.purchase.pipe_series and (not wanted or pipe.id in wanted)
        if sold or pipe.id in laid:
            yield pipe, pipe.id in laid


def _ways_of_pipe(
    site: Site,
    catalog: Catalog,
    stretch: Stretch,
    pipe: Pipe,
    laid: bool,
    flow: float,
    length: float,
    parts: Mapping[str, int],
) -> Iterator[Way]:
    goals = site.goals
    area = np.pi / 4.0 * pipe.bore_m**2
    if flow / area * (1.0 + goals.level_drift) > goals.velocity_limit_m_s:
        return
    fittings = sum(
        f.price * parts.get(f.kind, 0)
        for f in catalog.fittings.values()
        if (f.series, f.nominal) == (pipe.series, pipe.nominal)
    )
    metres = cents(pipe.price_per_m * length)
    price = 0 if laid else metres + cents(fittings)
    size = "" if laid else pipe.id
    if ("timed_valve", 1) in stretch.fittings:
        sold = [
            f.price
            for f in catalog.fittings.values()
            if (f.kind, f.series, f.nominal) == ("timed_valve", pipe.series, pipe.nominal)
        ]
        price += cents(min(sold)) + cents(power_worth(site))
    local = sum(count * catalog.losses[kind].value for kind, count in stretch.fittings)
    rating = rating_at_temperature(pipe.rating_pa, pipe.material, goals.water_temperature_c)
    bears = rating / pressure_pa(1.0, goals.water_temperature_c)
    law = DarcyWeisbach(pipe.roughness_m, goals.water_temperature_c)
    if stretch.kind != "drop":
        loss = float(law.head_loss_m(flow, length, pipe.bore_m, local))
        yield price, loss, area * length, bears, np.inf, size, metres
        return
    kinds = site.purchase.valve_kinds
    for valve in catalog.valves.values():
        fits = (valve.series, valve.nominal) == (pipe.series, pipe.nominal)
        if fits and (not kinds or valve.kind in kinds):
            loss = float(law.head_loss_m(flow, length, pipe.bore_m, local + min(valve.losses)))
            speed_head = (flow / area) ** 2 / (2.0 * GRAVITY)
            throttles = (max(valve.losses) - min(valve.losses)) * speed_head
            throttles -= most_above_m(site, catalog)
            price_with_valve = price + cents(valve.price)
            yield price_with_valve, loss, area * length, bears, throttles, size, metres


def _two_sizes(
    site: Site,
    catalog: Catalog,
    stretch: Stretch,
    carried: tuple[float, float, Mapping[str, int]],
    steps: Steps,
) -> list[Way]:
    """Ways to lay a straight stretch in two sizes, its length cut into steps.

    Of the wider sizes the one counts that gains most head for its money. A step at its best costs
    as at its short end and loses as at its long end: no share within it is cheaper.
    """
    flow, length, parts = carried
    if any(kind.startswith("elbow") for kind, _ in stretch.fittings) or length < 2 * PIECE_M:
        return []
    goals = site.goals
    able = [
        pipe
        for pipe, laid in _pipes_for(site, catalog, stretch)
        if not laid
        and flow / (np.pi / 4.0 * pipe.bore_m**2) * (1.0 + goals.level_drift)
        <= goals.velocity_limit_m_s
    ]
    found: list[Way] = []
    for narrow in able:
        gains = [(_gain_for_money(site, narrow, w, flow), w) for w in able
                 if w.bore_m > narrow.bore_m]  # fmt: skip
        if gains:
            wide = max(gains, key=lambda pair: pair[0])[1]
            found += _stepped(site, catalog, stretch, (flow, length, parts), (narrow, wide), steps)
    return found


def _friction_per_m(site: Site, pipe: Pipe, flow: float) -> float:
    law = DarcyWeisbach(pipe.roughness_m, site.goals.water_temperature_c)
    return float(law.head_loss_m(flow, 1.0, pipe.bore_m))


def _gain_for_money(site: Site, narrow: Pipe, wide: Pipe, flow: float) -> float:
    gain = _friction_per_m(site, narrow, flow) - _friction_per_m(site, wide, flow)
    dearer = wide.price_per_m - narrow.price_per_m
    return float("inf") if dearer <= 0.0 else gain / dearer


def _stepped(
    site: Site,
    catalog: Catalog,
    stretch: Stretch,
    carried: tuple[float, float, Mapping[str, int]],
    pair: tuple[Pipe, Pipe],
    steps: Steps,
) -> Iterator[Way]:
    (flow, length, parts), (narrow, wide) = carried, pair
    counts = dict(parts) | {"reducer": parts.get("reducer", 0) + 1}
    fittings = sum(
        f.price * counts.get(f.kind, 0)
        for f in catalog.fittings.values()
        if (f.series, f.nominal) == (narrow.series, narrow.nominal)
    )
    local = sum(n * catalog.losses[kind].value for kind, n in stretch.fittings)
    local += catalog.losses["reducer"].value
    area = np.pi / 4.0 * narrow.bore_m**2
    at_fittings = local * (flow / area) ** 2 / (2.0 * GRAVITY)
    bears = min(_bears_m(site, narrow), _bears_m(site, wide))
    least, most = PIECE_M / length, 1.0 - PIECE_M / length
    for step in range(steps.count):
        low, high = (least + (most - least) * (step + end) / steps.count for end in (0, 1))
        gaining = high if steps.best else low
        money = [
            cents(narrow.price_per_m * (1.0 - share) * length)
            + cents(wide.price_per_m * share * length)
            for share in (low, gaining)
        ]
        loss = (1.0 - gaining) * length * _friction_per_m(site, narrow, flow)
        loss += gaining * length * _friction_per_m(site, wide, flow) + at_fittings
        held = ((1.0 - low) * area + low * np.pi / 4.0 * wide.bore_m**2) * length
        price = min(money) + cents(fittings) - (ROUNDED_CENTS if steps.best else 0)
        yield price, loss, held, bears, np.inf, narrow.id, 0


def _bears_m(site: Site, pipe: Pipe) -> float:
    warm = site.goals.water_temperature_c
    rating = rating_at_temperature(pipe.rating_pa, pipe.material, warm)
    return rating / pressure_pa(1.0, warm)
