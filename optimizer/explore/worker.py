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
from collections.abc import Iterator
from contextlib import contextmanager, suppress
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
        self._process = context.Process(target=_serve, args=(theirs,), daemon=True)
        self._process.start()
        theirs.close()
        with suppress(OSError):  # it has died: :meth:`take` says so
            self.pipe.send_bytes(message)

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

    Where there is no such thing each worker loads them itself. Ctrl-C never reaches that process
    nor the workers it starts: broken off as it loads, it would tell so on the terminal.
    """
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    from multiprocessing import forkserver, resource_tracker  # noqa: PLC0415  # not on Windows

    work, _ = pickle.loads(message)  # our own message
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([work.__module__])
    resource_tracker.ensure_running()  # its own start would let Ctrl-C come again
    with _ctrl_c_held_back():
        forkserver.ensure_running()
    return context


@contextmanager
def _ctrl_c_held_back() -> Iterator[None]:
    """Let Ctrl-C wait here, and never come to what is started meanwhile: that inherits the wait."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _serve(pipe: Connection) -> None:
    """Take the work and what its tasks share, then answer tasks until the pipe is closed.

    The work comes by the pipe, too. A process is sent what it is started with in pieces, and would
    tell on the terminal of a piece that is missing because its parent was stopped. Ctrl-C is the
    parent's business, and nobody outlives the parent.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    if "fork" in multiprocessing.get_all_start_methods():  # pragma: no branch - not on Windows
        # Libraries make locks as they are imported. Made under "fork" a lock has no name that a
        # worker ended at once would leave behind, for the parent to complain about. No worker
        # starts a process.
        multiprocessing.set_start_method("fork", force=True)
    messages = _messages(pipe)
    first = next(messages, None)
    if first is None:
        return
    work, shared = pickle.loads(first)  # our own message
    with suppress(OSError):  # the pipe was closed
        for message in messages:
            _answer(pipe, work, shared, message)


def _messages(pipe: Connection) -> Iterator[bytes]:
    """Yield what comes until the pipe is closed."""
    with suppress(EOFError, OSError):
        while True:
            yield pipe.recv_bytes()


def _answer(pipe: Connection, work: Work, shared: object, message: bytes) -> None:
    try:
        pipe.send((*timed(work, shared, pickle.loads(message)), None))  # our own message
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
