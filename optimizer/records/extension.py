"""What becomes of a built system when its site grows: what stays, what is replaced, what is new."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.records.check import CheckReport
from optimizer.records.design import Design

STAYS, REPLACED, NEW, TAKEN_OUT = "stays", "replaced", "new", "taken out"
FATES = (STAYS, REPLACED, NEW, TAKEN_OUT)


@dataclass(frozen=True)
class PartFate:
    """What becomes of parts of one sort.

    Attributes:
        fate: one of :data:`FATES`.
        what: the sort of part: bed, siphon, valve, supply pipe, return pipe, pump, sump.
        before: what stood there, as a grower would call it; empty where it is new.
        after: what is there then; empty where it is taken out.
        quantity: how many, or how many metres of pipe.
        unit: ``m`` or ``piece``.
    """

    fate: str
    what: str
    before: str
    after: str
    quantity: float
    unit: str


@dataclass(frozen=True)
class Room:
    """How many beds fit on the pump that stands, and what the next one costs.

    Attributes:
        beds_before: beds that stand.
        places: places for beds on the site.
        fits: most beds in all that the standing pumps serve; None where they serve not even those
            that stand.
        on_pump: the least-cost design with that many; None where ``fits`` is.
        beyond: the least-cost design with one bed more and any pump; None where there is no place
            or no design for it.
        why: why one more does not fit on the standing pumps, in words.
        fits_at_most: most beds in all that are not proven too many; above ``fits`` only where the
            search was too long to settle it. None where ``fits`` is.
    """

    beds_before: int
    places: int
    fits: int | None
    on_pump: Design | None
    beyond: Design | None
    why: str
    fits_at_most: int | None = None


@dataclass(frozen=True)
class Extension:
    """The least-cost extension of a built system.

    Attributes:
        old: the design that was built.
        design: what is there afterwards.
        check: what simulation says of it.
        fates: what becomes of every part.
        room: how far the standing pump reaches, where that was asked.
    """

    old: Design
    design: Design
    check: CheckReport
    fates: tuple[PartFate, ...]
    room: Room | None = None


def bought_cents(design: Design) -> int:
    """Return the money to spend at once: parts and work, and the services that every site pays.

    Where no part is bought and no work is done, no delivery comes either, and it is nothing.
    """
    capital = [line for line in design.costs if line.group == "capital"]
    if not any(line.cents for line in capital if line.unit != "site"):
        return 0
    return sum(line.cents for line in capital)
