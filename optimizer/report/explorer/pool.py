"""Equal things once: what many designs share is written one time and named by its place."""

from __future__ import annotations

import json
from typing import Any

DIGITS = 9
"""Significant digits of a figure in the page; far more than it shows."""


class Pool:
    """Plain values in the order they first came."""

    def __init__(self) -> None:
        self.items: list[Any] = []
        self._places: dict[str, int] = {}

    def place(self, value: Any) -> int:  # noqa: ANN401  # any plain value
        """Return the place of a value, adding it where it is new."""
        key = json.dumps(value, sort_keys=True)
        if key not in self._places:
            self._places[key] = len(self.items)
            self.items.append(value)
        return self._places[key]


def brief(value: float) -> float | int:
    """Return a figure to :data:`DIGITS` significant digits, a whole one as a whole number.

    >>> brief(1 / 3), brief(2.0)
    (0.333333333, 2)
    """
    short = float(f"{value:.{DIGITS}g}")
    return int(short) if short.is_integer() and abs(short) < 10**DIGITS else short
