"""The fittings that return pipe and the siphons' tails need, node by node."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from optimizer.formulate.vent_tail import VENT_TAIL
from optimizer.pack.needs import Need, Size, joint_needs, pipe_sizes, turn_needs
from optimizer.records.design import BuiltDrain, Design

TAILS_OF = "siphon tails of"
"""How the place of a vented tail's fittings begins."""


def return_needs(design: Design) -> list[Need]:
    """Return every fitting of the return pipes and of the siphons' tails."""
    sizes = pipe_sizes(design)
    arriving: dict[str, list[BuiltDrain]] = {}
    for drain in design.drains:
        arriving.setdefault(drain.head, []).append(drain)
    needs = list(_tail_needs(design))
    for drain in design.drains:
        if drain.standing:
            continue
        beds = sum(bed.drain == drain.id for bed in design.beds)
        needs += _along(drain, sizes[drain.pipe])
        needs += _begin(drain, arriving.get(drain.tail, []), beds, sizes)
    return needs


def kit_size(design: Design, kit: str) -> Size:
    """Return the size of pipe a siphon kit fits."""
    part = next(p for p in design.shelf if (p.table, p.id) == ("kits", kit))
    return Size(part.series, part.nominal)


def _tail_needs(design: Design) -> Iterator[Need]:
    for kind in design.kinds:
        count = sum(
            bool(bed.drain) and not bed.siphon_standing
            for bed in design.beds
            if bed.kind == kind.id
        )
        for part in VENT_TAIL if count else ():
            size, at = kit_size(design, kind.kit), f"{TAILS_OF} {kind.label}"
            yield Need(part.kind, size, part.count * count, at)


def _along(drain: BuiltDrain, size: Size) -> Iterator[Need]:
    """Yield the elbows along a stretch: those counted for it, less the one at its upper end."""
    counted = {part.kind: part.count for part in drain.parts}
    if "clean_out" in counted:
        counted["elbow_90"] = counted.get("elbow_90", 0) - 1
    for kind in ("elbow_45", "elbow_90"):
        if counted.get(kind, 0) > 0:
            yield Need(kind, size, counted[kind], drain.id)


def _begin(
    drain: BuiltDrain, arriving: list[BuiltDrain], beds: int, sizes: Mapping[str, Size]
) -> Iterator[Need]:
    """Yield what stands at the upper end of a stretch.

    Under a lone bed an elbow turned up as a mouth and a clean-out; where several flows meet, tees;
    where one pipe goes on into the next, what the turn and the sizes ask for.
    """
    size = sizes[drain.pipe]
    inlets = len(arriving) + beds
    if inlets > 1:
        yield Need("tee", size, inlets - 1, drain.tail)
    elif beds:
        yield Need("elbow_90", size, 1, drain.tail)
        yield Need("clean_out", size, 1, drain.tail)
    elif arriving:
        yield from turn_needs(arriving[0].points, drain.points, size, drain.tail)
    for above in arriving:
        yield from joint_needs(sizes[above.pipe], size, drain.tail)
