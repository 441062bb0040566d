"""The scale a drawing is made at, and levels and widths turned into places on paper."""

from __future__ import annotations

from dataclasses import dataclass

SCALES = (1.0, 2.0, 2.5, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 75.0, 100.0)
"""Scales a drawing is made at: one to so many."""


def scale_for(width_m: float, height_m: float, width_mm: float, height_mm: float) -> float:
    """Return the largest listed scale at which something fits on paper.

    Something too big for every scale gets the smallest one times two, again and again.
    """
    need = max(width_m * 1000.0 / width_mm, height_m * 1000.0 / height_mm)
    for scale in SCALES:
        if scale >= need:
            return scale
    scale = SCALES[-1]
    while scale < need:
        scale *= 2.0
    return scale


@dataclass(frozen=True)
class Paper:
    """Where things lie on paper: x from the middle line, levels from the bed's floor.

    Attributes:
        scale: one to so many.
        middle_mm: place of the middle line.
        floor_mm: place of the bed's floor, counted downward.
    """

    scale: float
    middle_mm: float
    floor_mm: float

    def size(self, length_m: float) -> float:
        """Return how long something is on paper, in millimetres."""
        return length_m * 1000.0 / self.scale

    def x(self, across_m: float) -> float:
        """Return the place of a distance from the middle line."""
        return self.middle_mm + self.size(across_m)

    def y(self, level_m: float) -> float:
        """Return the place of a level above the bed's floor."""
        return self.floor_mm - self.size(level_m)

    def at(self, across_m: float, level_m: float) -> tuple[float, float]:
        """Return the place of a point."""
        return self.x(across_m), self.y(level_m)
