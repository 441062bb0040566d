"""Run tasks in processes of this machine."""

from __future__ import annotations

import pickle
from collections import Counter, deque
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from multiprocessing.connection import wait as wait_for
from typing import Any

from optimizer.explore.engine import Done, Serial, Work
from optimizer.explore.worker import Worker, WorkerDied

LOST = "the worker that ran it died twice"

DEATHS = 2
"""Workers that may die of one task before it is given up."""


class Processes:
    """A team of local processes, kept from one run to the next with the same work.

    A task whose worker dies is done by another one, last of all, so that fewer run beside it where
    memory is what was short; it is reported as lost where that worker dies too. What the work
    raises is raised here. One run at a time: one that is not over when the next begins is given up.
    Workers end by themselves when this process is gone, however it went.

    Args:
        workers: number of processes, at least 1.
    """

    def __init__(self, workers: int) -> None:
        if workers < 1:
            raise ValueError("a team needs a worker or more")
        self.workers = workers
        self._message = b""
        self._team: list[Worker] = []

    def run(self, work: Work, shared: object, tasks: Sequence[Any]) -> Iterator[Done]:
        """Yield every task as it finishes."""
        message = pickle.dumps((work, shared))
        if message != self._message or any(worker.busy for worker in self._team):
            self.close()
            self._message = message
        team = self._team
        try:
            yield from self._run(team, tasks)
        except BaseException:
            _end(team)
            raise

    def close(self) -> None:
        """End the workers; what they are at, if anything, is given up."""
        team, self._team = self._team, []
        _end(team)

    def _run(self, team: list[Worker], tasks: Sequence[Any]) -> Iterator[Done]:
        waiting, deaths = deque(range(len(tasks))), Counter[int]()
        at_work: dict[Worker, int] = {}
        while waiting or at_work:
            for worker in self._idle(team, len(waiting)):
                at_work[worker] = waiting.popleft()
                worker.give(tasks[at_work[worker]])
            for worker in _heard(at_work):
                index = at_work.pop(worker)
                try:
                    value, seconds = worker.take()
                except WorkerDied:
                    _drop(team, worker)
                    deaths[index] += 1
                    if deaths[index] < DEATHS:
                        waiting.append(index)
                    else:
                        yield Done(index, None, 0.0, LOST)
                else:
                    yield Done(index, value, seconds)

    def _idle(self, team: list[Worker], wanted: int) -> list[Worker]:
        """Return as many workers without a task as are wanted, or all there may be."""
        for worker in [each for each in team if not each.busy and not each.is_alive()]:
            _drop(team, worker)
        idle = [worker for worker in team if not worker.busy]
        while len(idle) < wanted and len(team) < self.workers:
            team.append(Worker(self._message))
            idle.append(team[-1])
        return idle[:wanted]


def _drop(team: list[Worker], worker: Worker) -> None:
    team.remove(worker)
    worker.end()


def _end(team: list[Worker]) -> None:
    while team:
        team.pop().end()


def _heard(at_work: Collection[Worker]) -> list[Worker]:
    """Wait until workers have answered or died, and return them."""
    ready = wait_for([worker.pipe for worker in at_work])
    return [worker for worker in at_work if worker.pipe in ready]


class Thrifty:
    """Tasks one by one here, and the rest in processes once that saves more than starting them.

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
                for each in self.processes.run(work, shared, tasks[index + 1 :]):
                    yield replace(each, index=each.index + index + 1)
                return

    def close(self) -> None:
        """End the workers."""
        self.processes.close()
