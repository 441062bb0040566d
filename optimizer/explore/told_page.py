"""A study's designs handed to the page on which one chooses among them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from optimizer.errors import FloodwrightError
from optimizer.explore.changes import CHANGES, change_of
from optimizer.explore.fronts import Front
from optimizer.explore.point import DESIGNED, figures_of
from optimizer.explore.pump_study import duty_of
from optimizer.explore.results import design_name
from optimizer.explore.sweep import Row, Study
from optimizer.explore.variants import Variants
from optimizer.records.check import CheckReport
from optimizer.records.design import Design
from optimizer.report.explorer.records import COUNT, MONEY, Explorer, Measure, Name, Point
from optimizer.report.scales import rounded
from optimizer.simulate.check import check_design

NameOf = Callable[[Row], Name]

BEDS_MOST = 15_000
"""Beds that a page draws, over all its designs together."""

POINTS_MOST = 300
"""Points that a page lists."""

PLACE = Measure("place", "number in the list", COUNT)
COST = Measure("cost", "cost, present worth", MONEY)
GOAL = Measure("floods", "least floods asked for", "frequency")
BUT_ENERGY = Measure("cost_without_energy", "all cost but energy, present worth", MONEY)
MEASURES = {
    "floods_per_hour": Measure(
        "floods_per_hour", "floods of the bed that floods least", "frequency"
    ),
    "growing_area_m2": Measure("growing_area_m2", "growing area", "area"),
    "sump_volume_m3": Measure("sump_volume_m3", "sump volume", "volume"),
    "energy_kwh_per_year": Measure("energy_kwh_per_year", "energy a year", "energy"),
    "flow_m3_s": Measure("flow_m3_s", "inflow of all beds", "flow"),
    "window_margin": Measure("window_margin", "least room of an inflow in its window", "share"),
    "valve_head_least_m": Measure("valve_head_least_m", "least head a valve takes up", "length"),
    "capital": Measure("capital", "cost to buy", MONEY),
}
"""Figures that every design has, and along which designs can be laid out."""

QUANTITIES = {"m2": "area", "C": "temperature", "per hour": "frequency"}
"""Units of changes that a reader may have otherwise."""

CHECKS = {
    "passes": "It passes its check by simulation, a day included.",
    "fails": "It FAILS its check by simulation.",
}
FRONT_TITLES = {
    "floods_per_hour": "cost against floods",
    "growing_area_m2": "cost against growing area",
    "sump_volume_m3": "cost against sump volume",
    "energy_kwh_per_year": "all other cost against energy",
}


def front_page(study: Study, front: Front, answer: Sequence[str]) -> Explorer | None:
    """Return a front to choose from; None where no point has a design."""
    energy = front.over == "energy_kwh_per_year"
    first = GOAL if front.over == "floods_per_hour" else MEASURES[front.over]
    head = _head(study, FRONT_TITLES[front.over], answer, first)
    head = replace(head, up=BUT_ENERGY, joined=True) if energy else head
    return study_page(study, front.rows, _front_name(front.over), head)


def _front_name(over: str) -> NameOf:
    def name(row: Row) -> Name:
        if over == "floods_per_hour":
            return ((row["floods"], "frequency"), " asked for")
        if over == "sump_volume_m3":
            return (str(row.get("chosen_sump") or row["sump"]),)
        if row["outcome"] != DESIGNED:
            return changes_name(row)
        return ((row[over], MEASURES[over].quantity), *((" a year",) if "energy" in over else ()))

    return name


def pumps_page(study: Study, rows: Sequence[Row], answer: Sequence[str]) -> Explorer | None:
    """Return every pump as the only one, to choose from; None where none can do."""

    def name(row: Row) -> Name:
        number = f"{row['count']} x " if row["outcome"] == DESIGNED else ""
        return (f"{number}{row['label']}{'' if row['allowed'] else ', not on your list'}",)

    return study_page(study, rows, name, _head(study, "every pump as the only one", answer))


def changes_page(
    study: Study, rows: Sequence[Row], title: str, answer: Sequence[str], *, named: bool = True
) -> Explorer | None:
    """Return changed sites to choose from, after the site as it is, which they are compared with.

    Args:
        study: where the designs are kept.
        rows: rows of a sensitivity.
        title: what was changed.
        answer: the answer in words.
        named: whether a row is called by its changes, and not only by its number.
    """
    base = {**study.base, "as_it_is": True}
    numbers = {id(row): number for number, row in enumerate(rows, 1)}

    def name(row: Row) -> Name:
        if "as_it_is" in row:
            return ("your site as it is",)
        return changes_name(row) if named else (f"draw {numbers[id(row)]}",)

    head = replace(_head(study, title, answer), against=0)
    return study_page(study, [base, *rows], name, head)


def changes_name(row: Row) -> Name:
    """Return a row's changes in words, as ``price of energy 0.2 per kWh``."""
    parts: list[Any] = []
    for key in (key for key in CHANGES if key in row):
        change, value = change_of(key), row[key]
        parts.append(f"{'; ' if parts else ''}{change.words} ")
        if isinstance(value, str):
            parts.append(value)
        elif change.unit in QUANTITIES:
            parts.append((float(value), QUANTITIES[change.unit]))
        else:
            parts.append(f"{rounded(value)} {change.unit}".strip())
    return tuple(parts)


def prices_page(
    study: Study, rows: Sequence[Row], title: str, unit: str, answer: Sequence[str]
) -> Explorer | None:
    """Return the designs that are cheapest somewhere to choose from; None where there is none.

    Args:
        study: where the designs are kept.
        rows: one row a piece, with ``from_price``, ``to_price``.
        title: the price, in words.
        unit: its unit.
        answer: the answer in words.
    """

    def name(row: Row) -> Name:
        low, high = rounded(row["from_price"], 4), rounded(row["to_price"], 4)
        return (f"cheapest from {low} to {high} {unit}",)

    return study_page(study, rows, name, _head(study, f"least cost against {title}", answer))


def variants_page(
    variants: Variants, checks: Mapping[str, CheckReport], answer: Sequence[str]
) -> Explorer:
    """Return stored designs to choose from, the first the one compared with.

    Args:
        variants: two designs or more, by name.
        checks: what simulation says of each.
        answer: the answer in words.
    """
    points = [
        _designed_point(str(number), (name,), design, checks[name], _steady(checks[name]))
        for number, (name, design) in enumerate(variants.items(), 1)
    ]
    first = next(iter(variants.values()))
    return Explorer(
        title="designs side by side",
        site=first.site,
        currency=first.currency,
        units=first.units,
        answer=tuple(answer),
        points=tuple(points),
        across=(PLACE, *MEASURES.values()),
        up=COST,
        chosen=1,
        against=0,
    )


def _head(study: Study, title: str, answer: Sequence[str], first: Measure = PLACE) -> Explorer:
    """Return a study's page before its points."""
    site = study.job.site
    more = [each for each in (*MEASURES.values(), PLACE) if each != first]
    across = (first, *more)
    return Explorer(title, site.name, site.currency, site.units, tuple(answer), (), across, COST)


def study_page(
    study: Study, rows: Sequence[Row], name_of: NameOf, head: Explorer
) -> Explorer | None:
    """Return the rows of a study to choose from; None where none has a design.

    Args:
        study: where the designs are kept.
        rows: its rows, refused ones too.
        name_of: what a row is called.
        head: the page before its points.
    """
    kept = kept_rows(rows)
    points = [_point(study, row, name_of(row)) for row in kept]
    if len(kept) < len(rows):
        points = [replace(point, between=None) for point in points]
    designed = [place for place, point in enumerate(points) if point.design is not None]
    if not designed:
        return None
    others = [place for place in designed if place != head.against]
    against = head.against if head.against in designed else None
    return replace(
        head,
        points=tuple(_distinct(points)),
        chosen=(others or designed)[0],
        against=against,
        left_out=len(rows) - len(kept),
    )


def kept_rows(rows: Sequence[Row]) -> list[Row]:
    """Return every row, or one of every so many where they are too many for one page."""
    beds = sum(row.get("bed_count", 0) for row in rows)
    step = max(1, -(-beds // BEDS_MOST), -(-len(rows) // POINTS_MOST))
    return list(rows[::step])


def _distinct(points: Sequence[Point]) -> list[Point]:
    """Give a point whose id came before one of its own."""
    seen: set[str] = set()
    found = []
    for number, point in enumerate(points, 1):
        own = point.id if point.id not in seen else f"{point.id}_{number}"
        seen.add(own)
        found.append(replace(point, id=own))
    return found


def _point(study: Study, row: Row, name: Name) -> Point:
    own = design_name(str(row["key"]))
    if row["outcome"] != DESIGNED:
        return Point(own, name, {}, None, None, str(row["reason"]))
    design = study.design(row)
    try:
        check = check_design(design)
    except FloodwrightError as fault:
        return Point(own, name, {}, None, None, f"its flows could not be simulated: {fault}")
    says = CHECKS.get(row["check"], f"{_steady(check)} No day of it was simulated.")
    says += _kept_words(row, design.currency)
    point = _designed_point(own, name, design, check, says)
    figures = {key: float(row[key]) for key in (GOAL.key, BUT_ENERGY.key) if key in row}
    least, most = row.get("least_until_next"), row.get("most_until_next")
    between = None if least is None or most is None else (float(least), float(most))
    best = row.get("on_front")
    return replace(point, figures={**point.figures, **figures}, best=best, between=between)


def _kept_words(row: Row, currency: str) -> str:
    """Return what keeping the base design instead would mean; nothing where that was not asked."""
    if row.get("broken"):
        return f" Kept instead, the design you have may break: {row['broken']}."
    if row.get("regret") is None:
        return ""
    more = f"{row['regret']:,.2f} {currency} more than this one"
    return (
        f" Kept instead, the design you have would cost {row['kept_cost']:,.2f} {currency}, {more}."
    )


def _designed_point(own: str, name: Name, design: Design, check: CheckReport, says: str) -> Point:
    found = figures_of(design) | duty_of(design)
    figures = {key: float(found[key]) for key in (COST.key, *MEASURES)}
    return Point(own, name, figures, design, check, says)


def _steady(check: CheckReport) -> str:
    number, failed = len(check.findings), len(check.failures)
    if failed:
        return f"At three levels of the sump {failed} of {number} promises FAIL in simulation."
    return f"At three levels of the sump all {number} promises hold in simulation."
