"""Rules that hold between cells, rows and tables of a catalog; each yields Problems."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise

from optimizer.errors import Problem
from optimizer.reading.catalog_tables import Entry, Tables
from optimizer.reading.nearest import shown

OUTSIDE_TOLERANCE = 0.02
"""Share by which bore and two walls may add up to more than the outside diameter (assumption:
the spread of outside diameters and of rounding in printed tables is well below this)."""

PRICE_UNITS: Mapping[str, str] = {"pipes": "metre", "media": "m3"}
"""What a part is priced by; ``each`` where not listed, and a service's own ``per``."""

SIZED_TABLES = ("fittings", "valves", "kits")
BANDS: Mapping[str, tuple[str, ...]] = {
    "losses": ("loss_coefficient",),
    "media": ("porosity",),
    "kits": ("start_froude", "stop_ratio", "turn_loss_coefficient"),
}


def rule_problems(tables: Tables) -> list[Problem]:
    """Return every breach of every rule; a rule passes over rows whose cells are faulty."""
    return [problem for rule in RULES for problem in rule(tables)]


def bands_are_in_order(tables: Tables) -> Iterator[Problem]:
    """Each coefficient lies between its least and greatest plausible value."""
    for table, names in BANDS.items():
        for entry in tables.of(table):
            for name in names:
                low, high = f"{name}_low", f"{name}_high"
                if not entry.has(name, low, high):
                    continue
                if not entry.number(low) <= entry.number(name) <= entry.number(high):
                    fix = f"Write {low}, {name}, {high} in rising order."
                    yield Problem(entry.where(name), "lies outside its own band.", fix)


def walls_fit_the_outside(tables: Tables) -> Iterator[Problem]:
    """A pipe's bore and two walls add up to no more than its outside diameter."""
    for entry in tables.of("pipes"):
        if not entry.has("outside_mm", "wall_mm", "bore_mm"):
            continue
        inside = entry.number("bore_mm") + 2 * entry.number("wall_mm")
        if inside > entry.number("outside_mm") * (1 + OUTSIDE_TOLERANCE):
            what = f"and two walls make {inside:g} mm, more than outside_mm."
            yield Problem(entry.where("bore_mm"), what, "Check the three diameters.")


def pipe_sizes_are_named_once(tables: Tables) -> Iterator[Problem]:
    """No two pipes of one series have the same nominal size."""
    seen: dict[tuple[str, str], Entry] = {}
    for entry in tables.of("pipes"):
        if not entry.has("series", "nominal"):
            continue
        first = seen.setdefault((entry.text("series"), entry.text("nominal")), entry)
        if first is not entry:
            what = f"repeats a size that {first.where()} has in the same series."
            fix = "Give it another series, or that row's id to replace it."
            yield Problem(entry.where("nominal"), what, fix)


def sumps_are_deeper_than_their_freeboard(tables: Tables) -> Iterator[Problem]:
    """A sump holds water below its freeboard."""
    for entry in tables.of("sumps"):
        both = entry.has("depth_m", "freeboard_m")
        if both and entry.number("freeboard_m") >= entry.number("depth_m"):
            yield Problem(entry.where("freeboard_m"), "is not below depth_m.", "Lower it.")


def sizes_exist(tables: Tables) -> Iterator[Problem]:
    """Each fitting, valve and kit is of a size that some pipe has; each size is named once."""
    sizes = {_size(entry) for entry in tables.of("pipes")}
    if "pipes" in tables.incomplete or None in sizes:
        return
    for table in SIZED_TABLES:
        missing = {_size(entry): entry for entry in reversed(tables.of(table))}
        for size, entry in missing.items():
            if size is not None and size not in sizes:
                what = f"no pipe of series {shown(size[0])} has nominal {shown(size[1])}."
                yield Problem(entry.where("nominal"), what, "Use a size of pipes.csv or add it.")


def _size(entry: Entry) -> tuple[str, str] | None:
    if not entry.has("series", "nominal"):
        return None
    return entry.text("series"), entry.text("nominal")


def pump_curves_fall(tables: Tables) -> Iterator[Problem]:
    """Each pump has a curve of two points or more, from no flow on, its head falling."""
    curves = _grouped(tables, "pump_points", "pump")
    for pump in tables.of("pumps"):
        points = curves.pop(pump.values.get("id"), [])
        if len(points) < 2 and pump.has("id") and "pump_points" not in tables.incomplete:
            fix = "Give it two rows or more in pump_points.csv."
            yield Problem(pump.where("id"), "has no curve.", fix)
        yield from _curve_problems(points)
    if "pumps" not in tables.incomplete:
        for points in curves.values():
            what = f"no pump is named {shown(points[0].text('pump'))}."
            yield Problem(points[0].where("pump"), what, "Use an id of pumps.csv or add it.")


def _curve_problems(points: list[Entry]) -> Iterator[Problem]:
    points = _along(points, "flow_l_min", "head_m")
    if points and points[0].number("flow_l_min") != 0:
        fix = "Add the point at flow 0 (the shut-off head)."
        yield Problem(points[0].where("flow_l_min"), "is not 0 at the curve's first point.", fix)
    for before, after in pairwise(points):
        if not after.number("head_m") < before.number("head_m"):
            what = f"does not fall: {before.number('head_m'):g} m at the flow before."
            yield Problem(after.where("head_m"), what, "Give a head that falls as flow rises.")


def valve_losses_fall(tables: Tables) -> Iterator[Problem]:
    """Each valve kind has two openings or more up to 1, its K falling as it opens."""
    curves = _grouped(tables, "valve_openings", "kind")
    for points in curves.values():
        yield from _opening_problems(points)
    lacking = {e.values.get("kind"): e for e in reversed(tables.of("valves")) if e.has("kind")}
    for kind, valve in lacking.items():
        if kind not in curves and "valve_openings" not in tables.incomplete:
            fix = "Give its kind rows in valve_openings.csv."
            yield Problem(valve.where("kind"), "has no openings.", fix)


def _opening_problems(points: list[Entry]) -> Iterator[Problem]:
    points = _along(points, "opening_share", "loss_coefficient")
    if points and (len(points) < 2 or points[-1].number("opening_share") != 1):
        fix = "Give two openings or more, the last 1 (fully open)."
        yield Problem(points[-1].where("opening_share"), "ends short of fully open.", fix)
    for before, after in pairwise(points):
        if not after.number("loss_coefficient") < before.number("loss_coefficient"):
            what = f"does not fall: {before.number('loss_coefficient'):g} at the opening before."
            fix = "Give a K that falls as the valve opens."
            yield Problem(after.where("loss_coefficient"), what, fix)


def _grouped(tables: Tables, table: str, owner: str) -> dict[str | float | None, list[Entry]]:
    curves: dict[str | float | None, list[Entry]] = {}
    for entry in tables.of(table):
        if entry.has(owner):
            curves.setdefault(entry.values[owner], []).append(entry)
    return curves


def _along(points: list[Entry], along: str, value: str) -> list[Entry]:
    """Return the readable points in rising order."""
    return sorted((p for p in points if p.has(along, value)), key=lambda p: p.number(along))


def prices_belong_to_parts(tables: Tables) -> Iterator[Problem]:
    """Each price is of a part that exists, in the unit that part is sold by."""
    units = _units_by_part(tables)
    for price in tables.of("prices"):
        if not price.has("table", "part"):
            continue
        table, part = price.text("table"), price.text("part")
        unit = units.get((table, part))
        if unit is None and table not in tables.incomplete:
            what = f"{table}.csv has no part {shown(part)}."
            yield Problem(price.where("part"), what, "Use an id of that table or add the part.")
        elif unit and price.has("unit") and price.text("unit") != unit:
            what = f"is {price.text('unit')}; this part is priced by the {unit}."
            yield Problem(price.where("unit"), what, f"Write {unit} and the price for it.")


def parts_have_prices(tables: Tables) -> Iterator[Problem]:
    """Each part has a price."""
    if "prices" in tables.incomplete:
        return
    priced = {(p.values.get("table"), p.values.get("part")) for p in tables.of("prices")}
    for (table, part), entry in _parts(tables):
        if (table, part) not in priced:
            fix = f"Add a row {table},{part} to prices.csv."
            yield Problem(entry.where("id"), f"has no price: {shown(part)}.", fix)


def _parts(tables: Tables) -> Iterator[tuple[tuple[str, str], Entry]]:
    for table, entries in tables.rows.items():
        if table not in {"losses", "prices", "valve_openings", "pump_points"}:
            for entry in entries:
                if entry.has("id"):
                    yield (table, entry.text("id")), entry


def _units_by_part(tables: Tables) -> dict[tuple[str, str], str]:
    """Return the unit each part is priced by (empty where a service's ``per`` is faulty)."""
    units = {}
    for (table, part), entry in _parts(tables):
        per = str(entry.values.get("per", "")) if table == "services" else None
        units[table, part] = PRICE_UNITS.get(table, "each") if per is None else per
    return units


RULES: tuple[Callable[[Tables], Iterator[Problem]], ...] = (
    bands_are_in_order,
    walls_fit_the_outside,
    pipe_sizes_are_named_once,
    sumps_are_deeper_than_their_freeboard,
    sizes_exist,
    pump_curves_fall,
    valve_losses_fall,
    prices_belong_to_parts,
    parts_have_prices,
)
