"""A published figure and ours beside it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Outside:
    """One figure from outside that ours is held to.

    Attributes:
        what: the case, with all that is needed to work it out again.
        published: the figure as printed.
        unit: its unit; empty for a pure number.
        within: how far ours may be off, in that unit: the rounding of the print, unless ``why``
            says otherwise.
        source: title, author, year, table or page.
        known: "read" in the source's text or a copy of it, "second hand" as another text quotes
            it, "recalled" from memory and reproduced by our own arithmetic, "ran" from a library.
        ours: works our figure out.
        why: why ``within`` is more than the rounding of the print; empty where it is not.
    """

    what: str
    published: float
    unit: str
    within: float
    source: str
    known: str
    ours: Callable[[], float]
    why: str = ""

    def __str__(self) -> str:
        return self.what
