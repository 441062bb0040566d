"""Whether return pipe, water lost and fish tank make sense.

A site file cannot break the rules on words and bounds, which its reader keeps already; a site made
in code can.
"""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.errors import Problem
from optimizer.reading import site_models_water as keys
from optimizer.reading.nearest import choose_from
from optimizer.reading.pipe_names import pipe_ids, return_series, size_name
from optimizer.reading.review_paths import length_text, unknown, unknown_size
from optimizer.reading.site_text import KeyLines
from optimizer.records.parts import Catalog
from optimizer.records.site import Site
from optimizer.units_format import format_number


def check_return_words(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """How bursts and held water are counted is said in words that are known."""
    return _word(site.returns.bursts, keys.BURSTS, lines, "returns", "bursts") + _word(
        site.returns.held, keys.HELD, lines, "returns", "held"
    )


def check_return_bounds(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Confidence, fill limit and Manning's n lie in bounds that make sense."""
    returns = site.returns
    return [
        *_within(returns.confidence, keys.CONFIDENCE, lines, "returns", "confidence"),
        *_within(returns.fill_limit, keys.FILL_LIMIT, lines, "returns", "fill_limit"),
        *_within(returns.manning_n, keys.MANNING_N, lines, "returns", "manning_n"),
    ]


def check_return_series(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """The return pipe's own series, where it has one, is known."""
    if site.returns.pipe_series is None:
        return []
    series = {pipe.series for pipe in catalog.pipes.values()}
    at = ("returns", "pipe_series")
    return unknown(site.returns.pipe_series, series, "pipe series", lines, *at)


def check_return_sizes(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Return pipe sizes are sizes or ids of the return pipe's series."""
    series = return_series(site)
    sizes = pipe_ids(series, catalog)
    if not sizes:
        return []
    what = f"return pipe size of series {series}"
    return [
        problem
        for i, size in enumerate(site.returns.pipes)
        if size not in sizes.values()
        for problem in unknown_size(size_name(size), sizes, what, lines, "returns", "pipes", i)
    ]


def check_water_loss(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Water lost and the time to make it up lie in bounds that make sense."""
    loss, days = site.water_loss, (0.0, keys.TOP_UP_DAYS_MOST)
    bounds = keys.EVAPORATION_M_PER_DAY
    at = "water_loss"
    return _within(loss.evaporation_m_per_day, bounds, lines, at, "evaporation_per_day") + _within(
        loss.top_up_days, days, lines, at, "top_up_every"
    )


def check_fish_tank_crop(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """The crop that takes up the fish's feed is one of the kinds known."""
    tank = site.fish_tank
    return [] if tank is None else _word(tank.crop, keys.CROPS, lines, "fish_tank", "crop")


def check_fish_tank_bounds(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Volume, turnovers and feed of the fish tank lie in bounds that make sense."""
    tank = site.fish_tank
    if tank is None:
        return []
    at = "fish_tank"
    turnovers, feed = (0.0, keys.TURNOVERS_MOST), (0.0, keys.FEED_KG_PER_DAY_MOST)
    return [
        *_within(tank.volume_m3, keys.TANK_M3, lines, at, "volume"),
        *_within(tank.turnovers_per_hour_least, turnovers, lines, at, "turnovers"),
        *_within(tank.feed_kg_per_day, feed, lines, at, "feed_per_day"),
    ]


def check_fish_tank_level(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """The fish tank's water lies above the sump's floor."""
    tank, floor_m = site.fish_tank, site.ground.sump_floor_level_m
    if tank is None or tank.water_level_m > floor_m:
        return []
    what = (
        f"its water at level {length_text(tank.water_level_m, site)} is not above the sump floor "
        f"at {length_text(floor_m, site)}."
    )
    fix = "Raise the fish tank or lower the sump."
    return [Problem(lines.where("fish_tank", "water_level"), what, fix)]


def check_fish_tank_on_the_return(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Where it does not feed the beds, all bed water runs down through the fish tank."""
    outlets = list(_outlets(site, catalog))
    if site.fish_tank is None or site.fish_feed_beds or not outlets:
        return []
    outlet_m, row, bed_type = min(outlets)
    if site.fish_tank.water_level_m < outlet_m:
        return []
    what = (
        f"its water at level {length_text(site.fish_tank.water_level_m, site)} is not below the "
        f"siphon outlet of beds of type {bed_type!r} in {row!r} at {length_text(outlet_m, site)}, "
        "so their water cannot run through it."
    )
    fix = "Lower the fish tank, raise the beds, or let it feed them: [header_tank] without part."
    return [Problem(lines.where("fish_tank", "water_level"), what, fix)]


def _outlets(site: Site, catalog: Catalog) -> Iterator[tuple[float, str, str]]:
    """Yield the level of each siphon's outlet with its row and bed type, where parts are known."""
    types = {bed_type.id: bed_type for bed_type in site.bed_types}
    for row in site.rows:
        for bed_type in (types[name] for name in row.bed_types if name in types):
            stand = catalog.stands.get(bed_type.stand)
            if stand is not None:
                level_m = row.level_m + stand.height_m - bed_type.drain_drop_m
                yield level_m, row.id, bed_type.id


def _word(read: str, valid: tuple[str, ...], lines: KeyLines, *path: str) -> list[Problem]:
    if read in valid:
        return []
    what = f"read {read!r}, expected {' or '.join(valid)}."
    return [Problem(lines.where(*path), what, choose_from(read, valid))]


def _within(read: float, bounds: tuple[float, float], lines: KeyLines, *path: str) -> list[Problem]:
    low, high = bounds
    if low <= read <= high:
        return []
    expected = f"{format_number(low, 4)} to {format_number(high, 4)}"
    what = f"read {read:g}, expected a number from {expected}."
    return [Problem(lines.where(*path), what, "Change the number.")]


WATER_CHECKS = (
    check_return_words,
    check_return_bounds,
    check_return_series,
    check_return_sizes,
    check_water_loss,
    check_fish_tank_crop,
    check_fish_tank_bounds,
    check_fish_tank_level,
    check_fish_tank_on_the_return,
)
