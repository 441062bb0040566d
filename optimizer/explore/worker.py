"""One process of this machine that answers tasks through a pipe of its own.

No other process holds the worker's end of that pipe, so that a worker's death is always heard, even
halfway through an answer (decision 27).
"""

from __future__ import annotations

import multiprocessing
import os
import pickle
import signal
import threading
import traceback
from contextlib import suppress
from multiprocessing.connection import Connection
from multiprocessing.connection import wait as wait_for
from typing import TYPE_CHECKING, Any

from optimizer.explore.engine import Work, timed

if TYPE_CHECKING:
    from multiprocessing.context import ForkServerContext, SpawnContext


class WorkerDied(Exception):
    """A worker ended before it had answered."""


class Worker:
    """A running process that does one task at a time.

    Args:
        message: the work and what all its tasks share, pickled.

    Attributes:
        pipe: this process's end of the pipe; it can be waited for.
        busy: whether it was given a task whose answer has not been taken.
    """

    def __init__(self, message: bytes) -> None:
        context = _context(message)
        self.busy = False
        self.pipe, theirs = context.Pipe()
        self._process = context.Process(target=_serve, args=(theirs, message), daemon=True)
        self._process.start()
        theirs.close()

    def give(self, task: object) -> None:
        """Send a task; where the worker has died, :meth:`take` says so."""
        self.busy = True
        with suppress(OSError):
            self.pipe.send(task)

    def take(self) -> tuple[Any, float]:
        """Return what the work gave and the seconds it took; wait for them where need be.

        Raises:
            WorkerDied: where the process ended before it had answered.
            Exception: what the work raised.
        """
        try:
            value, seconds, fault = self.pipe.recv()
        except (EOFError, OSError):
            raise WorkerDied from None
        self.busy = False
        if fault is not None:
            raise fault
        return value, seconds

    def is_alive(self) -> bool:
        """Whether the process still runs."""
        return self._process.is_alive()

    def end(self) -> None:
        """End the process; what it is at, if anything, is given up."""
        if self.busy:
            self._process.kill()  # a stopped process would not hear a request to end
        self.pipe.close()
        self._process.join()


def _context(message: bytes) -> ForkServerContext | SpawnContext:
    """How workers start: from a bare process that has loaded the work's libraries once for all.

    Where there is no such thing each worker loads them itself.
    """
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    work, _ = pickle.loads(message)  # our own message
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([work.__module__])
    return context


def _serve(pipe: Connection, message: bytes) -> None:
    """Answer tasks until the pipe is closed.

    Ctrl-C is the parent's business, and nobody outlives the parent.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    if "fork" in multiprocessing.get_all_start_methods():  # pragma: no branch - not on Windows
        # Libraries make locks as they are imported. Made under "fork" a lock has no name that a
        # worker ended at once would leave behind, for the parent to complain about. No worker
        # starts a process.
        multiprocessing.set_start_method("fork", force=True)
    work, shared = pickle.loads(message)  # our own message
    with suppress(EOFError, OSError):  # the pipe was closed
        while True:
            _answer(pipe, work, shared, pipe.recv())


def _answer(pipe: Connection, work: Work, shared: object, task: object) -> None:
    try:
        pipe.send((*timed(work, shared, task), None))
    except Exception as fault:  # whatever the work may raise, or an answer that cannot be sent
        pipe.send((None, 0.0, _as_sent(fault)))


def _as_sent(fault: Exception) -> Exception:
    """A fault as another process can read it, with the place it came from."""
    told = f"In a worker process:\n{traceback.format_exc()}"
    try:
        pickle.loads(pickle.dumps(fault))
    except Exception:  # whatever its class may do
        return RuntimeError(told)
    fault.add_note(told)
    return fault


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    assert parent is not None  # a worker has one
    wait_for([parent.sentinel])
    os._exit(1)
