"""How the shopping list meets the design's cost: every step between the two, to the cent."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.pack.needs import Size, fittings_on_shelf, pipe_sizes
from optimizer.pack.needs_returns import TAILS_OF, return_needs
from optimizer.pack.shopping import ShoppingList
from optimizer.pack.shopping_line import Line, cents_of
from optimizer.records.design import Design

HALF_CENT = 0.5
UNEXPLAINED = "not explained: the design's cost and its prices do not agree"


@dataclass(frozen=True)
class Difference:
    """One reason why the list's total is not the design's cost of parts, in whole cents."""

    why: str
    cents: int


def differences(design: Design, found: ShoppingList) -> tuple[int, list[Difference]]:
    """Return the design's cost of parts, and every step from it to the list's total.

    The steps add up to the list's total to the cent. The last one is what rounding leaves; where it
    is more than rounding can be, it is called unexplained.
    """
    services = {part.id for part in design.shelf if part.table == "services"} | {"labour"}
    counted = sum(
        line.cents for line in design.costs if line.group == "capital" and line.part not in services
    )
    offcuts = sum(
        cents_of(each.part.price * each.bought_m) - cents_of(each.part.price * each.length_m)
        for each in found.cuts
    )
    more, less = _fitting_steps(design, found.lines)
    ready = _ready_cents(design)
    steps = [Difference("pipe that lies ready, which this list has too", ready)] if ready else []
    steps += [
        Difference("pipe left over, because shops sell whole sticks", offcuts),
        Difference("fittings this list needs beyond those the design's rule counts", more),
        Difference("fittings the design's rule counts and this list does not need", -less),
    ]
    rest = found.cents - counted - sum(step.cents for step in steps)
    rounded = abs(rest) <= HALF_CENT * roundings(design, found)
    why = "rounding to whole cents, line by line" if rounded else UNEXPLAINED
    return counted, [*steps, Difference(why, rest)]


def _ready_cents(design: Design) -> int:
    """Return what the pipe taken from stock would cost; the design does not pay for it."""
    price = {part.id: part.price for part in design.shelf if part.table == "pipes"}
    ready = [line for line in design.costs if line.group == "stock"]
    return sum(cents_of(price[line.part] * line.quantity) for line in ready)


def roundings(design: Design, found: ShoppingList) -> int:
    """Return how many amounts are rounded to whole cents between the design's cost and the list.

    Each stretch's pipe and fittings, each bed's shell, kit, tail and valve, pumps and tanks, each
    line of the list and each pipe's left over, timed valves, what lies ready and its worth, the
    steps.
    """
    ready = sum(line.group == "stock" for line in design.costs)
    laid = len(design.stretches) + len(design.drains) + int(design.tank is not None)
    plant = design.pump.count + design.pump.spares + design.sump.count
    lines = len(found.lines) + 2 * len(found.cuts) + 3 * ready
    timed = len(design.zones.valves) + 1 if design.zones else 0
    return 2 * laid + 4 * len(design.beds) + plant + lines + timed + 4


def _fitting_steps(design: Design, lines: Sequence[Line]) -> tuple[int, int]:
    """Return the price of fittings beyond the design's count, and of those below it."""
    shelf = fittings_on_shelf(design)
    kept = {part.id: part for part in shelf.values()}
    surplus: dict[str, float] = {}
    for line in lines:
        if line.group == "Fittings" and line.part in kept:
            surplus[line.part] = surplus.get(line.part, 0.0) + line.quantity
    for kind, size, count in counted_fittings(design):
        if (kind, size) in shelf:
            part = shelf[kind, size].id
            surplus[part] = surplus.get(part, 0.0) - count
    values = [kept[name].price * n for name, n in surplus.items()]
    return cents_of(math.fsum(v for v in values if v > 0)), cents_of(
        -math.fsum(v for v in values if v < 0)
    )


def counted_fittings(design: Design) -> list[tuple[str, Size, int]]:
    """Return every fitting the design's price counts: kind, size and number."""
    sizes = pipe_sizes(design)
    sold = [(each.pipe, each.parts) for each in design.stretches]
    sold += [(each.pipe, each.parts) for each in design.drains]
    sold += [(t.overflow_pipe, t.overflow_parts) for t in (design.tank,) if t is not None]
    laid = [(part.kind, sizes[pipe], part.count) for pipe, parts in sold for part in parts]
    tails = [
        (need.kind, need.size, need.count)
        for need in return_needs(design)
        if need.at.startswith(TAILS_OF)
    ]
    return [*laid, *tails]
