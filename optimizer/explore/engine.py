"""Run one function over many tasks: here, in local processes, or on a cluster someone else runs."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

Work = Callable[[Any, Any], Any]
"""``work(shared, task)``; shared is sent to every worker once, tasks one at a time."""


@dataclass(frozen=True)
class Done:
    """One task that came to an end.

    Attributes:
        index: its place in the list of tasks.
        value: what the work returned; None where it was lost.
        seconds: how long the work took; never part of a result.
        lost: why there is no value, or None.
    """

    index: int
    value: Any
    seconds: float
    lost: str | None = None


class Engine(Protocol):
    """Anything that runs tasks and hands them back as they finish, in any order."""

    def run(self, work: Work, shared: object, tasks: Sequence[Any]) -> Iterator[Done]:
        """Yield every task once. Closing the iterator early stops what still runs."""
        ...

    def close(self) -> None:
        """Give back what it holds; it may be run again."""
        ...


class Serial:
    """One task after another in this process: best for a few short tasks."""

    def run(self, work: Work, shared: object, tasks: Sequence[Any]) -> Iterator[Done]:
        """Yield every task in order."""
        for index, task in enumerate(tasks):
            value, seconds = timed(work, shared, task)
            yield Done(index, value, seconds)

    def close(self) -> None:
        """Nothing is held."""


def timed(work: Work, shared: object, task: object) -> tuple[Any, float]:
    """Return what the work gives and the seconds it took."""
    started = time.perf_counter()
    value = work(shared, task)
    return value, time.perf_counter() - started
