"""One scene of the search: some plans and some pump duties, with a proven bound on each answer."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from optimizer.milp.composed_branches import TINY, Setting
from optimizer.milp.composed_drives import Drive
from optimizer.milp.composed_fall import Fall
from optimizer.milp.composed_flat import Flat
from optimizer.milp.composed_labels import Limits
from optimizer.milp.composed_returns import Laid
from optimizer.milp.composed_states import State, States
from optimizer.milp.fronts import Floats
from optimizer.records.problem import BranchPlan

Plans = dict[str, list[BranchPlan]]
Key = tuple[State, int, int]


@dataclass(eq=False)
class Scene:
    """Plans and pump duties, and what is known of them.

    Attributes:
        plans: plans that may be chosen, by branch.
        shut_off_m: head that every pipe bears.
        drives: pump duties.
        bound: no design in the scene costs less, in cents.
        thin_cents: what each step may thin a front by.
        price: price on the pipes' water, cents per m3.
        states: the states, once looked at.
        settled: whether each state comes about in one way.
        known: bound of each (state, drive, sump) that may still be best.
        flat: the latest table.
        prices: prices tried that let too much, and enough, water drain back.
        tries: how many prices were tried.
        looked: what the latest table asks for, as ``asks``.
        laid: return pipe by state, where settled.
        fall: what return pipe's fall costs by state, where not settled.
        more: least cost of sump, fall and what is fixed, by state, band, sumps too small, price.
    """

    plans: Plans
    shut_off_m: float
    drives: list[Drive]
    bound: float = -math.inf
    thin_cents: float = 0.0
    price: float = 0.0
    states: States | None = None
    settled: bool = False
    known: dict[Key, float] | None = None
    flat: Flat | None = None
    prices: tuple[float, float] = (0.0, math.inf)
    tries: int = 0
    looked: tuple[float, int] = (-math.inf, -1)
    laid: dict[State, Laid] = field(default_factory=dict)
    fall: Fall | None = None
    more: dict[tuple[State, str, int, float], float] = field(default_factory=dict)
    _leading: dict[int, dict[str, tuple[Floats, Floats]]] = field(default_factory=dict)

    @cached_property
    def by_flow(self) -> dict[int, list[int]]:
        """Total flow to the places of its pump duties."""
        found: dict[int, list[int]] = defaultdict(list)
        for n, drive in enumerate(self.drives):
            found[drive.duty.flow_steps].append(n)
        return dict(found)

    def leading(self, flow: int) -> dict[str, tuple[Floats, Floats]]:
        """Band to heads and costs of the pump duties of a flow that no other beats in both."""
        if flow not in self._leading:
            bands: dict[str, list[tuple[float, int]]] = {}
            mine = (self.drives[n] for n in self.by_flow.get(flow, ()))
            found = ((-d.duty.head_m, d.cents, d.duty.band) for d in mine)
            for down_m, cents, band in sorted(found):
                kept = bands.setdefault(band, [])
                if not kept or cents < kept[-1][1]:
                    kept.append((TINY - down_m, cents))
            self._leading[flow] = {
                band: (np.array([h for h, _ in kept]), np.array([float(c) for _, c in kept]))
                for band, kept in bands.items()
            }
        return self._leading[flow]

    @property
    def asks(self) -> tuple[float, int]:
        """The least authority, and the least head to throttle, that its pump duties ask for."""
        return min(d.asks_m for d in self.drives), min(d.throttles for d in self.drives)

    def setting(self) -> Setting:
        """The least that every pump duty of the scene asks for."""
        return Setting(
            self.shut_off_m,
            self.asks[0],
            min(d.duty.head_m for d in self.drives),
            Limits(max(d.duty.head_m for d in self.drives) + TINY),
            self.price,
        )

    def with_drives(self, kept: Iterable[int]) -> Scene:
        """The scene with some of its pump duties only."""
        place = {n: at for at, n in enumerate(kept)}
        known = self.known or {}
        return replace(
            self,
            drives=[self.drives[n] for n in place],
            _leading={},
            known={(s, place[n], k): cents for (s, n, k), cents in known.items() if n in place},
        )
