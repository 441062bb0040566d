"""When a search of the composed program must end, asked often while fronts are built."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable

TELL_EVERY_S = 0.1


class OutOfTime(Exception):
    """The time allowed is over, or the search was told to stop."""


class Clock:
    """Keeps the time limit, listens for a stop and passes progress on.

    Args:
        time_limit_s: seconds from now, or None.
        stop: set from any thread to end the search.
        tell: called with the seconds so far, at once and then about ten times a second.
    """

    def __init__(
        self, time_limit_s: float | None, stop: threading.Event, tell: Callable[[float], None]
    ) -> None:
        self.time_limit_s = time_limit_s
        self.stop = stop
        self.tell = tell
        self.started = time.perf_counter()
        self._told_s = -math.inf

    @property
    def seconds(self) -> float:
        """Seconds so far."""
        return time.perf_counter() - self.started

    def tick(self) -> None:
        """Go on, after passing progress on where some time has passed since the last time.

        Raises:
            OutOfTime: where the search must end.
        """
        seconds = self.seconds
        if seconds - self._told_s >= TELL_EVERY_S:
            self.say()
        if self.stop.is_set() or (self.time_limit_s is not None and seconds > self.time_limit_s):
            raise OutOfTime

    def say(self) -> None:
        """Pass progress on now."""
        self._told_s = self.seconds
        self.tell(self._told_s)
