"""Whether the parts of a design that name one another are all there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from optimizer.errors import Problem
from optimizer.records.design import DRAIN_END, Bed, BuiltDrain, BuiltStretch, Design
from optimizer.records.header_tank import TANK


def reference_problems(design: Design) -> list[Problem]:
    """Return every name in a design that is used twice or leads nowhere; empty if none.

    Args:
        design: any design, for example one just read from a file.
    """
    return [
        *_repeats(design),
        *_kind_problems(design),
        *_bed_problems(design),
        *_drain_problems(design),
        *_tank_problems(design),
        *_zone_problems(design),
        *_ring_problems(design),
    ]


def _repeats(design: Design) -> Iterator[Problem]:
    yield from _repeated("kinds", (kind.id for kind in design.kinds))
    yield from _repeated("beds", (bed.id for bed in design.beds))
    yield from _repeated("stretches", (stretch.id for stretch in design.stretches))
    yield from _repeated("beds, drop", (bed.drop for bed in design.beds))
    yield from _repeated("drains", (drain.id for drain in design.drains))


def _repeated(where: str, ids: Iterable[str]) -> Iterator[Problem]:
    for name, count in Counter(ids).items():
        if count > 1:
            yield Problem(where, f"{name!r} is there {count} times.", "Give each its own name.")


def _kind_problems(design: Design) -> Iterator[Problem]:
    name = design.promise.robustness
    for kind in design.kinds:
        if name not in kind.windows:
            known = ", ".join(sorted(kind.windows)) or "none"
            yield Problem(
                where=f"kinds, {kind.id!r}, windows",
                what=f"The promise speaks of the {name!r} window; known here: {known}.",
                fix=f"Add a window named {name!r}, or promise one that is there.",
            )


def _bed_problems(design: Design) -> Iterator[Problem]:
    kinds = {kind.id for kind in design.kinds}
    drops = {stretch.id: stretch.head for stretch in design.stretches}
    drains = {drain.id for drain in design.drains} | {""}
    for bed in design.beds:
        if bed.kind not in kinds:
            yield _missing(bed, "kind", bed.kind, "Name one of the design's kinds.")
        if drops.get(bed.drop) != bed.id:
            yield _missing(bed, "drop", bed.drop, "Name the stretch whose head is this bed.")
        if bed.drain not in drains:
            yield _missing(bed, "drain", bed.drain, "Name the return stretch under its siphon.")


def _missing(bed: Bed, field: str, read: str, fix: str) -> Problem:
    return Problem(f"beds, {bed.id!r}, {field}", f"{read!r} leads to no such part.", fix)


def _drain_problems(design: Design) -> Iterator[Problem]:
    """Every return stretch leads to the sump by one way."""
    below: dict[str, BuiltDrain] = {}
    for drain in design.drains:
        if drain.tail == DRAIN_END:
            what = f"It leaves {DRAIN_END!r}, where all return pipe ends."
            yield Problem(f"drains, {drain.id!r}, tail", what, "Let it begin under a bed.")
            continue
        if drain.tail in below:
            what = f"{drain.tail!r} is also where {below[drain.tail].id!r} begins."
            yield Problem(f"drains, {drain.id!r}, tail", what, "Let one stretch leave each node.")
        below[drain.tail] = drain
    lost = _lost_nodes(below)
    for drain in design.drains:
        if drain.head in lost:
            what = f"From {drain.head!r} no return pipe leads to {DRAIN_END!r}."
            yield Problem(f"drains, {drain.id!r}, head", what, "Lead it down to the sump.")


def _tank_problems(design: Design) -> Iterator[Problem]:
    """A tank that feeds the beds has a riser of its own, and no riser leads to a tank not there."""
    risers = [stretch for stretch in design.stretches if stretch.head == TANK]
    if len(risers) != (0 if design.tank is None else 1):
        what = f"{len(risers)} stretches lead to the tank over the beds."
        yield Problem("stretches", what, "Give a tank one riser, and none where there is no tank.")
    for riser in risers:
        if len(riser.points) < 2:
            what = f"It has {len(riser.points)} points."
            yield Problem(f"stretches, {riser.id!r}, points", what, "Give its route.")


def _zone_problems(design: Design) -> Iterator[Problem]:
    """Every bed's row is in one zone, and every timed valve stands on a stretch and has a zone."""
    if design.zones is None:
        return
    rows = Counter(row for zone in design.zones.zones for row in zone.rows)
    for row in dict.fromkeys(bed.row for bed in design.beds):
        if rows[row] != 1:
            what = f"Row {row!r} is in {rows[row]} zones."
            yield Problem("zones, zones", what, "Put the rows of all beds into one zone each.")
    yield from _repeated("zones, zones", (zone.id for zone in design.zones.zones))
    known = {
        "stretch": {stretch.id for stretch in design.stretches},
        "zone": {zone.id for zone in design.zones.zones},
    }
    for n, valve in enumerate(design.zones.valves):
        for key, names in known.items():
            if (read := getattr(valve, key)) not in names:
                what = f"{read!r} leads to no such part."
                yield Problem(f"zones, valves[{n}], {key}", what, f"Name a {key} that is there.")


def _ring_problems(design: Design) -> Iterator[Problem]:
    """The pipes of a ring are there, and two of them meet at each of its nodes."""
    named = () if design.ring is None else design.ring.stretches
    if design.ring is not None and not named:
        yield Problem("ring, stretches", "There are none.", "Name the pipes of one ring.")
    stretches = {stretch.id: stretch for stretch in design.stretches}
    for name in named:
        if name not in stretches:
            what = f"{name!r} leads to no such part."
            yield Problem("ring, stretches", what, "Name a stretch that is there.")
    ends = Counter(node for n in named if n in stretches for node in _ends(stretches[n]))
    open_ends = sorted(node for node, count in ends.items() if count != 2)
    if open_ends:
        what = f"They do not close: {ends[open_ends[0]]} of them meet at {open_ends[0]!r}."
        yield Problem("ring, stretches", what, "Name the pipes of one ring, each once.")


def _ends(stretch: BuiltStretch) -> tuple[str, str]:
    return stretch.tail, stretch.head


def _lost_nodes(below: Mapping[str, BuiltDrain]) -> set[str]:
    """Return the nodes from which the water does not reach the sump: dead ends and rings.

    Args:
        below: node to the one stretch that leaves it; none leaves the sump.
    """
    arriving: dict[str, list[str]] = {}
    for drain in below.values():
        arriving.setdefault(drain.head, []).append(drain.tail)
    reached, waiting = {DRAIN_END}, [DRAIN_END]
    while waiting:
        for node in arriving.get(waiting.pop(), []):
            reached.add(node)
            waiting.append(node)
    return ({drain.head for drain in below.values()} | set(below)) - reached
