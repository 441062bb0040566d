"""The order in which a site is put together, from the ends of its shared pipe to the pump."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.milp.composed_read import Reading
from optimizer.milp.tables import PUMP_NODE
from optimizer.records.problem import StretchTable


@dataclass(frozen=True)
class Step:
    """One step; ``one`` and ``two`` are places of earlier steps.

    Attributes:
        fed: the branches put together so far.
        one: the step it starts from, or the left of two; None for a branch.
        two: the right of two parts that meet; None otherwise.
        stretch: the shared supply stretch put in front, if any.
        returns: whether the return pipe that these branches share is put in front.
    """

    fed: frozenset[str]
    one: int | None = None
    two: int | None = None
    stretch: StretchTable | None = None
    returns: bool = False


def steps(reading: Reading) -> list[Step]:
    """Every step, each after those it builds on; the last is the whole site at the pump."""
    made: list[Step] = []
    laid: set[frozenset[str]] = set()
    below: dict[str, int] = {}
    for stretch in reversed(reading.tables.shared):
        at = _node(reading, stretch.head, below, made)
        fed = made[at].fed
        if reading.shared_drains.get(fed) and fed not in laid:
            laid.add(fed)
            made.append(Step(fed, at, returns=True))
        made.append(Step(fed, len(made) - 1, stretch=stretch))
        below[stretch.id] = len(made) - 1
    _node(reading, PUMP_NODE, below, made)
    return made


def _node(reading: Reading, node: str, below: dict[str, int], made: list[Step]) -> int:
    """Put together everything that hangs on a node, and return the place of the last step."""
    parts = [below.pop(s.id) for s in reading.below_node.get(node, []) if s.branch is None]
    for branch in reading.branches_at.get(node, []):
        made.append(Step(frozenset({branch})))
        parts.append(len(made) - 1)
    if not parts:
        made.append(Step(frozenset()))
        parts.append(len(made) - 1)
    at = parts[0]
    for other in parts[1:]:
        made.append(Step(made[at].fed | made[other].fed, at, other))
        at = len(made) - 1
    if at != len(made) - 1:
        made.append(Step(made[at].fed, at))
    return len(made) - 1
