"""Many points through an engine into a store: progress, Ctrl-C, and going on where one stopped."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from optimizer.explore.engine import Engine
from optimizer.explore.point import LOST, Point, Search, design_point, key_of, key_of_job
from optimizer.explore.store import Store
from optimizer.pipeline import Job


@dataclass(frozen=True)
class Told:
    """How far a sweep is.

    Attributes:
        done: points finished, those of earlier runs among them.
        points: points in all.
        left_s: seconds left at the pace of this run, or None before its first point.
    """

    done: int
    points: int
    left_s: float | None


@dataclass(frozen=True, eq=False)
class Sweep:
    """What came of a sweep.

    Attributes:
        points: every point asked for.
        keys: its key in the store, point by point.
        frame: one row a finished point in the order asked for: its changes, then its answer.
        complete: False where Ctrl-C left points undone.
    """

    points: tuple[Point, ...]
    keys: tuple[str, ...]
    frame: pd.DataFrame
    complete: bool


def run_sweep(
    job: Job,
    points: Sequence[Point],
    engine: Engine,
    store: Store,
    search: Search | None = None,
    progress: Callable[[Told], None] | None = None,
) -> Sweep:
    """Design every point that the store does not hold yet, and return all of them.

    Args:
        job: the job before any change.
        points: what to change; equal ones are designed once.
        engine: what runs them. Results are the same on every engine.
        store: keeps each point as it finishes.
        search: how each point is searched.
        progress: called after every point.

    Ctrl-C stops what runs and keeps every finished point.
    """
    search = search or Search()
    job_key = key_of_job(job)
    keys = tuple(key_of(job_key, search, point) for point in points)
    known = set(store.answers(keys))
    left = {key: point for key, point in zip(keys, points, strict=True) if key not in known}
    clock = _Clock(len(points), len(points) - len(left), progress)
    complete = True
    names, tasks = list(left), list(left.values())
    try:
        for done in engine.run(design_point, (job, search), tasks):
            answer, design = done.value or ({"outcome": LOST, "reason": done.lost}, None)
            if done.lost is None:
                store.put(names[done.index], answer, design, done.seconds)
            clock.tick()
    except KeyboardInterrupt:
        complete = False
    return Sweep(tuple(points), keys, frame_of(points, keys, store), complete)


class _Clock:
    """Counts points and says how long the rest will take."""

    def __init__(self, points: int, done: int, progress: Callable[[Told], None] | None) -> None:
        self.points, self.before, self.done = points, done, done
        self.started, self.progress = time.perf_counter(), progress

    def tick(self) -> None:
        self.done += 1
        if self.progress:
            pace = (time.perf_counter() - self.started) / (self.done - self.before)
            self.progress(Told(self.done, self.points, pace * (self.points - self.done)))


def frame_of(points: Iterable[Point], keys: Iterable[str], store: Store) -> pd.DataFrame:
    """Return one row for each point that the store holds: ``point``, its changes, its answer."""
    pairs = list(zip(points, keys, strict=True))
    answers = store.answers(key for _, key in pairs)
    rows: list[dict[str, Any]] = [
        {"point": number, **point.changes, **answers[key]}
        for number, (point, key) in enumerate(pairs)
        if key in answers
    ]
    return pd.DataFrame(rows)
