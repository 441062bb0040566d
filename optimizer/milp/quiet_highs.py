"""The solver run in a thread of its own, without a console. Loading this module loads Pyomo."""

from __future__ import annotations

import io
import threading
from typing import Protocol

from pyomo.contrib.solver.solvers.highs import Highs

from optimizer.milp.modeling import Handle

TICK_S = 0.1


class Watches(Protocol):
    """What watches a running search."""

    stop: threading.Event
    broke: str

    def heard(self, event: Handle) -> None:
        """Take the solver's figures, and stop it where asked."""

    def tell(self) -> None:
        """Pass the figures on."""


class QuietHighs(Highs):  # type: ignore[misc]  # the base has no types
    """The solver run in a thread, without a console, watched by ``watch``."""

    watch: Watches

    def _solve(self) -> Handle:
        config, highs = self._active_config, self._solver_model
        wanted = {
            "threads": config.threads,
            "time_limit": config.time_limit,
            "mip_rel_gap": config.rel_gap,
            "mip_abs_gap": config.abs_gap,
            **config.solver_options,
        }
        for name, value in wanted.items():
            if value is not None:
                highs.setOptionValue(name, value)
        highs.cbMipInterrupt += self.watch.heard
        _run_aside(highs, self.watch)
        return self._postsolve(io.StringIO())


def _run_aside(highs: Handle, watch: Watches) -> None:
    """Run the solver; what it raises, if anything, is told as ``watch.broke``."""

    def run() -> None:
        try:
            highs.run()
        except Exception as fault:  # whatever a solver may raise
            watch.broke = f"{type(fault).__name__}: {fault}"

    runner = threading.Thread(target=run, daemon=True)
    runner.start()
    try:
        while runner.is_alive():
            runner.join(TICK_S)
            watch.tell()
    finally:
        if runner.is_alive():
            watch.stop.set()
            runner.join()
