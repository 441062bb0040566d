"""A day by brute force: every bed's level an ordinary differential equation, events by detection.

Written from the physics alone (fill, circular weir, full pipe, start and stop thresholds), it
shares no code with the simulation. All beds are integrated together by scipy's DOP853 at a tight
tolerance; the sump level follows from the water that is not in the beds.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

GRAVITY = 9.80665


@dataclass
class OracleBed:
    """Sizes of one bed; levels above its floor."""

    area_m2: float
    porosity: float
    drain_level_m: float
    crest_level_m: float
    bore_m: float
    outlet_level_m: float
    loss_coefficient: float
    start_froude: float
    stop_ratio: float
    rim_discharge: float = 0.62


class DayOracle:
    """Integrate levels of all beds; events are (time, bed, word)."""

    def __init__(
        self,
        beds: list[OracleBed],
        inflows: Callable[[float], np.ndarray],
        sump_area_m2: float,
        water_m3: float,
        rtol: float = 1e-10,
        atol: float = 1e-12,
    ):
        def column(name):
            return np.array([getattr(b, name) for b in beds])

        self.inflows, self.area, self.water = inflows, sump_area_m2, water_m3
        self.rtol, self.atol = rtol, atol
        self.store = column("area_m2") * column("porosity")
        self.h0, self.hs = column("drain_level_m"), column("crest_level_m")
        bore = column("bore_m")
        bore_area = np.pi * bore**2 / 4.0
        self.z = column("outlet_level_m")
        self.pull = bore_area * np.sqrt(2.0 * GRAVITY / column("loss_coefficient"))
        self.start = column("start_froude") * np.sqrt(GRAVITY * bore) * bore_area
        self.stop = column("stop_ratio") * self.pull * np.sqrt(self.h0 - self.z)
        self.weir = 2.0 / 3.0 * column("rim_discharge") * np.sqrt(2 * GRAVITY) * np.pi * bore
        self.hp = self.hs + (self.start / self.weir) ** (2.0 / 3.0)

    def sump_level(self, levels):
        return (self.water - np.sum(self.store * (levels - self.h0))) / self.area

    def slopes(self, _, levels, primed):
        rim = self.weir * np.maximum(levels - self.hs, 0.0) ** 1.5
        pipe = self.pull * np.sqrt(np.maximum(levels - self.z, 0.0))
        return (self.inflows(self.sump_level(levels)) - np.where(primed, pipe, rim)) / self.store

    def run(self, levels, primed, end_s):
        """Return the events up to ``end_s`` and the levels then."""
        time, events = 0.0, []
        levels, primed = np.array(levels, float), np.array(primed, bool)
        while time < end_s:
            goal = np.where(primed, self.h0, np.where(levels < self.hs, self.hs, self.hp))
            sign = np.where(primed, -1.0, 1.0)

            def nearest(_, h, goal=goal, sign=sign):
                return np.max(sign * (h - goal))

            nearest.terminal, nearest.direction = True, 1.0
            out = solve_ivp(
                lambda t, h, primed=primed: self.slopes(t, h, primed),
                (time, end_s),
                levels,
                method="DOP853",
                rtol=self.rtol,
                atol=self.atol,
                events=nearest,
            )
            time, levels = out.t[-1], out.y[:, -1].copy()
            if out.status == 0:
                break
            bed = int(np.argmax(sign * (levels - goal)))
            levels[bed] = goal[bed]
            events.append((time, bed, self._cross(bed, levels, primed)))
        return events, levels

    def _cross(self, bed, levels, primed):
        if primed[bed]:
            assert self.inflows(self.sump_level(levels))[bed] <= self.stop[bed]
            primed[bed] = False
            return "breaks"
        if levels[bed] < self.hp[bed]:
            levels[bed] = self.hs[bed]
            return "fills"
        primed[bed] = True
        return "primes"


def heap_events(parts, end_s):
    """Events of beds that all begin at a break, by a bare heap of closed-form times.

    Args:
        parts: (fill, prime, drain) times of each bed.
        end_s: end of the run.
    """
    words = ("fills", "primes", "breaks")
    queue = [(times[0], bed, 0) for bed, times in enumerate(parts)]
    heapq.heapify(queue)
    events = []
    while queue[0][0] <= end_s:
        time, bed, stage = queue[0]
        events.append((time, bed, words[stage]))
        stage = (stage + 1) % 3
        heapq.heapreplace(queue, (time + parts[bed][stage], bed, stage))
    return events
