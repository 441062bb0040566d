"""How each feature of a site file is drawn and, where a default is not enough, dropped."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

from optimizer.physics.band import Band
from optimizer.records.header_tank import TANK_LEVEL_DRIFT, HeaderTank
from optimizer.records.noise import NoiseLimit
from optimizer.records.site import (
    Coefficients,
    FishTank,
    Row,
    Site,
    StockPipe,
    SumpPlace,
)
from tests.builders.case import Case
from tests.builders.random_site import shipped_catalog

INLET_OVER_RIM_M = 0.05


def inlets_m(site: Site) -> list[float]:
    """Levels at which water may enter beds."""
    catalog, types = shipped_catalog(), {t.id: t for t in site.bed_types}
    return [
        row.level_m
        + catalog.stands[types[name].stand].height_m
        + catalog.containers[types[name].container].depth_m
        + INLET_OVER_RIM_M
        for row in site.rows
        for name in row.bed_types
    ]


def siphon_outlets_m(site: Site) -> list[float]:
    """Levels at which siphons may end."""
    catalog, types = shipped_catalog(), {t.id: t for t in site.bed_types}
    return [
        row.level_m + catalog.stands[types[name].stand].height_m - types[name].drain_drop_m
        for row in site.rows
        for name in row.bed_types
    ]


def drawn_return_pipe(dice: Random, case: Case) -> Case:
    held = dice.choice(("worst", "worst", "quantile"))
    share = 1.0 if held == "worst" else round(dice.uniform(0.5, 1.0), 3)
    made = case.returns(
        designed=True,
        bursts=dice.choice(("all", "all", "binomial")),
        held=held,
        confidence=dice.choice((0.95, 0.99, 0.999)),
        fill_limit=dice.choice((0.75, 0.6, 0.9)),
        manning_n=dice.choice((0.011, 0.009, 0.015)),
    )
    return replace(made, held_share=share)


def drawn_return_series(dice: Random, case: Case) -> Case:
    own = shipped_catalog().pipes
    here = case.site.purchase.pipe_series
    system = "pvc_" if here.startswith("pvc_") else "pvcu_"
    other = dice.choice(sorted({p.series for p in own.values() if p.series.startswith(system)}))
    wide = [p.id for p in own.values() if p.series == other and p.bore_m > 0.03]
    pipes = dice.sample(wide, min(len(wide), dice.choice((2, 3, 4))))
    return case.returns(designed=True, pipe_series=other, pipes=tuple(pipes))


def drawn_fish_on_the_return(dice: Random, case: Case) -> Case:
    low = max(case.site.ground.sump_floor_level_m + 0.3, -0.1)
    level = round(dice.uniform(low, max(low + 0.05, min(siphon_outlets_m(case.site)) - 0.1)), 2)
    return case.having(fish_tank=_fish(dice, level), header_tank=None)


def _fish(dice: Random, level_m: float) -> FishTank:
    return FishTank(
        volume_m3=round(dice.uniform(0.3, 2.0), 2),
        water_level_m=level_m,
        turnovers_per_hour_least=dice.choice((0.5, 1.0)),
        feed_kg_per_day=round(dice.uniform(0.02, 0.2), 2),
        crop=dice.choice(("leafy", "fruiting")),
    )


def _tank_place(dice: Random, case: Case) -> tuple[tuple[float, float], float]:
    x, y = case.site.ground.sump
    at = (x - round(dice.uniform(0.2, 1.5), 1), y + round(dice.uniform(-0.5, 0.5), 1))
    return at, round(max(inlets_m(case.site)) + dice.choice((0.4, 0.8, 1.2, 2.0)), 2)


def _with_tank(dice: Random, case: Case, tank: HeaderTank) -> Case:
    drift = dice.choice((TANK_LEVEL_DRIFT, TANK_LEVEL_DRIFT, 0.03))
    open_ground = case.ground(corridors=(), keep_outs=()) if dice.random() < 0.7 else case
    return open_ground.having(header_tank=tank).goals(level_drift=drift)


def drawn_header_tank(dice: Random, case: Case) -> Case:
    at, level = _tank_place(dice, case)
    part, below = dice.choice((("sump_0200", 0.2), ("sump_0300", 0.1), ("sump_0500", 0.25)))
    return _with_tank(dice, case, HeaderTank(at, level, part, outlet_below_water_m=below))


def drawn_fish_feed_the_beds(dice: Random, case: Case) -> Case:
    at, level = _tank_place(dice, case)
    surface = round(dice.uniform(0.5, 2.0), 1)
    tank = HeaderTank(at, level, None, surface, dice.choice((0.05, 0.1)))
    return _with_tank(dice, case.having(fish_tank=_fish(dice, level)), tank)


def without_tank(case: Case) -> Case:
    fish = None if case.site.fish_feed_beds else case.site.fish_tank
    return case.having(header_tank=None, fish_tank=fish)


def drawn_header_fed(dice: Random, case: Case) -> Case:
    word = dice.choice(("centre", "north", "east", "south", "west", "end", "any", "any"))
    return case.ground(header_fed=word, corridors=())


def drawn_sump_places(dice: Random, case: Case) -> Case:
    ground = case.site.ground
    places = [SumpPlace("first", ground.sump, ground.sump_floor_level_m)]
    for name in ("second", "third")[: dice.choice((1, 1, 2))]:
        at = (round(dice.uniform(-3.0, 0.0), 1), round(dice.uniform(-1.5, 1.5), 1))
        places.append(SumpPlace(name, at, dice.choice((-1.1, -0.9, -0.7))))
    return case.ground(sump_places=tuple(places))


def drawn_aslant(dice: Random, case: Case) -> Case:
    """The last row turned a little: a row, towards an end point."""
    turn = math.radians(dice.uniform(5.0, 25.0))
    c, s = math.cos(turn), math.sin(turn)
    rows = list(case.site.rows)
    last = max((i for i, row in enumerate(rows) if not row.named), default=None)
    if last is not None:
        x, y = rows[last].direction
        rows[last] = replace(rows[last], direction=(c * x - s * y, s * x + c * y))
    return case.having(rows=tuple(rows))


def straight(case: Case) -> Case:
    def along(row: Row) -> Row:
        x, y = row.direction
        flat = (math.copysign(1.0, x), 0.0) if abs(x) >= abs(y) else (0.0, math.copysign(1.0, y))
        return replace(row, direction=flat)

    return case.having(rows=tuple(along(row) for row in case.site.rows))


def is_aslant(row: Row) -> bool:
    """Whether a row runs along neither axis."""
    return min(abs(part) for part in row.direction) > 1e-9


def drawn_own_spacing(dice: Random, case: Case) -> Case:
    rows = [
        row
        if row.named
        else replace(row, spacing_m=round(row.spacing_m * dice.uniform(1.0, 1.4), 2))
        for row in case.site.rows
    ]
    return case.having(rows=tuple(rows))


def drawn_bed_type_details(dice: Random, case: Case) -> Case:
    types = [replace(t, crest_below_rim_m=dice.choice((0.03, 0.07, 0.1)))
             for t in case.site.bed_types]  # fmt: skip
    return case.having(bed_types=tuple(types))


def plain_bed_types(case: Case) -> Case:
    return case.having(
        bed_types=tuple(replace(t, crest_below_rim_m=0.05) for t in case.site.bed_types)
    )


def drawn_coefficients(dice: Random, case: Case) -> Case:
    def band(value: float, spread: float) -> Band | None:
        if dice.random() < 0.4:
            return None
        wide = spread * dice.choice((0.0, 0.5, 1.0))
        return Band(value, round(value - wide, 3), round(value + wide, 3), "bucket test")

    return case.having(
        coefficients=Coefficients(
            start_froude=band(0.3, 0.05),
            stop_ratio=band(0.75, 0.06),
            turn_loss=band(1.6, 0.3),
            porosity=band(0.42, 0.02),
        )
    )


def drawn_prices(dice: Random, case: Case) -> Case:
    """A few parts that the site may use at prices of the grower's own."""
    catalog = shipped_catalog()
    near = [p.id for p in catalog.pipes.values() if p.series == case.site.purchase.pipe_series]
    names = dice.sample(sorted((*near, *catalog.pumps, *catalog.sumps, *catalog.kits)), 8)
    tables = (catalog.pumps, catalog.sumps, catalog.kits)
    prices = {}
    for name in names:
        usual = next((t[name].price for t in tables if name in t), None)
        usual = catalog.pipes[name].price_per_m if usual is None else usual
        prices[name] = round(usual * dice.choice((0.0, 0.4, 0.8, 1.7)), 2)
    return replace(case, prices=prices)


def drawn_money_words(dice: Random, case: Case) -> Case:
    made = case.goals(
        planning_years=dice.choice((1.0, 5.0, 12.5, 25.0)),
        pump_tolerance=dice.choice((0.0, 0.02, 0.1)),
    )
    return made.having(units="us", currency="USD")


def drawn_two_sizes(dice: Random, case: Case) -> Case:
    """Two sizes on a stretch, and nothing that may not stand beside it."""
    return case.purchase(two_sizes_on_a_stretch=True)


def _may_be_tied(case: Case) -> bool:
    return not case.site.purchase.two_sizes_on_a_stretch


def drawn_budget(dice: Random, case: Case) -> Case:
    if not _may_be_tied(case):
        return case
    beds = case.site.goals.beds_least
    return case.goals(budget=round(300.0 + beds * dice.uniform(120.0, 600.0), 2))


def drawn_few_sizes(dice: Random, case: Case) -> Case:
    if not _may_be_tied(case):
        return case
    return case.purchase(pipe_sizes_most=dice.choice((1, 2, 2, 3, 9)))


def drawn_stock(dice: Random, case: Case) -> Case:
    if not _may_be_tied(case):
        return case
    catalog, site = shipped_catalog(), case.site
    kinds = [(site.purchase.pipe_series, site.purchase.pipes)]
    if site.returns.designed:
        kinds.append((site.returns.pipe_series or site.purchase.pipe_series, site.returns.pipes))
    found = []
    for _ in range(dice.choice((1, 1, 2))):
        series, names = dice.choice(kinds)
        sizes = names or [p.id for p in catalog.pipes.values() if p.series == series]
        length = round(dice.choice((0.7, 3.0, 8.0, 60.0)) * dice.uniform(0.7, 1.3), 1)
        found.append(StockPipe(dice.choice(sorted(sizes)), length, series))
    return case.standing(stock=tuple(found))


def drawn_noise(dice: Random, case: Case) -> Case:
    """A limit on noise that bites some of the site's pumps."""
    hours = case.site.goals.pump_hours_per_day
    limit = NoiseLimit(dice.choice((33.0, 36.0, 40.0, 45.0)), dice.choice((0.0, 8.0, hours)))
    return case.having(noise=limit)
