"""Limits over the whole site, as the program sees them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PipeStock:
    """Pipe of one size lying ready: it saves its worth in cents, or what is laid if that is less.

    ``worth_cents`` is its metres at the size's price by the metre, rounded down.
    """

    pipe: str
    worth_cents: int


@dataclass(frozen=True)
class Stays:
    """The choices by which one thing of a site stays as it is.

    Attributes:
        what: ``option`` (the siphon of a bed type), ``stretch``, ``drain``, ``pump`` or ``sump``.
        of: bed type, stretch or return stretch, by id; empty for pump and sump.
        choices: ids of options or builds, any of which leaves it as it stands.
    """

    what: str
    of: str
    choices: tuple[str, ...]


@dataclass(frozen=True)
class Requirements:
    """Limits over the whole site.

    ``budget_cents`` is the most money to buy with; ``pipe_sizes_most`` the most sizes of pipe laid
    anew; ``loud_hours_most`` the most hours a day that a loud pump runs. None: no limit.
    ``fed_by_tank`` where a tank of fixed level feeds the beds. ``unlike`` has a group for each
    earlier answer: what it changed, of which some thing must stay. ``units`` are those in which a
    refusal is told.
    """

    beds_least: int
    area_least_m2: float
    drain_back_share: float
    budget_cents: int | None = None
    pipe_sizes_most: int | None = None
    fed_by_tank: bool = False
    unlike: tuple[tuple[Stays, ...], ...] = ()
    loud_hours_most: float | None = None
    units: str = "metric"
