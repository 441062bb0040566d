"""Phases: the steps in which a site is built, as a grower names them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Phase:
    """One step of building.

    Attributes:
        name: what it is called.
        year: when it is built, in years from now; 0 for the first.
        rows: rows and named positions that may hold beds from then on, beside those of earlier
            phases; None where no phase names any, and all are open from the first.
        beds: beds in all when it is done, wherever they cost least; None: every bed that the open
            rows must hold, and what the site asks for in the last phase.
    """

    name: str
    year: float
    rows: tuple[str, ...] | None = None
    beds: int | None = None
