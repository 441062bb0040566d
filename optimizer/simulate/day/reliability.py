"""Draw every coefficient many times over and count in how many draws every bed works."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.physics.band import Band
from optimizer.records.design import Design
from optimizer.records.reliability import Reliability
from optimizer.simulate.day.bed_arrays import Flags, Indices
from optimizer.simulate.day.drawn_cycle import drawn_cycle_s
from optimizer.simulate.day.pump_inflows import PumpInflows

COEFFICIENTS = ("start Froude number", "stop ratio", "siphon loss", "pump curve", "valve setting")

FIGURES_AT_ONCE = 500_000
"""Draws times beds worked out together: some ten arrays of this length fit a small machine."""


@dataclass(frozen=True, eq=False)
class _Draw:
    """Draws of every coefficient as shares of nominal: by draw and kind; pump, by draw; valve."""

    start: Array
    stop: Array
    loss: Array
    pump: Array
    valve: Array
    store: Array

    def pick(self, draws: Flags) -> _Draw:
        """Return some of the draws."""
        return _Draw(*(getattr(self, each.name)[draws] for each in fields(self)))

    def nominal(self, number: int) -> _Draw:
        """Return the draws with the coefficient of a number at its nominal value throughout."""
        parts = [getattr(self, each.name) for each in fields(self)]
        parts[number] = np.ones_like(parts[number])
        return _Draw(*parts)


@dataclass(eq=False)
class _Counts:
    """How many draws had what, added up from batch to batch."""

    every: int
    starts: int
    stops: int
    floods: int
    by_bed: Array
    mended: Array


def reliability(
    design: Design, draws: int = 10000, seed: int = 0, pump_tolerance: float | None = None
) -> Reliability:
    """Return the share of draws in which every bed of a design works.

    Start Froude number, stop ratio, K and porosity are drawn uniformly over their bands, once for
    every kind of bed: not knowing them is common to its beds. Between kinds they are independent,
    which is on the safe side. The error of setting a valve is drawn for every bed; the pump's heads
    take one factor. Valves are set by bucket, so the inflow at the setting level is the promised
    one whatever the pump, if its head suffices. A bed works if its least inflow, at the lowest sump
    level, starts the siphon and its greatest, at the highest, lets it break. Porosity changes not
    whether a bed works but how often it floods, which is counted apart.

    Args:
        design: the design.
        draws: number of draws, at least 1.
        seed: seed of the draws.
        pump_tolerance: greatest relative error of the pump's heads, 0 to below 1; that of the
            design's promise where None.

    Raises:
        ValueError: for no draws or an impossible tolerance.
        NotSolved: if an operating point was not found.
        BadInput: if some pipe is not joined to the pump.
    """
    tolerance = design.promise.pump_tolerance if pump_tolerance is None else pump_tolerance
    if draws < 1 or not 0.0 <= tolerance < 1.0:
        raise ValueError("reliability needs a draw or more and a tolerance from 0 to below 1")
    sampler = _Sampler(design, tolerance)
    beds = [bed.id for bed in design.beds]
    total = _Counts(0, 0, 0, 0, np.zeros(len(beds)), np.zeros(len(COEFFICIENTS)))
    for drawn in sampler.batches(draws, np.random.default_rng([seed, 2])):
        sampler.count(drawn, total)
    failed = draws - total.every
    return Reliability(
        draws=draws,
        share=total.every / draws,
        by_bed=dict(zip(beds, (total.by_bed / draws).tolist(), strict=True)),
        starts=total.starts / draws,
        stops=total.stops / draws,
        floods=total.floods / draws,
        to_blame=dict(zip(COEFFICIENTS, (total.mended / max(1, failed)).tolist(), strict=True)),
    )


class _Sampler:
    """A design's inflows and siphons, ready for draws."""

    def __init__(self, design: Design, pump_tolerance: float) -> None:
        self.design, self.tolerance = design, pump_tolerance
        self.inflows = PumpInflows.of(design, pump_tolerance)
        names = [kind.id for kind in design.kinds]
        self.kind: Indices = np.array([names.index(bed.kind) for bed in design.beds])
        siphons = [kind.siphon for kind in design.kinds]
        self.start = np.array([s.start_flow_m3_s for s in siphons])
        self.slots = np.array([s.greatest_inflow_m3_s for s in siphons])
        self.ratio = np.array([s.stop_ratio for s in siphons])

    def batches(self, draws: int, dice: np.random.Generator) -> Iterator[_Draw]:
        """Yield the draws, so many at once as fit the memory."""
        most = max(1, FIGURES_AT_ONCE // len(self.design.beds))
        for first in range(0, draws, most):
            yield self._draw(min(most, draws - first), dice)

    def _draw(self, draws: int, dice: np.random.Generator) -> _Draw:
        kinds, error = self.design.kinds, self.design.promise.valve_setting_error
        pump = dice.uniform(1.0 - self.tolerance, 1.0 + self.tolerance, draws)
        return _Draw(
            start=_shares([k.start_froude for k in kinds], draws, dice),
            stop=_shares([k.stop_ratio for k in kinds], draws, dice),
            loss=_shares([k.loss_coefficient for k in kinds], draws, dice),
            pump=pump,
            valve=dice.uniform(1.0 - error, 1.0 + error, (draws, len(self.design.beds))),
            store=_shares([k.porosity for k in kinds], draws, dice),
        )

    def count(self, drawn: _Draw, total: _Counts) -> None:
        """Add what a batch of draws gives."""
        low, high = self._inflows(drawn)
        starts, stops = self._outcome(drawn, low, high)
        works = starts & stops
        every: Flags = np.asarray(works.all(axis=1))
        total.every += int(every.sum())
        total.starts += int(starts.all(axis=1).sum())
        total.stops += int(stops.all(axis=1).sum())
        total.by_bed += works.sum(axis=0)
        total.floods += self._flooding(drawn.pick(every), low[every], high[every])
        bad = drawn.pick(np.logical_not(every))
        for number in range(len(COEFFICIENTS)):
            mended = bad.nominal(number)
            starts, stops = self._outcome(mended, *self._inflows(mended))
            total.mended[number] += (starts & stops).all(axis=1).sum()

    def _inflows(self, drawn: _Draw) -> tuple[Array, Array]:
        """Return the inflow of every bed at the lowest and at the highest sump level."""
        low, high = self.inflows.at(drawn.pump)
        return low * drawn.valve, high * drawn.valve

    def _outcome(self, drawn: _Draw, low: Array, high: Array) -> tuple[Flags, Flags]:
        """Return whether each bed starts and whether it stops, (draws, beds)."""
        start = self.start * drawn.start
        stop = self.ratio * drawn.stop * self.slots / np.sqrt(drawn.loss)
        return low > start[:, self.kind], high <= stop[:, self.kind]

    def _flooding(self, drawn: _Draw, low: Array, high: Array) -> int:
        """Return in how many draws every bed floods often enough.

        The cycle's time is convex in the inflow, so the longest of a kind is at one end of all
        inflows that its beds see.
        """
        enough = np.ones(len(low), dtype=bool)
        zones, floods = self.design.zones, 1
        longest_s = 3600.0 / self.design.promise.floods_per_hour_least
        if zones is not None:
            longest_s, floods = zones.turn.open_s, zones.floods
        for number, kind in enumerate(self.design.kinds):
            beds = self.kind == number
            if not beds.any():
                continue
            shares = [each[:, number] for each in (drawn.start, drawn.loss, drawn.store)]
            for inflow in (low[:, beds].min(axis=1), high[:, beds].max(axis=1)):
                time_s = floods * drawn_cycle_s(kind.siphon, inflow, *shares)
                if zones is not None:  # a bed may be empty to its floor when its turn begins
                    dry_m3 = kind.siphon.store_m2 * kind.siphon.drain_level_m * shares[2]
                    time_s = time_s + dry_m3 / inflow
                enough &= time_s <= longest_s
        return int(enough.sum())


def _shares(bands: list[Band], draws: int, dice: np.random.Generator) -> Array:
    columns = [dice.uniform(band.low, band.high, draws) / band.nominal for band in bands]
    return np.column_stack(columns)
