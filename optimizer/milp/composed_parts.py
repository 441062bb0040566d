"""Parts of a site with where they came from, so that a chosen point can be walked back down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from optimizer.milp.composed_labels import (
    Ladder,
    Limits,
    Points,
    best_of,
    joined,
    laid,
    some_cost,
)


@dataclass(frozen=True, eq=False)
class Part:
    """A front and how it was made.

    Attributes:
        points: the front.
        ladder: the stretch put in front of ``below[0]``; None for a join or an alternative.
        below: the parts it was made of.
        alternatives: whether ``below`` are alternatives, of which each point takes one.
        plan: the plan this part begins with, if any.
    """

    points: Points
    ladder: Ladder | None = None
    below: tuple[Part, ...] = ()
    alternatives: bool = False
    plan: str | None = None


@dataclass
class Workshop:
    """Makes parts, and makes equal ones once: rows of equal pipe share their fronts.

    Attributes:
        most: limits that every point keeps.
    """

    most: Limits
    _made: dict[tuple[object, ...], Points] = field(default_factory=dict)

    def start(self, cents: float, need_m: float, plan: str | None = None) -> Part:
        """A part of one point."""
        key = ("start", cents, need_m)
        if key not in self._made:
            self._made[key] = some_cost(cents, need_m)
        return Part(self._made[key], plan=plan)

    def lay(self, ladder: Ladder, below: Part) -> Part:
        """Put a stretch in front of a part."""
        key = ("lay", ladder.key, below.points)
        if key not in self._made:
            self._made[key] = laid(ladder, below.points, self.most)
        return Part(self._made[key], ladder, (below,))

    def join(self, left: Part, right: Part) -> Part:
        """Join two parts that meet at a node."""
        key = ("join", left.points, right.points)
        if key not in self._made:
            self._made[key] = joined(left.points, right.points, self.most)
        return Part(self._made[key], None, (left, right))

    def best(self, parts: Sequence[Part]) -> Part:
        """Take what is unbeaten of several alternatives."""
        if len(parts) == 1:
            return parts[0]
        key = ("best", *(p.points for p in parts))
        if key not in self._made:
            self._made[key] = best_of([p.points for p in parts], self.most)
        return Part(self._made[key], None, tuple(parts), alternatives=True)


@dataclass
class Walk:
    """What a chosen point is made of: plans, supply builds and return builds."""

    plans: list[str] = field(default_factory=list)
    builds: dict[str, tuple[str, str]] = field(default_factory=dict)
    drains: dict[str, str] = field(default_factory=dict)


def walked(part: Part, point: int, found: Walk) -> Walk:
    """Follow a point down to everything it is made of."""
    stack = [(part, point)]
    while stack:
        at, index = stack.pop()
        if at.plan is not None:
            found.plans.append(at.plan)
        if not at.below:
            continue
        first, second = int(at.points.first[index]), int(at.points.second[index])
        if at.alternatives:
            stack.append((at.below[first], second))
        elif at.ladder is None:
            stack += [(at.below[0], first), (at.below[1], second)]
        else:
            _note(at.ladder, first, found)
            stack.append((at.below[0], second))
    return found


def _note(ladder: Ladder, way: int, found: Walk) -> None:
    duty, build = ladder.ways[way]
    if duty:
        found.builds[ladder.stretch] = (duty, build)
    else:
        found.drains[ladder.stretch] = build
