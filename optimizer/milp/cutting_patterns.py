"""Ways to cut one stick: the one worth most, and all that are worth enough. Whole numbers only.

A pattern says how many pieces of each length one stick gives. Room is what is left of the stick,
saw cuts included: every piece takes its length and one saw cut, and the stick is one cut longer,
because the last piece needs none after it.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

Pattern = tuple[int, ...]


def best_pattern(
    rooms: Sequence[int], demands: Sequence[int], worths: Sequence[int], room: int
) -> tuple[int, Pattern]:
    """Return the greatest worth one stick can give, and a pattern that gives it.

    A bounded knapsack solved by its table, exact because all is whole numbers.

    Args:
        rooms: what one piece of each length takes, above 0.
        demands: most pieces of each length.
        worths: worth of one piece of each length, 0 or more.
        room: what a stick has.

    >>> best_pattern([3, 5], [2, 1], [30, 40], 8)
    (70, (1, 1))
    """
    best = np.zeros(room + 1, dtype=np.int64)
    taken = np.zeros((len(rooms), room + 1), dtype=np.int32)
    for i, (size, most, worth) in enumerate(zip(rooms, demands, worths, strict=True)):
        before = best.copy()
        for count in range(1, min(most, room // size) + 1):
            gained = before[: room + 1 - count * size] + count * worth
            better = gained > best[count * size :]
            best[count * size :][better] = gained[better]
            taken[i, count * size :][better] = count
    counts, left = [0] * len(rooms), room
    for i in range(len(rooms) - 1, -1, -1):
        counts[i] = int(taken[i, left])
        left -= counts[i] * rooms[i]
    return int(best[room]), tuple(counts)


def patterns_worth(
    rooms: Sequence[int],
    demands: Sequence[int],
    worths: Sequence[int],
    room: int,
    least: int,
    most_patterns: int,
) -> list[Pattern] | None:
    """Return every pattern of at least a worth that no further piece fits into.

    Args:
        rooms: what one piece of each length takes, falling.
        demands: most pieces of each length.
        worths: worth of one piece of each length.
        room: what a stick has.
        least: least worth of a pattern.
        most_patterns: give up beyond so many.

    Returns:
        The patterns, or None where there are too many.
    """
    density = [worth / size for worth, size in zip(worths, rooms, strict=True)]
    hopes = [max(density[i:], default=0.0) for i in range(len(rooms) + 1)]
    found: list[Pattern] = []
    counts = [0] * len(rooms)

    def walk(i: int, left: int, worth: int) -> bool:
        if worth + hopes[i] * left < least - 1e-6 * (1 + least):
            return True
        if i == len(rooms):
            if worth >= least and _is_full(rooms, demands, counts, left):
                found.append(tuple(counts))
            return len(found) <= most_patterns
        for count in range(min(demands[i], left // rooms[i]), -1, -1):
            counts[i] = count
            if not walk(i + 1, left - count * rooms[i], worth + count * worths[i]):
                return False
        return True

    return found if walk(0, room, 0) else None


def _is_full(
    rooms: Sequence[int], demands: Sequence[int], counts: Sequence[int], left: int
) -> bool:
    return not any(
        size <= left and have < most
        for size, most, have in zip(rooms, demands, counts, strict=True)
    )


def greedy_patterns(rooms: Sequence[int], demands: Sequence[int], room: int) -> list[Pattern]:
    """Return sticks filled one by one, the longest piece that fits first; ``rooms`` falling."""
    if any(a < b for a, b in pairwise(rooms)):
        raise ValueError("lengths must fall")
    left_over, sticks = list(demands), []
    while any(left_over):
        left, counts = room, [0] * len(rooms)
        for i, size in enumerate(rooms):
            counts[i] = min(left_over[i], left // size)
            left_over[i] -= counts[i]
            left -= counts[i] * size
        sticks.append(tuple(counts))
    return sticks
