"""One line of the shopping list."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.records.shelf import ShelfPart


@dataclass(frozen=True)
class Line:
    """One thing to buy.

    Attributes:
        group: the aisle it is found in.
        what: what to ask for.
        part: catalog id; empty where the catalog has none.
        quantity: how many, or how much.
        unit: stick, piece, m3 or set.
        each: price of one, in the design's currency; None where it is not known.
        cents: price of all; None where it is not known, 0 for what comes with another line.
        length_m: pipe needed; 0 for others.
        stock_m: length of one stick; 0 for others.
        note: what else to know.
    """

    group: str
    what: str
    part: str
    quantity: float
    unit: str
    each: float | None
    cents: int | None
    length_m: float = 0.0
    stock_m: float = 0.0
    note: str = ""


def cents_of(amount: float) -> int:
    """Return an amount of money in whole cents."""
    return round(amount * 100.0)


def part_line(group: str, what: str, count: float, part: ShelfPart | None, note: str = "") -> Line:
    """Return the line of a part sold by the piece (or by volume); without a part, unpriced."""
    unit = "m3" if part is not None and part.per == "m3" else "piece"
    if part is None:
        return Line(group, what, "", count, unit, None, None, note=note)
    return Line(
        group, what, part.id, count, unit, part.price, cents_of(part.price * count), note=note
    )
