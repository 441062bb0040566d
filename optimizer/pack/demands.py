"""What a design must carry before a pack can be made of it; all that is missing is told at once."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.errors import BadInput, Problem
from optimizer.records.design import Design

AGAIN = "Design the site again with `floodwright design`."


def demand_whole(design: Design) -> None:
    """Refuse a design that lacks beds, a pump's pipe, or a part on its shelf.

    Raises:
        BadInput: with everything that is missing.
    """
    problems = [*_built_problems(design), *_shelf_problems(design)]
    if problems:
        raise BadInput(problems)


def _built_problems(design: Design) -> Iterator[Problem]:
    if not design.beds:
        yield Problem("beds", "There are none.", AGAIN)
    if not any(stretch.tail == "pump" for stretch in design.stretches):
        yield Problem("stretches", "None begins at the pump.", AGAIN)


def _shelf_problems(design: Design) -> Iterator[Problem]:
    if not design.shelf:
        what = "It carries no prices and stock lengths; an earlier version wrote it."
        yield Problem("shelf", what, AGAIN)
        return
    there = {(part.table, part.id) for part in design.shelf}
    for table, name in sorted(_wanted(design) - there):
        yield Problem("shelf", f"{name!r} of {table} is not on it.", AGAIN)
    sizes = {(p.series, p.nominal) for p in design.shelf if p.table == "pipes"}
    for part in design.shelf:
        where = f"shelf, {part.id!r}"
        if part.price < 0.0:
            yield Problem(where, f"Its price is {part.price}.", "Give 0 or more.")
        if part.table == "pipes" and not min(part.stock_length_m, part.outside_m) > 0.001:
            yield Problem(where, "Its stock length or outside is no size.", "Give both in metres.")
        if part.table == "kits" and (part.series, part.nominal) not in sizes:
            yield Problem(where, "No pipe of its size is on the shelf.", AGAIN)


def _wanted(design: Design) -> set[tuple[str, str]]:
    tank = design.tank
    return {
        *(("pipes", stretch.pipe) for stretch in design.stretches),
        *(("pipes", drain.pipe) for drain in design.drains),
        *(("valves", bed.valve) for bed in design.beds),
        *(("kits", kind.kit) for kind in design.kinds),
        *(("containers", kind.container_id) for kind in design.kinds),
        *(("media", kind.medium_id) for kind in design.kinds),
        *(("stands", kind.stand_id) for kind in design.kinds),
        ("pumps", design.pump.id),
        ("sumps", design.sump.id),
        *((("pipes", tank.overflow_pipe),) if tank else ()),
        *((("sumps", tank.part),) if tank and tank.part else ()),
        *((("timers", design.zones.timer),) if design.zones else ()),
    }
