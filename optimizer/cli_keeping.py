"""Ctrl-C and time limits the same for every verb that searches: the best so far is kept."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Generic, TypeVar

from optimizer.cli_output import StatusLine
from optimizer.errors import SolverFailed

Now = TypeVar("Now")


@dataclass(frozen=True)
class Search(Generic[Now]):
    """What a search is given: ``stop`` asks for the best so far, ``tell`` is told how it stands.

    ``tell`` is None where nothing is shown.
    """

    stop: threading.Event
    tell: Callable[[Now], None] | None


@contextmanager
def keeping_the_best(
    line: StatusLine[Now], time_limit_s: float | None = None
) -> Iterator[Search[Now]]:
    """Show a line while a search runs, and let Ctrl-C or a time limit ask for its best so far.

    A second Ctrl-C ends it at once.

    Args:
        line: the line that says how the search stands.
        time_limit_s: time after which the best so far is asked for; None where the search itself
            keeps its time or has none.

    Raises:
        KeyboardInterrupt: where it was stopped before there was anything to keep.
    """
    # The solver's module is loaded here, not for a command's help.
    from optimizer.milp.engine import ctrl_c_sets

    stop = threading.Event()
    timer = None if time_limit_s is None else threading.Timer(time_limit_s, stop.set)
    try:
        with line as tell, ctrl_c_sets(stop):
            if timer is not None:
                timer.daemon = True
                timer.start()
            yield Search(stop, tell)
    except SolverFailed:
        if stop.is_set():
            raise KeyboardInterrupt from None
        raise
    finally:
        if timer is not None:
            timer.cancel()
