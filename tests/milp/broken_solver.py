"""Stand-ins for a solver that fails or hangs, before or after it has found an answer."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Iterator
from typing import Any
from unittest import mock

import highspy

SAID = "out of luck"


@contextlib.contextmanager
def breaks(at: int, *, after: bool = False) -> Iterator[list[int]]:
    """The solver raises at its n-th run, counted from 1, and at every later one.

    Args:
        at: the first run that fails.
        after: fail once it has solved the program, so that what it found is there.

    Yields:
        the numbers of the runs so far.
    """
    real, runs = highspy.Highs.run, list[int]()

    def run(self: Any) -> Any:
        runs.append(len(runs) + 1)
        if len(runs) < at:
            return real(self)
        if after:
            real(self)
        raise RuntimeError(SAID)

    with mock.patch.object(highspy.Highs, "run", run):
        yield runs


@contextlib.contextmanager
def hangs(*, after: bool = False) -> Iterator[None]:
    """The solver does not come back while this lasts.

    Args:
        after: hang once it has solved the program, so that what it found is there.
    """
    real, let_go = highspy.Highs.run, threading.Event()

    def run(self: Any) -> Any:
        if after:
            real(self)
        let_go.wait()

    with mock.patch.object(highspy.Highs, "run", run):
        try:
            yield
        finally:
            let_go.set()


@contextlib.contextmanager
def ends_as(status: str) -> Iterator[None]:
    """The solver solves and then says that it ended with an error status."""
    with mock.patch.object(
        highspy.Highs, "getModelStatus", lambda _: getattr(highspy.HighsModelStatus, status)
    ):
        yield


def broken_at(real: Callable[..., Any], at: int) -> Callable[..., Any]:
    """Return a function that raises at its n-th call and at every later one."""
    calls = []

    def call(*args: Any, **how: Any) -> Any:
        calls.append(1)
        if len(calls) >= at:
            raise RuntimeError(SAID)
        return real(*args, **how)

    return call
