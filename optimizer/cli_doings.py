"""What ``simulate`` is told to do to a plant, read from the command line: all faults at once."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from itertools import pairwise
from typing import TypeVar

from optimizer.errors import BadInput, Problem

T = TypeVar("T")

Stop = tuple[float, float]
Shut = tuple[str, float]
Clog = tuple[str, float, float]


def read_doings(
    pump_off: Iterable[str], valve_shut: Iterable[str], clog: Iterable[str], hours: float
) -> tuple[tuple[Stop, ...], tuple[Shut, ...], tuple[Clog, ...]]:
    """Return pump stops in order, shut valves and clogged media; times in hours, losses as shares.

    Args:
        pump_off: as ``10-11.5``.
        valve_shut: as ``A1@6``.
        clog: as ``A1@6=30%``.
        hours: length of the run.

    Raises:
        BadInput: naming every one that cannot be read or lies outside the run.
    """
    problems: list[Problem] = []
    within = f"within the run of {hours:g} h"
    stops = _each(
        "--pump-off",
        pump_off,
        lambda text: _stop(text, hours),
        f"Write two hours, the earlier first and {within}, as 10-11.5.",
        problems,
    )
    shut = _each(
        "--valve-shut",
        valve_shut,
        lambda text: _shut(text, hours),
        f"Write a bed and an hour {within}, as A1@6.",
        problems,
    )
    clogged = _each(
        "--clog",
        clog,
        lambda text: _clog(text, hours),
        f"Write a bed, an hour {within} and how much of the room for water is lost, as A1@6=30%.",
        problems,
    )
    stops.sort()
    for (_, end), later in pairwise(stops):
        if later[0] < end:
            what = f"begins before the stop until hour {end:g} is over."
            fix = "Join the two stops, or leave time between them."
            problems.append(Problem(f"--pump-off {later[0]:g}-{later[1]:g}", what, fix))
    if problems:
        raise BadInput(problems)
    return tuple(stops), tuple(shut), tuple(clogged)


def _each(
    option: str,
    texts: Iterable[str],
    read: Callable[[str], T | None],
    fix: str,
    problems: list[Problem],
) -> list[T]:
    found = []
    for text in texts:
        value = read(text)
        if value is None:
            problems.append(Problem(f"{option} {text}", "cannot be read.", fix))
        else:
            found.append(value)
    return found


def _stop(text: str, hours: float) -> Stop | None:
    begin, _, end = text.partition("-")
    a, b = _number(begin), _number(end)
    return (a, b) if 0.0 <= a < hours and a < b < math.inf else None


def _shut(text: str, hours: float) -> Shut | None:
    bed, _, hour = text.rpartition("@")
    return (bed, _number(hour)) if bed and 0.0 <= _number(hour) < hours else None


def _clog(text: str, hours: float) -> Clog | None:
    """Read a clog; a bare number below 1 is refused, as it may be a share or percent."""
    place, _, written = text.rpartition("=")
    found, percent = _shut(place, hours), _number(written.strip().removesuffix("%"))
    plain = percent >= 1.0 or written.strip().endswith("%")
    return (*found, percent / 100.0) if found and plain and 0.0 < percent < 100.0 else None


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan
