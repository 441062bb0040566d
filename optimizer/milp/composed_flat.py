"""Fronts of many states at once, as one flat table: the composed program's fast half.

A table lists points (state, head needed, cost), sorted so, none beaten within its state. Merging
two subtrees, and putting a stretch in front of every state at its own flow, are a few array
operations however many states there are. Each step may thin a front: neighbouring points whose
costs differ by less than a given amount become one, with the least head and the least cost of
them. That lowers costs by less than the amount, so the table stays a bound, and each of its points
still leads back to a true way of building.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from optimizer.milp.composed_branches import RowFront
from optimizer.milp.composed_labels import Ladder
from optimizer.milp.fronts import Bools, Floats, Whole


@dataclass(frozen=True, eq=False)
class Rungs:
    """Ways to put a stretch in front of a table.

    Attributes:
        ladders: the different ways, None where the stretch stays dry.
        which: the place of its ladder, by state.
    """

    ladders: tuple[Ladder | None, ...]
    which: Whole

    def of(self, place: int) -> Ladder | None:
        """The ladder of the state at a place."""
        return self.ladders[int(self.which[place])]

    def by_state(self) -> tuple[Floats, Floats]:
        """Head lost and cost by state and build; inf where there is no such build."""
        most = max((1 if g is None else len(g.ways) for g in self.ladders), default=1)
        loss_m = np.full((len(self.ladders), max(1, most)), np.inf)
        cents = np.full_like(loss_m, np.inf)
        for row, ladder in enumerate(self.ladders):
            if ladder is None:
                loss_m[row, 0] = cents[row, 0] = 0.0
            else:
                loss_m[row, : len(ladder.ways)] = ladder.loss_m
                cents[row, : len(ladder.ways)] = ladder.cents
        return loss_m[self.which], cents[self.which]


@dataclass(frozen=True, eq=False)
class Flat:
    """A flat table of fronts and where each point came from.

    Attributes:
        states: the states, rising.
        starts: where each state's points begin, and the end.
        need_m: head needed.
        cents: cost, or a bound on it.
        first: index of the build, of the left table's point, or of the plan.
        second: index of the point below, of the right table's point, or within the plan's front.
        left: the table below, or the left of two.
        right: the right of two.
        plans: the fronts a branch's table was made of.
        rungs: the stretch put in front of the states of the table below, if any.
    """

    states: Whole
    starts: Whole
    need_m: Floats
    cents: Floats
    first: Whole
    second: Whole
    left: Flat | None = None
    right: Flat | None = None
    plans: tuple[RowFront, ...] = ()
    rungs: Rungs | None = None

    def of_state(self, place: int) -> slice:
        """The points of the state at a place."""
        return slice(int(self.starts[place]), int(self.starts[place + 1]))

    @property
    def places(self) -> Whole:
        """For each point the place of its state."""
        return np.repeat(np.arange(len(self.states)), np.diff(self.starts))

    @property
    def by_point(self) -> Whole:
        """For each point its state."""
        return np.repeat(self.states, np.diff(self.starts))


@dataclass(frozen=True)
class Raw:
    """Points in any order, before the beaten ones are dropped."""

    states: Whole
    need_m: Floats
    cents: Floats
    first: Whole
    second: Whole

    def only(self, kept: Bools) -> Raw:
        """The points that are kept."""
        return Raw(
            self.states[kept],
            self.need_m[kept],
            self.cents[kept],
            self.first[kept],
            self.second[kept],
        )


def sifted(raw: Raw, thin_cents: float) -> Flat:
    """Drop beaten points, and thin every state's front.

    Args:
        raw: points.
        thin_cents: neighbouring points whose costs differ by less become one; 0 keeps all.
    """
    order = _by_state_and_need(raw)
    order = order[_falling(raw.cents[order], _begins(raw.states[order]))]
    states, need_m = raw.states[order], raw.need_m[order]
    last = np.ones(len(order), dtype=np.bool_)  # of points of equal need, the last is cheapest
    last[:-1] = (need_m[1:] != need_m[:-1]) | (states[1:] != states[:-1])
    order = order[last]
    states, cents = raw.states[order], raw.cents[order]
    if thin_cents > 0 and len(order):
        lead, cents = _thinned(states, cents, thin_cents)
        order, states = order[lead], states[lead]
    at = np.flatnonzero(_begins(states))
    starts = np.append(at, len(states)).astype(np.int64)
    return Flat(states[at], starts, raw.need_m[order], cents, raw.first[order], raw.second[order])


def _by_state_and_need(raw: Raw) -> Whole:
    """The order of points by state and head needed; equal ones stay as they stand."""
    order = np.argsort(raw.need_m, kind="stable")
    if not len(order):
        return order
    places = raw.states - raw.states.min()
    most = int(places.max())
    if most == 0:
        return order
    short = places.astype(np.uint16) if most < 2**16 else places  # short whole numbers sort faster
    return order[np.argsort(short[order], kind="stable")]


def _begins(states: Whole) -> Bools:
    begins = np.ones(len(states), dtype=np.bool_)
    begins[1:] = states[1:] != states[:-1]
    return begins


def _falling(cents: Floats, begins: Bools) -> Bools:
    """Which points cost less than every earlier one of their state."""
    falling = np.ones(len(cents), dtype=np.bool_)
    if len(cents):
        low, high = float(cents.min()), float(cents.max())
        step = 2.0 ** np.ceil(np.log2(high - low + 2.0))
        shifted = (cents - low) - np.cumsum(begins) * step
        falling[1:] = shifted[1:] < np.minimum.accumulate(shifted)[:-1]
    return falling


def _thinned(states: Whole, cents: Floats, thin_cents: float) -> tuple[Whole, Floats]:
    """The first point of each group of near-equal costs, and the least cost of each group."""
    begins = _begins(states)
    top = cents[begins][np.cumsum(begins) - 1]
    group = np.floor((top - cents) / thin_cents)
    lead = begins.copy()
    lead[1:] |= group[1:] != group[:-1]
    at = np.flatnonzero(lead)
    return at, cents[np.append(at[1:], len(cents)) - 1]


def of_plans(found: list[tuple[int, RowFront]]) -> Flat:
    """The exact table of one branch: its plans' fronts, each under its state.

    Args:
        found: (state, front of a plan), all with points.
    """
    points = [front.points for _, front in found]
    sizes = [len(p) for p in points]
    raw = Raw(
        np.repeat(np.array([state for state, _ in found], dtype=np.int64), sizes),
        np.concatenate([np.maximum(p.need_m, 0.0) for p in points]),
        np.concatenate([p.cents for p in points]),
        np.repeat(np.arange(len(found)), sizes),
        np.concatenate([np.arange(n) for n in sizes]),
    )
    return replace(sifted(raw, 0.0), plans=tuple(front for _, front in found))


def merged(left: Flat, right: Flat) -> Raw:
    """Two subtrees that meet at a node: every pair of states, larger head and summed cost."""
    ranks = np.unique(np.concatenate([left.need_m, right.need_m]))
    one, two = (np.searchsorted(ranks, f.need_m) for f in (left, right))
    i_left, j_left = _beside(left, right, one, two, len(ranks))
    j_right, i_right = _beside(right, left, two, one, len(ranks))
    i, j = np.concatenate([i_left, i_right]), np.concatenate([j_left, j_right])
    return Raw(
        left.by_point[i] + right.by_point[j],
        np.maximum(left.need_m[i], right.need_m[j]),
        left.cents[i] + right.cents[j],
        i,
        j,
    )


def _beside(
    one: Flat, two: Flat, rank_one: Whole, rank_two: Whole, top: int
) -> tuple[Whole, Whole]:
    """For each point of one table and state of the other, the cheapest point its head allows."""
    keys = two.places * (top + 1) + rank_two
    rows = np.arange(len(two.states))[:, np.newaxis] * (top + 1)
    found = np.searchsorted(keys, rows + rank_one[np.newaxis, :], side="right") - 1
    within = found >= two.starts[:-1][:, np.newaxis]
    mine = np.broadcast_to(np.arange(len(one.need_m))[np.newaxis, :], found.shape)
    return mine[within].astype(np.int64), found[within].astype(np.int64)


def put_in_front(below: Flat, rungs: Rungs) -> Raw:
    """A stretch in front of every state, at its own flow.

    Args:
        below: what hangs at its downstream end, every head needed at least 0.
        rungs: its builds, by the states of ``below``.
    """
    loss_m, cents = rungs.by_state()
    place, ways = below.places, loss_m.shape[1]
    shape = (ways, len(place))
    raw = Raw(
        np.broadcast_to(below.by_point, shape).ravel(),
        (below.need_m + loss_m.T[:, place]).ravel(),
        (below.cents + cents.T[:, place]).ravel(),
        np.repeat(np.arange(ways), len(place)),
        np.broadcast_to(np.arange(len(place)), shape).ravel(),
    )
    return raw.only(np.isfinite(raw.need_m))
