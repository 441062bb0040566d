"""The cutting plan drawn: one bar for each way to cut a stick, to scale."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.milp.cutting_stock import CutStick
from optimizer.pack.canvas import GREY, THIN_MM, WIDTH_SHARE, Canvas
from optimizer.pack.lengths import Rule
from optimizer.pack.pieces import PipeCuts

WIDE_MM = 178.0
_LEFT_MM, _BAR_MM, _ROW_MM, _TOP_MM = 15.0, 5.0, 8.0, 2.0
_WORDS_MM = 2.5


def sticks_drawing(cuts: PipeCuts, sticks: Sequence[CutStick], rule: Rule) -> Canvas:
    """Return the drawing of some ways to cut a pipe's sticks.

    Pieces are white, what is left over is grey. Words too long for their piece stand under it.

    Args:
        cuts: the pipe's cutting plan.
        sticks: the ways to draw, from that plan.
        rule: the builder's rule.
    """
    canvas = Canvas(WIDE_MM, _TOP_MM + _ROW_MM * len(sticks) + 1.5)
    per_step = (WIDE_MM - _LEFT_MM - 1.0) / cuts.plan.stock
    for i, stick in enumerate(sticks):
        top = _TOP_MM + _ROW_MM * i
        canvas.words((_LEFT_MM - 1.5, top + 3.6), f"{stick.count} x", "end")
        _bar(canvas, stick, cuts, per_step, top, rule)
    return canvas


def _bar(
    canvas: Canvas, stick: CutStick, cuts: PipeCuts, per_step: float, top: float, rule: Rule
) -> None:
    x, kerf = _LEFT_MM, cuts.plan.kerf * per_step
    end = _LEFT_MM + cuts.plan.stock * per_step
    canvas.box((x, top), (end, top + _BAR_MM), GREY, THIN_MM)
    for piece in stick.pieces:
        wide = piece * per_step
        canvas.box((x, top), (x + wide, top + _BAR_MM), "#fff")
        text = rule.text(piece)
        fits = len(text) * WIDTH_SHARE * _WORDS_MM <= wide - 0.6
        canvas.words(
            (x + wide / 2.0, top + (3.4 if fits else 7.2)),
            text if fits else str(piece) if rule.units != "us" else text.removesuffix(" in"),
            "middle",
            _WORDS_MM if fits else 1.9,
        )
        x += wide + kerf
    left = cuts.plan.stock - sum(stick.pieces) - cuts.plan.kerf * len(stick.pieces)
    if left > 0:
        text = f"left {rule.text(left)}"
        if len(text) * WIDTH_SHARE * _WORDS_MM <= end - x - 0.6:
            canvas.words(((x + end) / 2.0, top + 3.4), text, "middle", _WORDS_MM)
