"""The shopping sheet: what to buy, aisle by aisle, and how it meets the design's cost."""

from __future__ import annotations

from optimizer.pack.lengths import Rule
from optimizer.pack.reconcile import differences
from optimizer.pack.sheets import Block, Grid, Sheet, Words
from optimizer.pack.shopping import ShoppingList
from optimizer.pack.shopping_line import Line
from optimizer.records.design import Design
from optimizer.report.scales import Reader, counted, money, rounded
from optimizer.report.text_table import Table, make_table
from optimizer.report.words_stock import stock_sentence

COLUMNS = "got|what|quantity|each|price|note"
CUBIC_YARD_M3 = 0.9144**3


def shopping_sheet(design: Design, found: ShoppingList) -> Sheet:
    """Return the sheet."""
    groups = list(dict.fromkeys(line.group for line in found.lines))
    blocks: list[Block] = [Words(_total_words(design, found))]
    for group in groups:
        rows = [_row(line, design) for line in found.lines if line.group == group]
        blocks.append(Grid(make_table(group, COLUMNS, rows, "quantity|each|price")))
    blocks.append(Grid(_meets_cost(design, found)))
    return Sheet("shopping", "Shopping list", tuple(blocks))


def _total_words(design: Design, found: ShoppingList) -> str:
    text = (
        f"All lines with a price come to {money(found.cents, design.currency)}. Pipe is counted in "
        "whole sticks, as the cutting plan needs them. Prices are those of the design; where they "
        "are the shipped examples they are invented: ask your shop."
    )
    if found.unpriced:
        few = len(found.unpriced) == 1
        have, are = ("has", "is") if few else ("have", "are")
        lines = counted(len(found.unpriced), "line")
        text += f" {lines} {have} no price here and {are} not in that sum."
    ready = stock_sentence(design)
    if ready:
        text += f" {ready} The list has that pipe too: take off the sticks that your own make up."
    if any(stretch.standing for stretch in design.stretches):
        text += (
            " Pipe that is there already is not on the list; joints onto it are. Look what it has."
        )
    return text


def _row(line: Line, design: Design) -> tuple[str, ...]:
    each = "" if line.each is None else money(line.each * 100.0, design.currency)
    if line.unit == "m3":
        each += " per m3"
    if line.cents is None:
        price = "ask"
    elif line.cents == 0 and line.each is None:
        price = "in the kit"
    else:
        price = money(line.cents, design.currency)
    note = line.note.removeprefix("in the kit; ")
    return ("\u2610", line.what, quantity_words(line, design.units), each, price, note)


def quantity_words(line: Line, units: str) -> str:
    """Return how much of a line to buy, in a shop's words."""
    if line.unit == "stick":
        rule = Rule(units)
        word = "stick" if line.quantity == 1 else "sticks"
        return f"{line.quantity:g} {word} of {rule.long(line.stock_m)} ({rule.long(line.length_m)})"
    if line.unit == "m3":
        if units == "us":
            return f"{rounded(line.quantity / CUBIC_YARD_M3)} cu yd ({rounded(line.quantity)} m3)"
        return f"{rounded(line.quantity)} m3 ({Reader(units).text('volume', line.quantity)})"
    return f"{line.quantity:g}"


def _meets_cost(design: Design, found: ShoppingList) -> Table:
    counted, steps = differences(design, found)
    rows = [
        ("parts in the design's cost, without work and delivery", money(counted, design.currency)),
        *((step.why, money(step.cents, design.currency)) for step in steps),
        ("this list", money(found.cents, design.currency)),
    ]
    return make_table("How this list meets the design's cost", "step|amount", rows, "amount")
