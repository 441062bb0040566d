"""As few valves turned as will do, proven: a program of its own, tied to the water by its cuts.

The program chooses which valves are turned, as few as may be. For its choice, bounds on every
inflow (:mod:`optimizer.mend.valve_bounds`) say whether any setting of those valves can work. If
none can, then some valve outside them must be turned: that is a cut, made as strong as the bounds
allow by first adding every valve whose turning would not help. So the least number is reached from
below, and what the program says before that is a bound.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from optimizer.mend.state import Running, running, tank_runs_down
from optimizer.mend.turns import held, turned
from optimizer.mend.valve_bounds import SLACK, Range, ValveBounds
from optimizer.physics.valve import opening_for_loss
from optimizer.records.design import Design
from optimizer.simulate.steady_state import NotSolved

SHARES = (0.0, 0.05, 0.1, 0.2, 0.35, 0.5, 0.75, 1.0)
"""How far from least to most water the turned valves are set when a setting is looked for."""

ROUNDING = 1e-6
"""Of a margin, added to what counts as enough: valves are set to bounds that count on it."""

FINER = 4
"""Times the step between such settings is halved around the best of them."""

OWN_FIRST = 1000
"""Of equally many valves those of beds that fail now are turned: another's counts 1/1000 more."""


@dataclass(frozen=True)
class Turned:
    """A setting of the valves that works, and how few valves any such setting turns at least.

    ``now`` is None where no setting works, or none was found before the search was stopped.
    """

    now: Running | None
    turns: frozenset[str]
    least: int


class FewestTurns:
    """Looks for the fewest valves to turn in one system.

    Args:
        design: the system, its sump filled as it should be.
        openings: bed to the share its valve is open now.
        free: beds whose valve is new and must be set anyway; these count as no turn.
        stop: set from outside to end with what is found.
    """

    def __init__(
        self,
        design: Design,
        openings: Mapping[str, float],
        free: frozenset[str],
        stop: threading.Event,
    ) -> None:
        self.design = design
        self.openings = dict(openings)
        self.free = free
        self.stop = stop
        self.bounds = ValveBounds(design, openings)
        self.names = tuple(bed.id for bed in design.beds if bed.id not in free)
        failing = {b.bed for b in running(design, openings).beds if not b.works}
        self.weights = np.array(
            [OWN_FIRST + (0 if name in failing else 1) for name in self.names], dtype=np.float64
        )
        self.cuts: list[frozenset[str]] = []
        self.doubtful = False
        self.sure = 0

    def found(self, unlike: tuple[frozenset[str], ...] = ()) -> Turned:
        """Return a setting that turns as few valves as will do.

        Args:
            unlike: earlier answers: of the valves of each, at least one is left as it is.
        """
        guess = self._guess() if not unlike else Turned(None, frozenset(), 0)
        least = self.sure
        while True:
            chosen = self._chosen(unlike)
            if chosen is None:
                return Turned(guess.now, guess.turns, least)
            # Beyond a setting that is in doubt the program gives no bound any more.
            least = least if self.doubtful else len(chosen)
            self.sure = least if not unlike else self.sure
            if self.stop.is_set():
                return Turned(guess.now, guess.turns, least)
            if guess.now is not None and len(chosen) >= len(guess.turns):
                chosen = guess.turns
            way = self._setting(chosen | self.free)
            if way is not None:
                return Turned(way, chosen, least)
            if guess.now is not None and chosen == guess.turns:
                return Turned(guess.now, chosen, least)
            self._cut(chosen | self.free)

    def _guess(self) -> Turned:
        """Return a working setting found by the rule of thumb; it need not turn the fewest."""
        now = turned(self.design, self.openings)
        if now is None or not _holds(now):
            return Turned(None, frozenset(), 0)
        moved = {name for name in self.names if now.openings[name] != self.openings[name]}
        return Turned(now, frozenset(moved), 0)

    def _chosen(self, unlike: tuple[frozenset[str], ...]) -> frozenset[str] | None:
        """Return the fewest valves that every cut and every earlier answer allow; None if none."""
        rows = [self._row(cut) for cut in self.cuts]
        low = [1.0] * len(rows)
        high = [math.inf] * len(rows)
        for earlier in unlike:
            rows.append(self._row(earlier))
            low.append(0.0)
            high.append(len(earlier) - 1.0)
        if not self.names or not rows:
            return None if rows else frozenset()
        result = milp(
            self.weights,
            integrality=np.ones(len(self.names), dtype=np.int64),
            bounds=Bounds(0.0, 1.0),
            constraints=LinearConstraint(np.array(rows), np.array(low), np.array(high)),
        )
        if result.x is None:
            return None
        return frozenset(n for n, x in zip(self.names, result.x, strict=True) if x > 0.5)

    def _row(self, beds: frozenset[str]) -> list[float]:
        return [float(name in beds) for name in self.names]

    def _cut(self, beds: frozenset[str]) -> None:
        """Add that a valve outside these is turned: outside as many as surely do not help."""
        if self._range(beds) is not None:
            self.doubtful = True
        else:
            for name in self.names:
                if name not in beds and self._range(beds | {name}) is None:
                    beds |= {name}
        self.cuts.append(frozenset(self.names) - beds)

    def _range(self, beds: frozenset[str]) -> Range | None:
        try:
            return self.bounds.range_of(beds)
        except NotSolved:
            self.doubtful = True
            return None

    def _setting(self, beds: frozenset[str]) -> Running | None:
        """Return the setting of some valves whose weakest bed has most margin, if it works."""
        allowed = self._range(beds)
        if allowed is None:
            return None
        tried = {share: self._at(allowed, share) for share in (SHARES if beds else (0.0,))}
        step = 0.1 if beds else 0.0
        for _ in range(FINER if beds else 0):
            best = max(tried, key=lambda share: _margin(tried[share]))
            for share in (max(0.0, best - step), min(1.0, best + step)):
                if share not in tried:
                    tried[share] = self._at(allowed, share)
            step /= 2.0
        working = [now for now in tried.values() if _holds(now)]
        return max(working, key=_margin, default=None)

    def _at(self, allowed: Range, share: float) -> Running:
        """Return the system with the turned valves a share of the way from shut to wide."""
        beds, openings = self.bounds.beds, dict(self.openings)
        for name, shut in allowed.shut.items():
            loss = math.exp((1.0 - share) * math.log(shut) + share * math.log(allowed.wide[name]))
            bed = beds[name]
            loss = held(bed, loss)
            openings[name] = opening_for_loss(loss, bed.valve_openings, bed.valve_losses)
        return running(self.design, openings)


def _holds(now: Running) -> bool:
    """Return whether beds and tank work, and no bed by the tolerance of a check alone."""
    beds = _margin(now) >= -SLACK - ROUNDING and all(bed.works for bed in now.beds)
    return beds and not tank_runs_down(now)


def _margin(now: Running) -> float:
    return min(bed.margin for bed in now.beds)
