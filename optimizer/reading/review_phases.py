"""Phases: they follow one another, name every row once, and ask for beds that have a place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from optimizer.errors import Problem
from optimizer.reading.nearest import choose_from
from optimizer.reading.site_text import KeyLines
from optimizer.records.parts import Catalog
from optimizer.records.site import Site

_CLEARLY_LATER = 1e-9


def check_phase_years(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """The first phase is now, each later than the one before, the last before the planning ends."""
    if not site.phases:
        return []
    problems = []
    first, last = site.phases[0], site.phases[-1]
    if first.year != 0.0:
        what = f"the first phase is in year {first.year:g}; years count from it."
        problems.append(Problem(lines.where("phase", 0, "year"), what, "Write year = 0."))
    for number, (before, after) in enumerate(pairwise(site.phases), start=1):
        if after.year <= before.year + _CLEARLY_LATER:
            what = f"year {after.year:g} is not after that of the phase before, {before.year:g}."
            fix = "Put the phases in the order in which they are built."
            problems.append(Problem(lines.where("phase", number, "year"), what, fix))
    if last.year >= site.goals.planning_years:
        what = f"year {last.year:g}, but planning_years is {site.goals.planning_years:g}."
        fix = "Raise planning_years in [goal], or build the last phase earlier."
        place = lines.where("phase", len(site.phases) - 1, "year")
        problems.append(Problem(place, what, fix))
    return problems


def check_phase_names(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """No two phases go by one name."""
    seen: set[str] = set()
    problems = []
    for number, phase in enumerate(site.phases):
        if phase.name in seen:
            place = lines.where("phase", number, "name")
            problems.append(Problem(place, f"read {phase.name!r} again.", "Give another name."))
        seen.add(phase.name)
    return problems


def check_phase_rows(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Either no phase names rows, or the phases together name every row and position once."""
    if all(phase.rows is None for phase in site.phases):
        return []
    known = {row.id for row in site.rows}
    named = Counter(name for phase in site.phases for name in phase.rows or ())
    problems = list(_row_names(site, lines, known))
    if site.phases[0].rows is None:
        what = "later phases name rows, and the first does not."
        fix = 'Add rows = ["A"]: what is built first.'
        problems.append(Problem(lines.where("phase", 0), what, fix))
    missing = sorted(known - set(named))
    if missing:
        what = f"no phase builds {', '.join(missing)}."
        fix = "Name them in the rows of a phase."
        problems.append(Problem(lines.where("phase", len(site.phases) - 1, "rows"), what, fix))
    return problems


def _row_names(site: Site, lines: KeyLines, known: set[str]) -> Iterator[Problem]:
    opened: dict[str, str] = {}
    for number, phase in enumerate(site.phases):
        for item, name in enumerate(phase.rows or ()):
            place = lines.where("phase", number, "rows", item)
            if name not in known:
                what = f"read {name!r}, no row or position of this file."
                yield Problem(place, what, choose_from(name, known))
            elif name in opened:
                what = f"read {name!r}, which {opened[name]!r} opens already."
                yield Problem(place, what, "Name a row in the phase that builds it first.")
            opened.setdefault(name, phase.name)


def check_phase_beds(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Beds never become fewer, and have places in the rows that are open by then."""
    problems: list[Problem] = []
    open_rows: set[str] = set()
    asked = 0
    for number, phase in enumerate(site.phases):
        last = number == len(site.phases) - 1
        rows = {row.id for row in site.rows} if phase.rows is None else set(phase.rows)
        if phase.rows is not None or all(each.rows is None for each in site.phases):
            open_rows |= rows
        there = [row for row in site.rows if row.id in open_rows]
        held, room = sum(row.beds_least for row in there), sum(row.beds_most for row in there)
        problems += _beds_of_phase(site, lines, number, asked, held, room, last=last)
        asked = max(asked, phase.beds if phase.beds is not None else held)
    problems += _standing_rows(site, lines)
    return problems


def _beds_of_phase(
    site: Site,
    lines: KeyLines,
    number: int,
    before: int,
    held: int,
    room: int,
    *,
    last: bool,
) -> Iterator[Problem]:
    beds = site.phases[number].beds
    place = lines.where("phase", number, "beds")
    if beds is None:
        if held == 0 and not last:
            what = "says how many beds neither by itself nor by rows that must hold some."
            yield Problem(lines.where("phase", number), what, "Add beds = 4: beds in all by then.")
        beds = site.goals.beds_least if last else held
    elif last:
        what = "the last phase is the whole site, and [goal] says its beds."
        yield Problem(place, what, "Take this line out.")
    elif beds > room:
        what = f"{beds} beds, but the rows open by then have room for {room}."
        yield Problem(place, what, "Ask for fewer, or name more rows.")
    if beds < before:
        what = f"{beds} beds, but a phase before has {before}."
        yield Problem(place, what, "beds counts all that are there by then, not those added.")


def _standing_rows(site: Site, lines: KeyLines) -> Iterator[Problem]:
    first = site.phases[0].rows if site.phases else None
    if first is None:
        return
    for row in site.rows:
        if row.standing_beds and row.id not in first:
            what = f"beds stand in row {row.id} already."
            yield Problem(lines.where("phase", 0, "rows"), what, f"Add {row.id!r} to these rows.")


def check_phase_plant(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """What an extension does not know how to keep is refused."""
    if not site.phases:
        return []
    fix = "Take it out, or take out the phases."
    found = []
    if site.header_tank is not None:
        what = "phases do not keep a tank over the beds: it would be bought again at each."
        found.append(Problem(lines.where("header_tank"), what, fix))
    if site.zones is not None:
        what = "phases do not keep zones: the timer would be bought again at each."
        found.append(Problem(lines.where("zones"), what, fix))
    if site.header_ring is not None:
        what = "phases do not keep a ring: in it water has two ways to every bed."
        found.append(Problem(lines.where("header_ring"), what, fix))
    return found


PHASE_CHECKS = (
    check_phase_years,
    check_phase_names,
    check_phase_rows,
    check_phase_beds,
    check_phase_plant,
)
