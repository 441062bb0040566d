"""An alternative that a design was priced against."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class NearMiss:
    """What nearly decided otherwise: an alternative and what it would cost more."""

    what: str
    extra_cents: int | None
    note: str
