"""The cutting sheet: how to cut every stick, drawn, and what each piece is for."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.pack.lengths import Rule
from optimizer.pack.pieces import PipeCuts
from optimizer.pack.sheets import Block, Grid, Picture, Pictures, Sheet, Words
from optimizer.pack.sticks import sticks_drawing
from optimizer.records.design import Design
from optimizer.report.text_table import Table, make_table

WAYS_PER_PICTURE = 12
"""Ways to cut drawn in one picture, so that a picture never outgrows a page."""

NOTHING = "All pipe is there already: there is nothing to cut."

KITS = (
    "The shopping list buys siphon kits ready made. To make them from pipe instead, cut these on "
    "top: standpipes from rim to outlet (less what the bulkhead takes up), bells from foot to cap, "
    "guards from floor to rim. Caps and bulkheads are still to buy."
)


def cutting_sheets(
    design: Design, cuts: tuple[PipeCuts, ...], kits: tuple[PipeCuts, ...]
) -> list[Sheet]:
    """Return the sheet of pipes, and one for kits made by hand where any are to be made."""
    if not cuts:
        return [Sheet("cutting", "Cutting plan", (Words(NOTHING),)), *_kits(design, kits)]
    rule = Rule(design.units)
    intro = (
        "Lengths are from centre to centre of the fittings at both ends, so no stick comes out "
        "short. Before you cut, take off what the two fittings take up: lay them beside the pipe "
        "and mark from socket to socket. Each cut is counted as "
        f"{rule.text(cuts[0].plan.kerf)}. Grey is left over. Cut square, "
        "and take the burr off inside and out."
    )
    blocks: list[Block] = [Words(intro)]
    for each in cuts:
        blocks += list(_of_pipe(each, rule))
    return [Sheet("cutting", "Cutting plan", tuple(blocks)), *_kits(design, kits)]


def _kits(design: Design, kits: tuple[PipeCuts, ...]) -> list[Sheet]:
    blocks = [block for each in kits for block in _of_pipe(each, Rule(design.units))]
    title = "If you make the siphon kits yourself"
    return [Sheet("kits", title, (Words(KITS), *blocks), flows=True)] if blocks else []


def _of_pipe(cuts: PipeCuts, rule: Rule) -> Iterator[Block]:
    plan = cuts.plan
    proof = (
        "no plan uses fewer (proven)"
        if plan.proven
        else f"no plan uses fewer than {plan.bound} (proven); this is the best found"
    )
    sticks = "stick" if plan.count == 1 else "sticks"
    text = f"{cuts.part.label}: {plan.count} {sticks} of {rule.text(plan.stock)}; {proof}."
    if cuts.joined:
        text += f" {cuts.joined} joined with a coupling: pieces longer than a stick."
    yield Words(text)
    for first in range(0, len(plan.sticks), WAYS_PER_PICTURE):
        ways = plan.sticks[first : first + WAYS_PER_PICTURE]
        canvas = sticks_drawing(cuts, ways, rule)
        says = "; ".join(
            f"{way.count} x " + " + ".join(rule.text(piece) for piece in way.pieces) for way in ways
        )
        picture = Picture(canvas.svg(), canvas.width_mm, canvas.height_mm, says)
        yield Pictures((picture,))
    yield Grid(_where(cuts, rule))


def _where(cuts: PipeCuts, rule: Rule) -> Table:
    by_length: dict[int, list[str]] = {}
    for piece in cuts.pieces:
        by_length.setdefault(rule.steps_up(piece.length_m), []).append(piece.stretch)
    rows = [
        (rule.text(length), str(len(names)), ", ".join(dict.fromkeys(names)))
        for length, names in sorted(by_length.items(), reverse=True)
    ]
    return make_table(f"Pieces of {cuts.part.label}", "length|pieces|for", rows, "length|pieces")
