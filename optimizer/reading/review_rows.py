"""Counts of beds, and the bed types that rows name."""

from __future__ import annotations

from optimizer.errors import Problem
from optimizer.physics.fish import FEED_KG_PER_M2_DAY, feed_supported_kg_per_day
from optimizer.reading.review_paths import report_units, rows_with_paths, unknown
from optimizer.reading.site_text import KeyLines
from optimizer.records.parts import Catalog
from optimizer.records.site import Row, Site
from optimizer.units_format import format_quantity

PLACES_MOST = 5000
"""Places for beds on a site: with more, even to say why there is no design takes long."""


def check_row_bed_types(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Rows name bed types of the site."""
    known = {bed_type.id for bed_type in site.bed_types}
    problems: list[Problem] = []
    for row, path in rows_with_paths(site):
        for i, name in enumerate(row.bed_types):
            problems += unknown(name, known, "bed type of this file", lines, *path, "bed_types", i)
    return problems


def check_places(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """A site has no more places for beds than can be searched."""
    places = sum(row.positions for row in site.rows)
    if places <= PLACES_MOST:
        return []
    what = f"{places} places for beds in all; at most {PLACES_MOST} can be designed at once."
    return [Problem(lines.where("row"), what, "Leave out rows, or design the site in parts.")]


def check_beds_least(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """No row must hold more beds than it may."""
    return [
        Problem(
            lines.where(*path, "beds_least"),
            f"at least {row.beds_least} beds, but at most {row.beds_most}.",
            "Lower beds_least or raise beds_most.",
        )
        for row, path in rows_with_paths(site)
        if row.beds_least > row.beds_most
    ]


def check_beds_most(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """No row may hold more beds than it has positions."""
    return [
        Problem(
            lines.where(*path, "beds_most"),
            f"at most {row.beds_most} beds, but the row has {row.positions} positions.",
            "Lower beds_most or add positions.",
        )
        for row, path in rows_with_paths(site)
        if row.beds_most > row.positions
    ]


def check_standing_beds(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Beds that are there already fit their row and are of a type the row may hold."""
    problems: list[Problem] = []
    for row, path in rows_with_paths(site):
        if row.standing_beds > row.beds_most:
            what = f"{row.standing_beds} beds stand, but at most {row.beds_most} may."
            at = lines.where(*path, "standing_beds")
            problems.append(Problem(at, what, "Lower standing_beds or raise beds_most."))
        problems += _standing_type(row, lines, *path)
    return problems


def _standing_type(row: Row, lines: KeyLines, *path: str | int) -> list[Problem]:
    if row.standing_type is not None:
        what = "bed type of this row"
        return unknown(row.standing_type, row.bed_types, what, lines, *path, "standing_type")
    if row.standing_beds == 0:
        return []
    what = f"{row.standing_beds} beds stand, of a type not said."
    return [Problem(lines.where(*path, "standing_beds"), what, "Add standing_type.")]


def check_goal_beds(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """The rows have room for the beds wanted."""
    room = sum(min(row.beds_most, row.positions) for row in site.rows)
    wanted = site.goals.beds_least
    least = sum(row.beds_least for row in site.rows)
    if wanted <= room or wanted <= least:  # the second: some row's own check says it
        return []
    what = f"at least {wanted} beds, but the rows have room for {room}."
    return [Problem(lines.where("goal", "beds"), what, "Ask for fewer beds or add positions.")]


def check_goal_area(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """The rows have room for the growing area wanted."""
    room = _room_m2(site, catalog)
    wanted = site.goals.growing_area_least_m2
    if wanted <= room:
        return []
    what = f"at least {wanted:.4g} m2, but the rows have room for {room:.4g} m2 at most."
    fix = "Ask for less area, add positions or allow larger beds."
    return [Problem(lines.where("goal", "growing_area"), what, fix)]


def check_fish_feed(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """The rows have room for the growing area that takes up the fish's feed."""
    tank = site.fish_tank
    if tank is None or tank.crop not in FEED_KG_PER_M2_DAY:
        return []
    _, most_kg_per_day = feed_supported_kg_per_day(1.0, tank.crop)
    needed, room = tank.feed_kg_per_day / most_kg_per_day, _room_m2(site, catalog)
    if needed <= room:
        return []
    units = report_units(site)
    what = (
        f"{format_quantity(tank.feed_kg_per_day, 'mass', units)} of feed a day needs at least "
        f"{format_quantity(needed, 'area', units)} of {tank.crop} crop, but the rows have room for "
        f"{format_quantity(room, 'area', units)} at most."
    )
    fix = "Feed less, add positions or allow larger beds."
    return [Problem(lines.where("fish_tank", "feed_per_day"), what, fix)]


def _room_m2(site: Site, catalog: Catalog) -> float:
    """Return the greatest growing area; without limit while a part is unknown."""
    return sum(row.beds_most * _largest_area_m2(row, site, catalog) for row in site.rows)


def _largest_area_m2(row: Row, site: Site, catalog: Catalog) -> float:
    """Return the area of the largest bed a row may hold; without limit while a part is unknown."""
    types = {bed_type.id: bed_type.container for bed_type in site.bed_types}
    containers = [catalog.containers.get(types.get(name, "")) for name in row.bed_types]
    return max((c.length_m * c.width_m if c else float("inf") for c in containers), default=0.0)


ROW_CHECKS = (
    check_places,
    check_row_bed_types,
    check_beds_least,
    check_beds_most,
    check_standing_beds,
    check_goal_beds,
    check_goal_area,
    check_fish_feed,
)
