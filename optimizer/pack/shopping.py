"""The shopping list: every part in units a shop sells, priced.

Prices come from the design's own shelf. A line without a price is told as such, never as nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from optimizer.pack.demands import demand_whole
from optimizer.pack.needs import Need, Size, fittings_on_shelf, pipes_by_size, supply_needs
from optimizer.pack.needs_returns import return_needs
from optimizer.pack.pieces import KERF_M, PipeCuts, cuts_of, kit_cuts_of
from optimizer.pack.shopping_beds import bed_lines, plant_lines
from optimizer.pack.shopping_line import Line, cents_of, part_line
from optimizer.pack.shopping_zones import zone_lines
from optimizer.pack.small_parts import small_lines
from optimizer.records.design import Design
from optimizer.records.shelf import ShelfPart
from optimizer.report.scales import counted


@dataclass(frozen=True)
class ShoppingList:
    """Lines in the order of the aisles, and the cutting plans behind the pipe lines.

    ``kit_cuts`` are for those who make the siphon kits themselves; no line counts them.
    """

    lines: tuple[Line, ...]
    cuts: tuple[PipeCuts, ...]
    kit_cuts: tuple[PipeCuts, ...]

    @property
    def cents(self) -> int:
        """What all priced lines cost."""
        return sum(line.cents or 0 for line in self.lines)

    @property
    def unpriced(self) -> tuple[Line, ...]:
        """Lines for which the design knows no price."""
        return tuple(line for line in self.lines if line.cents is None)


def shopping_list(design: Design, kerf_m: float = KERF_M) -> ShoppingList:
    """Return what to buy for a design.

    Args:
        design: a design with its shelf.
        kerf_m: what one saw cut takes.

    Raises:
        BadInput: for a design that lacks what a pack is made of.
    """
    demand_whole(design)
    cuts = cuts_of(design, kerf_m)
    needs = [*supply_needs(design), *return_needs(design)]
    lines = (
        *(_pipe_line(each) for each in cuts),
        *fitting_lines(design, needs),
        *_valve_lines(design),
        *bed_lines(design),
        *plant_lines(design),
        *zone_lines(design),
        *small_lines(design, needs, cuts),
    )
    return ShoppingList(lines, tuple(cuts), tuple(kit_cuts_of(design, kerf_m)))


def fitting_lines(design: Design, needs: Sequence[Need]) -> list[Line]:
    """Return one line for each fitting in each size."""
    shelf, wide = fittings_on_shelf(design), pipes_by_size(design)
    several = len({need.size.series for need in needs}) > 1
    counts: dict[tuple[str, Size, Size | None], int] = {}
    for need in needs:
        key = (need.kind, *_narrow_first(need, wide))
        counts[key] = counts.get(key, 0) + need.count

    def order(key: tuple[str, Size, Size | None]) -> tuple[str, float, str, float]:
        kind, size, other = key
        return (size.series, wide[size].outside_m, kind, wide[other].outside_m if other else 0.0)

    return [
        part_line(
            "Fittings",
            fitting_name(kind, size, other),
            counts[kind, size, other],
            shelf.get((kind, size)),
            _fitting_note(size, several, (kind, size) in shelf),
        )
        for kind, size, other in sorted(counts, key=order)
        if counts[kind, size, other] > 0
    ]


def _narrow_first(need: Need, wide: Mapping[Size, ShelfPart]) -> tuple[Size, Size | None]:
    """Return a need's sizes; of a reducer the narrower one first, which its price goes by."""
    size, other = need.size, need.other
    if other is None or wide[size].outside_m <= wide[other].outside_m:
        return size, other
    return other, size


def _fitting_note(size: Size, several: bool, priced: bool) -> str:
    words = [size.series] if several else []
    return "; ".join(words if priced else [*words, "no price in the catalog"])


FITTING_WORDS = {
    "elbow_90": "elbow 90 degrees",
    "elbow_45": "elbow 45 degrees",
    "clean_out": "clean-out with plug",
    "non_return_valve": "non-return valve",
    "cap": "end cap",
    "adapter": "threaded adapter",
    "union": "union",
    "strainer": "foot strainer",
    "bulkhead": "bulkhead fitting",
}


def fitting_name(kind: str, size: Size, other: Size | None) -> str:
    """Return what to ask for at the counter; of two sizes the wider one, ``other``, comes first."""
    word = FITTING_WORDS.get(kind, kind.replace("_", " "))
    if other is None:
        return f"{word} {size.nominal}"
    if other.series != size.series:
        return f"adapter {other.nominal} {other.series} to {size.nominal} {size.series}"
    return f"{word} {other.nominal} to {size.nominal}"


def _pipe_line(cuts: PipeCuts) -> Line:
    part, count = cuts.part, cuts.plan.count
    return Line(
        group="Pipe",
        what=part.label,
        part=part.id,
        quantity=count,
        unit="stick",
        each=part.price * part.stock_length_m,
        cents=cents_of(part.price * part.stock_length_m * count),
        length_m=cuts.length_m,
        stock_m=part.stock_length_m,
        note=counted(len(cuts.pieces), "piece"),
    )


def _valve_lines(design: Design) -> list[Line]:
    shelf = {part.id: part for part in design.shelf if part.table == "valves"}
    counts: dict[str, int] = {}
    for bed in design.beds:
        if not bed.valve_standing:
            counts[bed.valve] = counts.get(bed.valve, 0) + 1
    return [
        part_line("Valves", shelf[name].label, n, shelf[name]) for name, n in sorted(counts.items())
    ]
