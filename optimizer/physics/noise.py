"""How loud equal pumps are together, and how long a day they are louder than a level."""

from __future__ import annotations

import math

HEARD_DB = 1e-9
"""A level above another by no more than this is not louder: only rounding."""


def together_db(level_db: float, count: int) -> float:
    """Return the sound level of equal pumps side by side, L + 10 log10(n).

    Their sounds keep no step with one another, so their powers add up, not their pressures
    (Hartmann, Signals, Sound and Sensation, 1998, second hand).

    Args:
        level_db: sound pressure level of one, dB.
        count: how many run, 1 or more.

    Raises:
        ValueError: if none runs.
    """
    if count < 1:
        raise ValueError(f"count is {count}; give 1 or more")
    return level_db + 10.0 * math.log10(count)


def loud_hours_per_day(
    level_db: float | None, count: int, louder_than_db: float, hours_per_day: float
) -> float:
    """Return the hours a day in which equal pumps are louder than a level: all they run, or none.

    Args:
        level_db: sound pressure level of one pump, dB; None where it is not told, which counts as
            louder (A95).
        count: how many run.
        louder_than_db: the level, dB.
        hours_per_day: how long they run.
    """
    if level_db is None or together_db(level_db, count) > louder_than_db + HEARD_DB:
        return hours_per_day
    return 0.0
