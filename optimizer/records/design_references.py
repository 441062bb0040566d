"""Whether the parts of a design that name one another are all there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from optimizer.errors import Problem
from optimizer.records.design import Bed, Design


def reference_problems(design: Design) -> list[Problem]:
    """Return every name in a design that is used twice or leads nowhere; empty if none.

    Args:
        design: any design, for example one just read from a file.
    """
    return [*_repeats(design), *_kind_problems(design), *_bed_problems(design)]


def _repeats(design: Design) -> Iterator[Problem]:
    yield from _repeated("kinds", (kind.id for kind in design.kinds))
    yield from _repeated("beds", (bed.id for bed in design.beds))
    yield from _repeated("stretches", (stretch.id for stretch in design.stretches))
    yield from _repeated("beds, drop", (bed.drop for bed in design.beds))


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
    for bed in design.beds:
        if bed.kind not in kinds:
            yield _missing(bed, "kind", bed.kind, "Name one of the design's kinds.")
        if drops.get(bed.drop) != bed.id:
            yield _missing(bed, "drop", bed.drop, "Name the stretch whose head is this bed.")


def _missing(bed: Bed, field: str, read: str, fix: str) -> Problem:
    return Problem(f"beds, {bed.id!r}, {field}", f"{read!r} leads to no such part.", fix)
