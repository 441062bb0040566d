"""Many points through an engine into a store: progress, Ctrl-C, and going on where one stopped."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from optimizer.alternatives import design_layouts
from optimizer.errors import SolverFailed
from optimizer.explore.changes import Value
from optimizer.explore.engine import Engine, Serial
from optimizer.explore.point import (
    DESIGNED,
    LOST,
    REFUSED,
    Point,
    Search,
    design_point,
    key_of,
    key_of_job,
)
from optimizer.explore.store import Store
from optimizer.job import Job
from optimizer.records.design import Design
from optimizer.records.design_io import design_from_dict
from optimizer.search_settings import SearchSettings


@dataclass(frozen=True)
class Told:
    """How far a sweep is.

    Attributes:
        done: points finished, those of earlier runs among them.
        points: points in all.
        left_s: seconds left at the pace of this run.
    """

    done: int
    points: int
    left_s: float


Listener = Callable[[Told], None]

Row = dict[str, Any]
"""A point in a table: its key, its changes, then its answer."""


@dataclass(frozen=True, eq=False)
class Sweep:
    """What came of a sweep.

    Attributes:
        points: every point asked for.
        keys: its key in the store, point by point.
        rows: one row a finished point in the order asked for: its changes, then its answer.
        complete: False where Ctrl-C left points undone.
    """

    points: tuple[Point, ...]
    keys: tuple[str, ...]
    rows: tuple[Row, ...]
    complete: bool


def run_sweep(
    job: Job,
    points: Sequence[Point],
    engine: Engine,
    store: Store,
    search: Search | None = None,
    progress: Listener | None = None,
) -> Sweep:
    """Design every point that the store does not hold yet, and return all of them.

    Args:
        job: the job before any change.
        points: what to change; equal ones are designed once.
        engine: what runs them. Results are the same on every engine.
        store: keeps each point as it finishes.
        search: how each point is searched.
        progress: called after every point.

    Ctrl-C stops what runs and keeps every finished point. A point whose workers keep dying is told
    as lost and not stored, so that another run tries it again.
    """
    search = search or Search()
    job_key = key_of_job(job)
    keys = tuple(key_of(job_key, search, point) for point in points)
    known = set(store.answers(keys))
    left = {key: point for key, point in zip(keys, points, strict=True) if key not in known}
    clock = _Clock(len(set(keys)), len(set(keys)) - len(left), progress)
    complete, lost = True, dict[str, Row]()
    names, tasks = list(left), list(left.values())
    try:
        for done in engine.run(design_point, (job, search), tasks):
            if done.lost is None:
                answer, design = done.value
                store.put(names[done.index], answer, design, done.seconds)
            else:
                lost[names[done.index]] = {"outcome": LOST, "reason": done.lost}
            clock.tick()
    except KeyboardInterrupt:
        complete = False
    answers = lost | store.answers(keys)
    return Sweep(tuple(points), keys, _rows(points, keys, answers), complete)


class _Clock:
    """Counts points and says how long the rest will take."""

    def __init__(self, points: int, done: int, progress: Listener | None) -> None:
        self.points, self.before, self.done = points, done, done
        self.started, self.progress = time.perf_counter(), progress

    def tick(self) -> None:
        self.done += 1
        if self.progress:
            pace = (time.perf_counter() - self.started) / (self.done - self.before)
            self.progress(Told(self.done, self.points, pace * (self.points - self.done)))


def _rows(
    points: Iterable[Point], keys: Iterable[str], answers: Mapping[str, Mapping[str, Any]]
) -> tuple[Row, ...]:
    return tuple(
        {"key": key, **point.changes, **answers[key]}
        for point, key in zip(points, keys, strict=True)
        if key in answers
    )


@dataclass(frozen=True, eq=False)
class Study:
    """A job with everything needed to design it at many points.

    Attributes:
        job: the job before any change.
        engine: what runs points.
        store: keeps them.
        search: how each is searched.
        progress: called after every point.
    """

    job: Job
    engine: Engine = field(default_factory=Serial)
    store: Store = field(default_factory=lambda: Store(None))
    search: Search = field(default_factory=Search)
    progress: Listener | None = None

    def rows(self, points: Sequence[Mapping[str, Value]]) -> list[Row]:
        """Return one row for each point, in order: its changes, then its answer.

        Args:
            points: the changes of each point.

        Raises:
            KeyboardInterrupt: after Ctrl-C; finished points are in the store.
        """
        made = [Point(dict(changes)) for changes in points]
        sweep = run_sweep(self.job, made, self.engine, self.store, self.search, self.progress)
        if not sweep.complete:
            raise KeyboardInterrupt
        return [dict(row) for row in sweep.rows]

    def design(self, row: Mapping[str, Any]) -> Design:
        """Return the whole design behind a row.

        Raises:
            KeyError: for a row without a design.
        """
        text = self.store.design(str(row["key"]))
        if text is None:
            raise KeyError(f"no design at this point: {row.get('reason')}")
        return design_from_dict(json.loads(text))

    @cached_property
    def base(self) -> Row:
        """The row of the job as it is.

        Raises:
            Infeasible: where it has no design.
            SolverFailed: where none was found.
        """
        row = self.rows([{}])[0]
        if row["outcome"] == REFUSED:
            limit = SearchSettings(time_limit_s=self.search.time_limit_s)
            design_layouts(self.job, limit)  # says why, in full
        if row["outcome"] != DESIGNED:
            raise SolverFailed(row["reason"])
        return row
