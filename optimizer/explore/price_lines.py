"""Least cost against one price, exactly: break-even prices, and capital against energy.

A design's cost is a straight line in a price, what it costs without plus the price times how much
of the priced thing it takes. The least cost over all designs is the lower edge of all those lines:
it bends downward only, and each of its pieces is one design. Where the lines of two neighbours on
that edge cross, either the program finds a design below the crossing, which then is a piece
between them, or it proves that there is none.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from optimizer.errors import FloodwrightError
from optimizer.explore.changes import Value, changed
from optimizer.explore.cost_line import Line, line_of
from optimizer.explore.fronts import Front
from optimizer.explore.point import DESIGNED
from optimizer.explore.sweep import Row, Study
from optimizer.job import Job

SAME_PRICE = 1e-12
"""Share of the range of prices within which two crossings are one."""


@dataclass(frozen=True, eq=False)
class Piece:
    """A design that is cheapest between two prices.

    Attributes:
        row: its row, as designed at one of those prices.
        line: its cost against the price.
        low: price from which it is cheapest.
        high: price up to which it is cheapest.
        open: the most by which some other design may be cheaper anywhere on the piece.
    """

    row: Row
    line: Line
    low: float
    high: float
    open: float


def cheapest_pieces(
    study: Study, name: str, low: float, high: float, fixed: Mapping[str, Value] | None = None
) -> list[Piece]:
    """Return the designs that are cheapest between two prices, in order of the price.

    Args:
        study: the job with its engine and store.
        name: the price: ``energy_price``, or ``pump_price`` and a pump's id.
        low: lowest price, 0 or more.
        high: highest price.
        fixed: changes made at every price.

    Returns:
        the pieces; empty where no design exists.
    """
    edge = _Edge(study, name, dict(fixed or {}))
    known = {price: row for price, row in edge.rows([low, high]).items() if row is not None}
    if len(known) < len({low, high}):
        return []
    todo = [(low, high)] if low < high else []
    opens: dict[float, float] = {}
    while todo:
        crossings = {ends: edge.crossing(known[ends[0]], known[ends[1]], ends) for ends in todo}
        met = edge.rows([price for price in crossings.values() if price is not None])
        todo, before = [], todo
        for ends in before:
            price = crossings[ends]
            if price is None:
                continue
            row, at_edge = met[price], edge.line(known[ends[0]]).at(price)
            if row is None:
                opens[price] = math.inf
            elif row["cost"] < at_edge - edge.allowed(row):
                known[price] = row
                todo += [(ends[0], price), (price, ends[1])]
            else:
                opens[price] = max(0.0, at_edge - row["bound"])
    return _pieces(edge, known, opens)


class _Edge:
    """Rows and lines of a study at prices."""

    def __init__(self, study: Study, name: str, fixed: dict[str, Value]) -> None:
        self.study, self.name, self.fixed = study, name, fixed
        self.of, self.lines = line_of(name), dict[str, Line]()

    def rows(self, prices: list[float]) -> dict[float, Row | None]:
        made = self.study.rows([self.fixed | {self.name: price} for price in prices])
        rows = zip(prices, made, strict=True)
        return {price: row if row["outcome"] == DESIGNED else None for price, row in rows}

    def line(self, row: Row) -> Line:
        """Return the line of a row's design, at the prices it was designed at but for this one."""
        key = str(row["key"])
        if key not in self.lines:
            line = self.of(self.study.design(row), self.job_of(row))
            if abs(line.at(row[self.name]) - row["cost"]) > line.rounding:
                raise FloodwrightError(f"Costs here do not follow {self.name} in a straight line.")
            self.lines[key] = line
        return self.lines[key]

    def job_of(self, row: Row) -> Job:
        return changed(self.study.job, self.fixed | {self.name: row[self.name]})

    def crossing(self, left: Row, right: Row, ends: tuple[float, float]) -> float | None:
        price = self.line(left).crosses(self.line(right))
        return price if price is not None and ends[0] < price < ends[1] else None

    def allowed(self, row: Row) -> float:
        """Return what a cost may lie below the edge by rounding and by the search's gap alone."""
        return self.line(row).rounding + self.study.search.gap * float(row["cost"])


def _pieces(edge: _Edge, known: Mapping[float, Row], opens: Mapping[float, float]) -> list[Piece]:
    """Return the lower edge of the known designs' lines, one piece for each line."""
    prices = sorted(known)
    low, high = prices[0], prices[-1]
    lines = {edge.line(known[price]): known[price] for price in reversed(prices)}
    pieces: list[Piece] = []
    here = low
    current = min(lines, key=lambda line: (line.at(low), line.per_price))
    near = SAME_PRICE * (high - low)
    while True:
        later = [
            (max(price, here), line.per_price, line)
            for line in lines
            if line.per_price < current.per_price
            and (price := current.crosses(line)) is not None
            and here - near <= price < high - near
        ]
        end, _, following = min(later, key=lambda each: each[:2], default=(high, 0.0, None))
        row = lines[current]
        slack = [most for price, most in opens.items() if here - near <= price <= end + near]
        slack.append(max(0.0, row["cost"] - row["bound"]))
        pieces.append(Piece(row, current, here, end, max(slack)))
        if following is None:
            return pieces
        here, current = end, following


def energy_front(study: Study, highest_price: float) -> Front:
    """Return the designs that are cheapest at some price of energy: all else against energy.

    Args:
        study: the job with its engine and store.
        highest_price: price of energy up to which to look, above 0.

    No design lies below the straight line between two neighbours, less what is left open there;
    between them ``least_until_next`` is that line's lower end and ``most_until_next`` the cost of
    the neighbour with less energy.
    """
    pieces = cheapest_pieces(study, "energy_price", 0.0, highest_price)
    rows = [_energy_row(piece) for piece in pieces]
    for row, following in pairwise(rows):
        row["least_until_next"] = row["cost_without_energy"] - row["open"]
        row["most_until_next"] = following["cost_without_energy"]
    note = (
        f"Every design that is cheapest at some energy price up to {highest_price:g}; others may "
        "lie between two neighbours, above the straight line between them."
    )
    return Front("energy_kwh_per_year", tuple(rows), note)


def _energy_row(piece: Piece) -> Row:
    return piece.row | {
        "cost_without_energy": round(piece.line.fixed, 2),
        "cheapest_from_price": piece.low,
        "cheapest_to_price": piece.high,
        "open": piece.open,
        "least_until_next": None,
        "most_until_next": None,
        "on_front": True,
    }


@dataclass(frozen=True)
class BreakEven:
    """A price at which one design gives way to another.

    Attributes:
        price: the price.
        below: figures of the design that is cheaper just below it.
        above: figures of the design that is cheaper just above it.
        cost: what both cost there.
        open: the most by which some other design may be cheaper there.
    """

    price: float
    below: Mapping[str, Any]
    above: Mapping[str, Any]
    cost: float
    open: float


def break_evens(pieces: list[Piece]) -> list[BreakEven]:
    """Return the prices at which the cheapest design changes."""
    return [
        BreakEven(a.high, a.row, b.row, a.line.at(a.high), max(a.open, b.open))
        for a, b in pairwise(pieces)
    ]


def break_evens_between(first: list[Piece], second: list[Piece]) -> list[BreakEven]:
    """Return the prices at which the cheaper of two families of designs changes.

    Args:
        first: cheapest designs of one family, such as those with pump X, by price.
        second: those of the other, over the same prices.
    """
    found: list[BreakEven] = []
    for a in first:
        for b in second:
            low, high = max(a.low, b.low), min(a.high, b.high)
            price = a.line.crosses(b.line)
            if price is None or not low <= price < high:
                continue
            cheaper_below = a if a.line.per_price > b.line.per_price else b
            dearer_below = b if cheaper_below is a else a
            slack = max(a.open, b.open)
            found.append(
                BreakEven(
                    price, cheaper_below.row, dearer_below.row, cheaper_below.line.at(price), slack
                )
            )
    return sorted(found, key=lambda each: each.price)
