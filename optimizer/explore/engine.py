"""Run one function over many tasks: here, in local processes, or on a cluster someone else runs."""

from __future__ import annotations

import multiprocessing
import os
import pickle
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from multiprocessing.connection import wait as wait_for
from multiprocessing.context import BaseContext
from typing import Any, Protocol

Work = Callable[[Any, Any], Any]
"""``work(shared, task)``; shared is sent to every worker once, tasks one at a time."""

LOST = "the worker that ran it died twice"


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


class Processes:
    """A pool of local processes, kept from one run to the next with the same work.

    A worker that dies breaks its pool: the pool is built again and what was in it runs one task at
    a time, so that a task that kills its worker falls alone and is reported as lost. Workers end by
    themselves when this process is gone, however it went.

    Args:
        workers: number of processes, at least 1.
    """

    def __init__(self, workers: int) -> None:
        if workers < 1:
            raise ValueError("a pool needs a worker or more")
        self.workers = workers
        self._pool: _Pool | None = None

    def run(self, work: Work, shared: object, tasks: Sequence[Any]) -> Iterator[Done]:
        """Yield every task as it finishes."""
        try:
            yield from _run(self._ready(work, shared), tasks)
        except BaseException:
            self._end(at_once=True)
            raise

    def close(self) -> None:
        """End the workers."""
        self._end(at_once=False)

    def _ready(self, work: Work, shared: object) -> _Pool:
        message = pickle.dumps((work, shared))
        if self._pool is None or self._pool.message != message:
            self._end(at_once=False)
            self._pool = _Pool(self.workers, message)
        return self._pool

    def _end(self, *, at_once: bool) -> None:
        pool, self._pool = self._pool, None
        if pool is not None:
            pool.end(at_once=at_once)


class Thrifty:
    """One task here; the rest in processes only where that saves more than starting them costs.

    Args:
        workers: number of processes it may use, at least 1.
        start_s: seconds that starting processes is taken to cost.
    """

    def __init__(self, workers: int, start_s: float = 4.0) -> None:
        self.processes, self.start_s = Processes(workers), start_s

    def run(self, work: Work, shared: object, tasks: Sequence[Any]) -> Iterator[Done]:
        """Yield every task as it finishes."""
        for index, done in enumerate(Serial().run(work, shared, tasks)):
            yield done
            saved_s = done.seconds * (len(tasks) - index - 1) * (1.0 - 1.0 / self.processes.workers)
            if saved_s > self.start_s:
                rest = self.processes.run(work, shared, tasks[index + 1 :])
                for each in rest:
                    yield replace(each, index=each.index + index + 1)
                return

    def close(self) -> None:
        """End the workers."""
        self.processes.close()


def _run(pool: _Pool, tasks: Sequence[Any]) -> Iterator[Done]:
    queue = _Queue(len(tasks))
    while queue.fill(pool, tasks):
        ended, _ = wait(queue.running, return_when=FIRST_COMPLETED)
        for future in ended:
            index = queue.running.pop(future)
            try:
                value, seconds = future.result()
            except BrokenProcessPool:
                if index in queue.retried:
                    yield Done(index, None, 0.0, LOST)
                else:
                    queue.suspects.append(index)
            else:
                yield Done(index, value, seconds)
        if pool.broken:
            queue.suspect_all()
            pool.rebuild()


class _Queue:
    """Which tasks wait, run, and were in a pool that broke (suspects: run alone)."""

    def __init__(self, number: int) -> None:
        self.waiting = deque(range(number))
        self.suspects = deque[int]()
        self.retried: set[int] = set()
        self.running: dict[Future[tuple[Any, float]], int] = {}

    def fill(self, pool: _Pool, tasks: Sequence[Any]) -> bool:
        """Submit one suspect alone, or as many others as the pool takes; False at the end."""
        if self.suspects and not self.running:
            index = self.suspects.popleft()
            self.retried.add(index)
            self.running[pool.submit(tasks[index])] = index
        while self.waiting and not self.suspects and self._room(pool):
            index = self.waiting.popleft()
            self.running[pool.submit(tasks[index])] = index
        return bool(self.running)

    def _room(self, pool: _Pool) -> bool:
        alone = any(index in self.retried for index in self.running.values())
        return not alone and len(self.running) < pool.room

    def suspect_all(self) -> None:
        """Take what ran in a broken pool for suspect."""
        self.suspects.extend(sorted(self.running.values()))
        self.running.clear()


def _context(message: bytes) -> BaseContext:
    """How workers start: from a bare process that has loaded the work's libraries once for all.

    Where there is no such thing each worker loads them itself.
    """
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    work, _ = pickle.loads(message)  # our own message
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([work.__module__])
    return context


class _Pool:
    """A process pool that can be built again and leaves no process behind."""

    def __init__(self, workers: int, message: bytes) -> None:
        self.workers, self.message = workers, message
        self.room = 2 * workers
        self.others = multiprocessing.active_children()
        self.rebuild()

    def rebuild(self) -> None:
        self.broken = False
        self.pool = ProcessPoolExecutor(
            self.workers,
            mp_context=_context(self.message),
            initializer=_begin,
            initargs=(self.message,),
        )

    def submit(self, task: object) -> Future[tuple[Any, float]]:
        future = self.pool.submit(_one, task)
        future.add_done_callback(self._look)
        return future

    def _look(self, future: Future[tuple[Any, float]]) -> None:
        if not future.cancelled() and isinstance(future.exception(), BrokenProcessPool):
            self.broken = True

    def end(self, *, at_once: bool) -> None:
        if at_once:
            for process in multiprocessing.active_children():
                if process not in self.others:
                    process.terminate()
        self.pool.shutdown(wait=True, cancel_futures=True)


_worker: dict[str, Any] = {}


def _begin(message: bytes) -> None:
    """Set a worker up; Ctrl-C is the parent's business, and nobody outlives the parent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    if "fork" in multiprocessing.get_all_start_methods():  # pragma: no branch - not on Windows
        # Libraries make locks as they are imported. Made under "fork" a lock has no name that a
        # worker ended at once would leave behind, for the parent to complain about. No worker
        # starts a process.
        multiprocessing.set_start_method("fork", force=True)
    _worker["work"], _worker["shared"] = pickle.loads(message)  # our own message


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    assert parent is not None  # a worker has one
    wait_for([parent.sentinel])
    os._exit(1)


def _one(task: object) -> tuple[Any, float]:
    return timed(_worker["work"], _worker["shared"], task)


def timed(work: Work, shared: object, task: object) -> tuple[Any, float]:
    """Return what the work gives and the seconds it took."""
    started = time.perf_counter()
    value = work(shared, task)
    return value, time.perf_counter() - started
