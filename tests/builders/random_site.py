"""Random sites, with the catalog each is designed from: invented, seeded, sound and reachable.

Every feature of a site file turns up: rows and named positions, corridors, keep-outs, mixed levels,
one or two bed types, free and fixed counts, goals of beds and of area, things that stand already,
non-return valve, pumps in parallel, a spare, every pipe series, every robustness word.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from random import Random

from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput
from optimizer.reading.catalog import read_catalog
from optimizer.reading.review import review
from optimizer.records.parts import Catalog
from optimizer.records.site import (
    BedType,
    Corridor,
    Goals,
    Ground,
    KeepOut,
    Purchase,
    Returns,
    Row,
    Site,
    Standing,
    StandingPipe,
    WaterLoss,
)

SERIES = ("pvc_sch40", "pvc_sch80", "pvcu_pn10", "pvcu_pn16", "pe100_sdr17", "pe100_sdr11")
CONTAINERS = ("tub_075x040", "tub_100x060", "tray_125x080", "trough_200x060", "box_120x120")
STANDS = ("blocks_low", "blocks_tall", "timber_heavy", "steel_heavy")
MEDIA = ("expanded_clay", "crushed_stone_20_50", "lava_stone_8_16")
SIZES = (("1/2 in", "20 mm"), ("3/4 in", "25 mm"), ("1 in", "32 mm"), ("1-1/4 in", "40 mm"),
         ("1-1/2 in", "50 mm"), ("2 in", "63 mm"), ("2-1/2 in", "75 mm"))  # fmt: skip
KIT_SIZES = (("3/4 in", "25 mm"), ("1 in", "32 mm"), ("1-1/4 in", "40 mm"))
STYLES = ("plain", "rim_funnel", "breather_tube")
WATTS = ("025w", "040w", "065w", "100w", "150w", "250w", "400w", "750w")
ROW_GAP_M = 2.3
SOUND_TRIES = 50


@lru_cache(maxsize=1)
def shipped_catalog() -> Catalog:
    """The shipped catalog, read once."""
    return read_catalog()


def random_site(seed: int, beds_most: int = 14, *, tiny: bool = False) -> tuple[Site, Catalog]:
    """Return a sound random site and its catalog.

    Args:
        seed: equal seeds give equal sites.
        beds_most: most positions on the site.
        tiny: few enough choices to try them all: at most 4 positions, 3 pipe sizes, 2 pumps,
            2 kits for each bed type, 2 kinds of sump.
    """
    random = Random(f"{seed} {beds_most} {tiny}")
    catalog = shipped_catalog()
    for _ in range(SOUND_TRIES):
        site = _draw(random, seed, min(beds_most, 4) if tiny else beds_most, tiny)
        if not review(site, catalog) and _reached(site):
            return site, catalog
    raise AssertionError(f"no sound site came up for seed {seed}")


def _reached(site: Site) -> bool:
    try:
        candidate_network(site)
    except BadInput:
        return False
    return True


def _draw(random: Random, seed: int, beds_most: int, tiny: bool) -> Site:
    series = random.choice(SERIES)
    types = _bed_types(random, series, tiny)
    rows = _rows(random, types, beds_most, tiny)
    positions = sum(row.positions for row in rows)
    room = sum(row.beds_most for row in rows)
    floods = round(random.uniform(0.8, 2.6), 1)
    goals = Goals(
        floods_per_hour_least=floods,
        floods_per_hour_most=random.choice((None, None, floods + 2.0)),
        beds_least=random.randint(max(1, room - 2), room),
        growing_area_least_m2=random.choice((0.0, 0.0, 0.25 * random.randint(1, positions))),
        robustness=random.choice(("nominal", "nominal", "most", "whole")),
        discount_rate=random.choice((0.0, 0.04, 0.07)),
        energy_price_growth=random.choice((0.0, 0.01)),
        energy_price_per_kwh=round(random.uniform(0.1, 0.5), 2),
        pump_hours_per_day=random.choice((24.0, 16.0)),
        velocity_limit_m_s=random.choice((1.5, 1.5, 1.2, 2.5)),
        valve_setting_error=random.choice((0.07, 0.05, 0.03)),
        level_drift=random.choice((0.08, 0.08, 0.05, 0.12)),
        water_temperature_c=random.choice((20.0, 12.0, 27.0)),
    )
    purchase = _purchase(random, series, positions, tiny)
    return Site(
        name=f"random site {seed} (invented)",
        goals=goals,
        ground=_ground(random, rows),
        bed_types=types,
        rows=rows,
        purchase=purchase,
        standing=_standing(random, purchase, rows),
        returns=Returns(designed=not tiny and random.random() < 0.5),
        water_loss=WaterLoss(random.choice((0.0, 0.005)), random.choice((1.0, 3.0))),
    )


def _bed_types(random: Random, series: str, tiny: bool) -> tuple[BedType, ...]:
    system = "sch40" if series.startswith("pvc_") else "pvcu10"
    index = 0 if system == "sch40" else 1
    found = []
    for name in ("broad", "slim")[: random.choice((1, 1, 2))]:
        kits: list[str] = []
        wanted = random.choice((1, 2)) if tiny else random.choice((0, 2, 4))
        for _ in range(wanted):
            size = random.choice(KIT_SIZES)[index].removesuffix(" in").removesuffix(" mm")
            size = size.replace("-", "_").replace("/", "_")
            kits.append(f"kit_{system}_{size}_{random.choice(STYLES)}")
        found.append(
            BedType(
                id=name,
                container=random.choice(CONTAINERS),
                medium=random.choice(MEDIA),
                stand=random.choice(STANDS),
                kits=tuple(dict.fromkeys(kits)),
                drain_drop_m=random.choice((0.15, 0.1, 0.3)),
            )
        )
    return tuple(found)


def _rows(
    random: Random, types: tuple[BedType, ...], beds_most: int, tiny: bool
) -> tuple[Row, ...]:
    left = random.randint(2 if tiny else max(2, beds_most // 2), beds_most)
    east = random.random() < 0.7
    levels = random.choice(((0.0,), (0.0, 0.4), (0.0, 0.25, 0.8)))
    rows: list[Row] = []
    while left > 0:
        named = random.random() < 0.2
        positions = 1 if named else random.randint(1, min(left, 6))
        across = 1.0 + ROW_GAP_M * len(rows)
        along = round(random.uniform(1.0, 3.0), 1)
        backward = random.random() < 0.15
        spacing = round(random.uniform(1.25, 1.8), 2)
        if backward:
            along += (positions - 1) * spacing
        heading = -1.0 if backward else 1.0
        rows.append(
            _row(random, types, len(rows), named, positions, spacing, random.choice(levels),
                 (along, across) if east else (across, along),
                 (heading, 0.0) if east else (0.0, heading))
        )  # fmt: skip
        left -= positions
    return tuple(rows)


def _row(
    random: Random,
    types: tuple[BedType, ...],
    index: int,
    named: bool,
    positions: int,
    spacing_m: float,
    level_m: float,
    start: tuple[float, float],
    direction: tuple[float, float],
) -> Row:
    allowed = random.sample([t.id for t in types], random.randint(1, len(types)))
    most = positions if random.random() < 0.8 else random.randint(1, positions)
    least = random.choice((0, 0, most, random.randint(0, most)))
    standing = random.randint(1, most) if random.random() < 0.1 else 0
    return Row(
        id=("spot_" if named else "") + "ABCDEFGHIJKLMNOP"[index],
        start=start,
        direction=direction,
        positions=positions,
        spacing_m=spacing_m,
        level_m=level_m,
        bed_types=tuple(allowed),
        beds_least=least,
        beds_most=most,
        named=named,
        standing_beds=standing,
        standing_type=random.choice(allowed) if standing else None,
    )


def _ground(random: Random, rows: tuple[Row, ...]) -> Ground:
    far = max(max(row.start) for row in rows) + 1.5
    corridors: tuple[Corridor, ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    if random.random() < 0.3:
        corridors = (
            Corridor("aisle", ((0.2, 0.0), (0.2, far), (far, far))),
            Corridor("path", ((0.2, 0.0), (far, 0.0))),
        )[: random.choice((1, 2))]
    if random.random() < 0.3:
        x, y = round(random.uniform(0.3, far), 2), round(random.uniform(0.3, far), 2)
        keep_outs = (KeepOut("pillar", (x, y), (x + 0.3, y + 0.3)),)
    return Ground(
        sump=(round(random.uniform(-1.0, 0.0), 1), round(random.uniform(-1.0, 1.0), 1)),
        sump_floor_level_m=random.choice((-1.1, -0.9, -0.7)),
        corridors=corridors,
        keep_outs=keep_outs,
        pipe_height_m=random.choice((0.1, 0.3)),
    )


def _purchase(random: Random, series: str, positions: int, tiny: bool) -> Purchase:
    index = 0 if series.startswith("pvc_") else 1
    sizes = [size[index] for size in SIZES]
    catalog = shipped_catalog()
    ids = [p.id for p in catalog.pipes.values() if p.series == series and p.nominal in sizes]
    kinds = ("ball", "gate", "diaphragm")
    middle = min(len(WATTS) - 3, 1 + positions // 3)
    watts = WATTS[max(0, middle - 2) : middle + 3]
    pumps = [f"pump_{w}_{head}" for w in watts for head in ("mid", "high")]
    sumps = ("sump_0500", "sump_1000", "sump_1500", "sump_2500", "sump_4000")
    if tiny:
        ids = random.sample(ids, min(len(ids), random.choice((2, 3))))
        pumps = random.sample(pumps, 2)
        valves = (random.choice(kinds),) if random.random() < 0.8 else ("ball", "diaphragm")
    else:
        ids = random.choice(([], ids, random.sample(ids, 4)))
        pumps = random.choice(([], random.sample(pumps, 5)))
        valves = random.choice(((), ("ball",), ("gate", "diaphragm")))
    return Purchase(
        pipe_series=series,
        pipes=tuple(ids),
        valve_kinds=valves,
        pumps=tuple(pumps),
        pumps_in_parallel_most=random.choice((1, 2)) if tiny else random.choice((1, 2, 3)),
        spare_pump=random.random() < 0.2,
        sumps=tuple(random.sample(sumps, 2)) if tiny or random.random() < 0.3 else (),
        sumps_most=random.choice((1, 2)) if tiny else 4,
        non_return_valve=random.random() < 0.2,
    )


def _standing(random: Random, purchase: Purchase, rows: tuple[Row, ...]) -> Standing:
    standing = Standing()
    if random.random() < 0.15 and purchase.pumps:
        standing = replace(standing, pump=random.choice(purchase.pumps), pump_count=1)
    if random.random() < 0.15 and purchase.sumps:
        standing = replace(standing, sump=random.choice(purchase.sumps), sump_count=1)
    if random.random() < 0.15 and purchase.pipes:
        runs = random.sample(["riser", "header", *(row.id for row in rows)], 2)
        pipes = tuple(StandingPipe(run, random.choice(purchase.pipes)) for run in runs)
        standing = replace(standing, pipes=pipes)
    return standing
