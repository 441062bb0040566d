"""A study whose rows a test writes itself: what is made of them can be worked out by hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from optimizer.explore.point import DESIGNED, FAILED, Search

Row = dict[str, Any]


@dataclass
class FakeStudy:
    """Answers every point by a function of its changes."""

    answer: Callable[[Mapping[str, Any]], Row]
    search: Search = field(default_factory=lambda: Search(gap=0.0))
    job: Any = None

    def rows(self, points: list[Mapping[str, Any]]) -> list[Row]:
        return [{"key": str(point), **point, **self.answer(point)} for point in points]

    def design(self, row: Row) -> Row:
        return row


def designed(cost: float, **more: Any) -> Row:  # any figure of a row
    """A row with a design of a proven least cost."""
    row = {"outcome": DESIGNED, "reason": "", "cost": cost, "bound": cost, "status": "optimal"}
    return {**row, "check": "not run", **more}


def failed(reason: str = "out of time") -> Row:
    """A row of a search that ended without a design."""
    return {"outcome": FAILED, "reason": reason}
