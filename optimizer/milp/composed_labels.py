"""What one part of a site can be had for: points of (head needed, water held, cost).

A front lists every point that no other beats. Three steps build it exactly: putting a stretch with
its builds in front of what hangs below, joining two parts that meet at a node, and taking the best
of several ways. Where the water held does not vary the front is the cheap two-dimensional one.
Return pipe uses the same steps, with the fall below a bed in place of head.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from optimizer.milp.fronts import Bools, Floats, Whole

NOTHING_NEEDED = -np.inf
EMPTY = b"no way"


@dataclass(frozen=True)
class Limits:
    """The most a point may need or hold and still be part of some design."""

    need_m: float
    volume_m3: float = np.inf


@dataclass(frozen=True, eq=False)
class Points:
    """Points of one front, and for each where it came from (two indices).

    Attributes:
        need_m: head needed at the inlet, or minus the level a return pipe reaches at its end.
        volume_m3: share of the supply pipes' water that drains back.
        cents: cost.
        first: index of the build, of the point of the left part, or of the alternative.
        second: index of the point below, of the right part, or within the alternative.
    """

    need_m: Floats
    volume_m3: Floats
    cents: Floats
    first: Whole
    second: Whole

    def __len__(self) -> int:
        return len(self.cents)

    @cached_property
    def flat(self) -> bool:
        """Whether only need and cost differ between points."""
        return not len(self) or not bool((self.volume_m3 != self.volume_m3[0]).any())

    def at(self, chosen: Whole) -> Points:
        """The chosen points, in the order given."""
        return Points(
            self.need_m[chosen],
            self.volume_m3[chosen],
            self.cents[chosen],
            self.first[chosen],
            self.second[chosen],
        )


@dataclass(frozen=True)
class Ladder:
    """Every way to build one stretch under one duty.

    Attributes:
        stretch: the stretch.
        ways: (duty, build); the duty is "" for return pipe.
        loss_m: head lost, or fall.
        base_m: least of what is needed below, by the way itself (an outlet's level, a crown).
        volume_m3: water that drains back.
        cents: cost.
        key: equal for ladders of equal figures; worked out where left empty.
    """

    stretch: str
    ways: tuple[tuple[str, str], ...]
    loss_m: Floats
    base_m: Floats
    volume_m3: Floats
    cents: Floats
    key: bytes = b""

    def __post_init__(self) -> None:
        if not self.key:
            parts = (self.loss_m, self.base_m, self.volume_m3, self.cents)
            object.__setattr__(self, "key", b"".join(p.tobytes() for p in parts) or EMPTY)

    def named(self, stretch: str) -> Ladder:
        """The same ladder of another stretch."""
        return replace(self, stretch=stretch, key=self.key)


def some_cost(cents: float, need_m: float) -> Points:
    """One point: a cost and a head needed, and nothing else."""
    index = np.zeros(1, dtype=np.int64)
    return Points(np.array([need_m]), np.zeros(1), np.array([cents]), index, index)


def laid(ladder: Ladder, below: Points, most: Limits) -> Points:
    """Put a stretch, in every way it may be built, in front of what hangs below it."""
    ways, count = len(ladder.cents), len(below)
    deep = ladder.loss_m[:, np.newaxis] + np.maximum(
        ladder.base_m[:, np.newaxis], below.need_m[np.newaxis, :]
    )
    made = Points(
        deep.ravel(),
        (ladder.volume_m3[:, np.newaxis] + below.volume_m3[np.newaxis, :]).ravel(),
        (ladder.cents[:, np.newaxis] + below.cents[np.newaxis, :]).ravel(),
        np.repeat(np.arange(ways), count),
        np.tile(np.arange(count), ways),
    )
    return unbeaten(made, most)


def joined(left: Points, right: Points, most: Limits) -> Points:
    """Two parts that meet at a node: the greater need, the sum of water and cost."""
    if not len(left) or not len(right):
        return left if not len(left) else right
    if left.flat and right.flat:
        return _joined_flat(left, right)
    one = np.repeat(np.arange(len(left)), len(right))
    two = np.tile(np.arange(len(right)), len(left))
    made = Points(
        np.maximum(left.need_m[one], right.need_m[two]),
        left.volume_m3[one] + right.volume_m3[two],
        left.cents[one] + right.cents[two],
        one,
        two,
    )
    return unbeaten(made, most)


def _joined_flat(left: Points, right: Points) -> Points:
    least = max(float(left.need_m[0]), float(right.need_m[0]))
    every = np.concatenate([left.need_m, right.need_m])
    need = np.unique(np.append(every[every > least], least))
    one = np.searchsorted(left.need_m, need, side="right") - 1
    two = np.searchsorted(right.need_m, need, side="right") - 1
    volume = np.full(len(need), float(left.volume_m3[0]) + float(right.volume_m3[0]))
    return Points(need, volume, left.cents[one] + right.cents[two], one, two)


def best_of(parts: Sequence[Points], most: Limits) -> Points:
    """The points that are unbeaten among several alternatives."""
    made = Points(
        np.concatenate([p.need_m for p in parts]),
        np.concatenate([p.volume_m3 for p in parts]),
        np.concatenate([p.cents for p in parts]),
        np.repeat(np.arange(len(parts)), [len(p) for p in parts]),
        np.concatenate([np.arange(len(p)) for p in parts]),
    )
    return unbeaten(made, most)


def unbeaten(points: Points, most: Limits) -> Points:
    """The points within the limits that no other point beats, by rising need."""
    within = (points.need_m <= most.need_m) & (points.volume_m3 <= most.volume_m3)
    kept = np.flatnonzero(within)
    if points.flat:
        return points.at(kept[_falling(points.need_m[kept], points.cents[kept])])
    order = kept[np.lexsort((points.volume_m3[kept], points.cents[kept], points.need_m[kept]))]
    return points.at(order[_unbeaten_of_many(points.at(order))])


def _falling(need_m: Floats, cents: Floats) -> Whole:
    """The points that no other beats in need and cost, by rising need; the first of equal ones."""
    order = np.argsort(need_m, kind="stable")
    falling = cents[order]
    better = np.ones(len(order), dtype=np.bool_)
    better[1:] = falling[1:] < np.minimum.accumulate(falling)[:-1]
    order = order[better]
    last = np.ones(len(order), dtype=np.bool_)  # of points of equal need, the last is cheapest
    last[:-1] = need_m[order[1:]] != need_m[order[:-1]]
    found: Whole = order[last]
    return found


def _unbeaten_of_many(points: Points) -> Bools:
    """Which points no earlier one beats; points come by rising need, then cost, then water."""
    kept = np.zeros(len(points), dtype=np.bool_)
    stairs_cents: list[float] = []
    stairs_volume: list[float] = []
    for place, (cents, volume) in enumerate(
        zip(points.cents.tolist(), points.volume_m3.tolist(), strict=True)
    ):
        if _above_the_stairs(stairs_cents, stairs_volume, cents, volume):
            continue
        kept[place] = True
        _add_a_step(stairs_cents, stairs_volume, cents, volume)
    return kept


def _above_the_stairs(cents: list[float], volumes: list[float], cost: float, water: float) -> bool:
    at = bisect_right(cents, cost)
    return at > 0 and volumes[at - 1] <= water


def _add_a_step(cents: list[float], volumes: list[float], cost: float, water: float) -> None:
    """Keep (cost rising, water falling) steps, dropping those the new one beats."""
    at = end = bisect_left(cents, cost)
    while end < len(cents) and volumes[end] >= water:
        end += 1
    cents[at:end], volumes[at:end] = [cost], [water]
