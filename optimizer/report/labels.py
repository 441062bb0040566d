"""Where words go on the plan, so that none lies on another.

Everything is in pixels of the finished picture, y downward. A label is tried in each of its places
in order; the first free one is taken, and a label with no free place is left out (its figures
stand in the table beside the plan).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product

CHAR_SHARE = 0.6
"""Mean width of a character over its size in our fonts (measured on sans faces, rounded up)."""

LINE_SHARE = 1.25


@dataclass(frozen=True)
class Box:
    """An upright rectangle of pixels."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Box) -> bool:
        """Whether two boxes share any area."""
        apart = self.right <= other.left or other.right <= self.left
        return not (apart or self.bottom <= other.top or other.bottom <= self.top)

    def inside(self, other: Box) -> bool:
        """Whether this box lies within another."""
        wide = other.left <= self.left and self.right <= other.right
        return wide and other.top <= self.top and self.bottom <= other.bottom


@dataclass(frozen=True)
class Label:
    """What may be said, the fullest first, and where: (x, y, angle in degrees), the best first."""

    words: tuple[str, ...]
    places: tuple[tuple[float, float, float], ...]
    size_px: float


@dataclass(frozen=True)
class Placed:
    """Words and where they stand."""

    words: str
    x_px: float
    y_px: float
    angle: float
    box: Box


def width_px(words: str, size_px: float) -> float:
    """Return about how wide one line of words is."""
    return CHAR_SHARE * size_px * len(words)


def box_at(words: str, x_px: float, y_px: float, angle: float, size_px: float) -> Box:
    """Return the box of words centred at a point, level (0) or upright (90 or 270)."""
    half, tall = width_px(words, size_px) / 2.0, LINE_SHARE * size_px / 2.0
    if angle % 180.0:
        half, tall = tall, half
    return Box(x_px - half, y_px - tall, x_px + half, y_px + tall)


def place(
    labels: Iterable[Label], taken: Sequence[Box], frame: Box, avoid: Sequence[Box] = ()
) -> list[Placed]:
    """Place labels one by one, the first ones first, clear of what is taken.

    Args:
        labels: in order of importance.
        taken: boxes no label may touch.
        frame: the picture; labels stay inside.
        avoid: boxes a label touches only where it finds no place clear of them.

    Returns:
        the labels that found room.
    """
    busy, placed = list(taken), []
    for label in labels:
        found = _first_free(label, [*busy, *avoid], frame) or _first_free(label, busy, frame)
        if found:
            placed.append(found)
            busy.append(found.box)
    return placed


def _first_free(label: Label, busy: Sequence[Box], frame: Box) -> Placed | None:
    for words, (x, y, angle) in product(label.words, label.places):
        box = box_at(words, x, y, angle, label.size_px)
        if box.inside(frame) and not any(box.overlaps(other) for other in busy):
            return Placed(words, x, y, angle, box)
    return None
