"""A solver's run in a thread beside the calling one, which stays free to hear Ctrl-C and a clock.

A solver that does not end when it is told to is left where it is: presolving has been seen to go on
for ever. Its thread then works on unheard until the solver next asks whether to go on, or the
process ends.
"""

from __future__ import annotations

import atexit
import threading
import time
from dataclasses import dataclass, field

from optimizer.milp.modeling import Handle

TICK_S = 0.1
PATIENCE_S = 1.0
"""How long a solver may take to end once it is told to."""
SILENT_S = 600.0
"""How long it may go on without asking whether to go on."""
LAST_S = 0.5
"""How long a solver that was left is waited for once more, as the process ends."""

_LEFT: list[tuple[threading.Thread, Handle]] = []


class SolverHangs(Exception):  # never leaves this package
    """The solver did not come back, and its thread was left."""


@dataclass
class Beside:
    """What a running solver shares with the thread that waits for it.

    Attributes:
        stop: set from any thread to end the run.
        ends_at: time on the performance counter at which to end it, or None.
        broke: what the solver raised, in words.
        left: whether the run was left where it was; nothing of it may be read any more.
    """

    stop: threading.Event
    ends_at: float | None = None
    broke: str = ""
    left: bool = False
    _asked_at: float = field(default_factory=time.perf_counter)

    @property
    def is_over(self) -> bool:
        """Whether the run is to end."""
        late = self.ends_at is not None and time.perf_counter() >= self.ends_at
        return late or self.stop.is_set()

    def heard(self, event: Handle) -> None:
        """Answer the solver that asks whether to go on."""
        self._asked_at = time.perf_counter()
        if self.left or self.is_over:
            event.interrupt()

    def tell(self) -> None:
        """Called ten times a second from the waiting thread."""

    def run(self, solver: Handle) -> None:
        """Run a solver that asks :meth:`heard`, and wait for it.

        Raises:
            SolverHangs: if it does not end when told to, or is silent for too long.
        """

        def work() -> None:
            try:
                solver.run()
            except Exception as fault:  # whatever a solver may raise
                self.broke = f"{type(fault).__name__}: {fault}"

        self._asked_at = time.perf_counter()
        runner = threading.Thread(target=work, daemon=True)
        runner.start()
        try:
            self._wait_for(runner)
        finally:
            if runner.is_alive() and not self.left:  # a second Ctrl-C
                self.stop.set()
                runner.join(PATIENCE_S)
                self.left = runner.is_alive()
            if self.left:
                _LEFT[:] = [each for each in _LEFT if each[0].is_alive()]
                _LEFT.append((runner, solver))

    def _wait_for(self, runner: threading.Thread) -> None:
        over_at: float | None = None
        while runner.is_alive():
            runner.join(TICK_S)
            self.tell()
            now = time.perf_counter()
            if over_at is None and self.is_over:
                over_at = now
            waited_out = over_at is not None and now - over_at > PATIENCE_S
            if runner.is_alive() and (waited_out or now - self._asked_at > SILENT_S):
                self.left = True
                raise SolverHangs


@atexit.register
def _silence_those_left() -> None:
    """Let solvers that were left ask no more: one that asks as Python ends would crash the process.

    Whoever asks meanwhile still gets an answer, and most end by that.
    """
    ends_at = time.perf_counter() + LAST_S
    for runner, _ in _LEFT:
        runner.join(max(0.0, ends_at - time.perf_counter()))
    going = [solver for runner, solver in _LEFT if runner.is_alive()]
    for solver in going:
        for each in solver.callbacks:
            solver.stopCallback(each.callback_type)
    if going:
        time.sleep(TICK_S)
