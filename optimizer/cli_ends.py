"""The first and last value of what ``explore`` looks at: read, or refused where it has none."""

from __future__ import annotations

from optimizer.errors import BadInput, Problem

DIMENSIONS = {"floods": "rate_per_hour", "area": "area", "energy": "energy_price"}
"""The fronts whose ends are quantities, and of which kind."""

NEEDLESS = {"sump": ("--from", "--to"), "energy": ("--from",)}
"""Ends that a front has none of: every sump is looked at, and energy begins at price 0."""


def read_ends(over: str, low: str | None, high: str | None) -> tuple[float | None, float | None]:
    """Return the ends of a front, None where one is left out.

    Raises:
        BadInput: with every end that cannot be read, means nothing or is not above 0.
    """
    problems: list[Problem] = []
    ends = [_end(over, *end, problems) for end in (("--from", low), ("--to", high))]
    if problems:
        raise BadInput(problems)
    return ends[0], ends[1]


def _end(over: str, option: str, text: str | None, problems: list[Problem]) -> float | None:
    from optimizer.units import UnitError, parse_quantity

    if text is None:
        return None
    if option in NEEDLESS.get(over, ()):
        problems.append(Problem(option, f"means nothing for {over}.", "Leave it out."))
        return None
    try:
        value = parse_quantity(text, DIMENSIONS[over])
    except UnitError as fault:
        problems.append(Problem(option, fault.what, fault.fix))
        return None
    if value <= 0.0 and over != "area":
        problems.append(Problem(option, f"read {text!r}, which is not above 0.", "Give more."))
    return value


def given_or(given: float | None, default: float) -> float:
    """Return what was given, 0 too, else the default."""
    return default if given is None else given


def rising(low: float, high: float) -> tuple[float, float]:
    """Return two ends.

    Raises:
        BadInput: if the last lies below the first.
    """
    if low > high:
        what = f"there is nothing from {low:g} to {high:g}."
        raise BadInput([Problem("--from and --to", what, "Give the lower one first.")])
    return low, high
