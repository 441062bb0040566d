"""What one part of a site can be had for: points of (head needed, fall needed, water held, cost).

A front lists every point that no other beats in all four. Three steps build it exactly: putting a
stretch with its builds in front of what hangs below, joining two parts that meet at a node, and
taking the best of several ways to one state. A coordinate that cannot bind is left at zero, which
turns the general front into the cheap two-dimensional one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from optimizer.milp.fronts import Floats, Whole

NOTHING_NEEDED = -np.inf


@dataclass(frozen=True)
class Limits:
    """The most a point may need and still be part of some design.

    Attributes:
        need_m: head at the pump.
        fall_m: fall, as minus the level that must be reached at the sump.
        volume_m3: water in pipes.
    """

    need_m: float
    fall_m: float
    volume_m3: float


@dataclass(frozen=True, eq=False)
class Points:
    """Points of one front, and for each where it came from (two indices).

    Attributes:
        need_m: head needed at the inlet.
        fall_m: minus the level the return pipe reaches at its lower end.
        volume_m3: share of the supply pipes' water that drains back.
        cents: cost.
        first: index of the build, of the point of the left part, or of the alternative.
        second: index of the point below, of the right part, or within the alternative.
    """

    need_m: Floats
    fall_m: Floats
    volume_m3: Floats
    cents: Floats
    first: Whole
    second: Whole

    def __len__(self) -> int:
        return len(self.cents)

    @property
    def flat(self) -> bool:
        """Whether only head and cost differ between points."""
        return not (_varies(self.fall_m) or _varies(self.volume_m3))

    def at(self, chosen: Whole) -> Points:
        """The chosen points, in the order given."""
        return Points(
            self.need_m[chosen],
            self.fall_m[chosen],
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
        ways: (duty, build) or ("", build) of a return stretch.
        returning: whether it is return pipe.
        loss_m: head lost, or fall.
        base_m: least of what is needed below, by the way itself (an outlet's level, a crown).
        volume_m3: water that drains back.
        cents: cost.
    """

    stretch: str
    ways: tuple[tuple[str, str], ...]
    returning: bool
    loss_m: Floats
    base_m: Floats
    volume_m3: Floats
    cents: Floats

    @property
    def key(self) -> tuple[bool, bytes]:
        """Equal for ladders of equal figures."""
        parts = (self.loss_m, self.base_m, self.volume_m3, self.cents)
        return self.returning, b"".join(p.tobytes() for p in parts)


def nothing() -> Points:
    """The one point of a part that is not there."""
    zero, none = np.zeros(1), np.full(1, NOTHING_NEEDED)
    index = np.zeros(1, dtype=np.int64)
    return Points(none, none, zero, zero, index, index)


def some_cost(cents: float, need_m: float) -> Points:
    """One point: a cost and a head needed, and nothing else."""
    zero, none = np.zeros(1), np.full(1, NOTHING_NEEDED)
    index = np.zeros(1, dtype=np.int64)
    return Points(np.array([need_m]), none, zero, np.array([cents]), index, index)


def laid(ladder: Ladder, below: Points, most: Limits) -> Points:
    """Put a stretch, in every way it may be built, in front of what hangs below it."""
    ways, count = len(ladder.cents), len(below)
    way = np.repeat(np.arange(ways), count)
    under = np.tile(np.arange(count), ways)
    deep = below.fall_m if ladder.returning else below.need_m
    deepest = ladder.loss_m[way] + np.maximum(ladder.base_m[way], deep[under])
    other = (below.need_m if ladder.returning else below.fall_m)[under]
    need, fall = (other, deepest) if ladder.returning else (deepest, other)
    made = Points(
        need,
        fall,
        below.volume_m3[under] + ladder.volume_m3[way],
        below.cents[under] + ladder.cents[way],
        way,
        under,
    )
    return unbeaten(made, most)


def joined(left: Points, right: Points, most: Limits) -> Points:
    """Two parts that meet at a node: the greater need of each kind, the sum of water and cost."""
    if not len(left) or not len(right):
        return left if not len(left) else right
    if left.flat and right.flat:
        return _joined_flat(left, right)
    one = np.repeat(np.arange(len(left)), len(right))
    two = np.tile(np.arange(len(right)), len(left))
    made = Points(
        np.maximum(left.need_m[one], right.need_m[two]),
        np.maximum(left.fall_m[one], right.fall_m[two]),
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
    return Points(
        need,
        np.full(len(need), max(float(left.fall_m[0]), float(right.fall_m[0]))),
        np.full(len(need), float(left.volume_m3[0]) + float(right.volume_m3[0])),
        left.cents[one] + right.cents[two],
        one,
        two,
    )


def best_of(parts: Sequence[Points], most: Limits) -> Points:
    """The points that are unbeaten among several alternatives."""
    made = Points(
        np.concatenate([p.need_m for p in parts]),
        np.concatenate([p.fall_m for p in parts]),
        np.concatenate([p.volume_m3 for p in parts]),
        np.concatenate([p.cents for p in parts]),
        np.repeat(np.arange(len(parts)), [len(p) for p in parts]),
        np.concatenate([np.arange(len(p)) for p in parts]),
    )
    return unbeaten(made, most)


def unbeaten(points: Points, most: Limits) -> Points:
    """The points within the limits that no other point beats, by rising head needed."""
    within = (
        (points.need_m <= most.need_m)
        & (points.fall_m <= most.fall_m)
        & (points.volume_m3 <= most.volume_m3)
    )
    kept = np.flatnonzero(within)
    order = kept[np.lexsort((points.cents[kept], points.need_m[kept]))]
    if len(order) == 0 or points.flat:
        cheapest = np.minimum.accumulate(points.cents[order])
        better = np.append(True, cheapest[1:] < cheapest[:-1])[: len(order)]
        return points.at(order[better])
    return points.at(order[_unbeaten_of_many(points.at(order))])


def _unbeaten_of_many(points: Points) -> npt.NDArray[np.bool_]:
    """Which points no earlier or equal point beats; points come by rising need, then cost."""
    values = np.column_stack([points.cents, points.fall_m, points.volume_m3])
    rank = np.lexsort((points.volume_m3, points.fall_m, points.cents, points.need_m))
    kept = np.zeros(len(points), dtype=np.bool_)
    front = np.empty_like(values)
    size = 0
    for place in rank.tolist():
        if size and bool((front[:size] <= values[place]).all(axis=1).any()):
            continue
        front[size] = values[place]
        size += 1
        kept[place] = True
    return kept


def _varies(values: Floats) -> bool:
    return bool(len(values)) and bool((values != values[0]).any())
