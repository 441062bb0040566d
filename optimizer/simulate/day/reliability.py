"""In how many of all the ways its coefficients may fall out does a design work."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from optimizer.physics.arrays import Array
from optimizer.physics.band import Band
from optimizer.records.design import BuiltPump, Design
from optimizer.simulate.day.bed_arrays import Flags
from optimizer.simulate.operating_point import operating_point
from optimizer.simulate.valves import set_valves

PUMP_TOLERANCE = 0.05
"""Share by which a pump's heads may lie off its curve (assumption; makers allow 5 to 10 %)."""

COEFFICIENTS = ("start Froude number", "stop ratio", "siphon loss", "pump curve", "valve setting")


@dataclass(frozen=True, eq=False)
class Reliability:
    """How surely a design's siphons start and stop at every running level of the sump.

    Attributes:
        draws: number of draws.
        share: share of draws in which every bed works.
        by_bed: bed id to the share in which it works.
        starts: share in which every siphon starts.
        stops: share in which every siphon stops.
        to_blame: coefficient to the share of failed draws that would have worked, had it alone
            been nominal; shares may add up to more or less than 1.
    """

    draws: int
    share: float
    by_bed: dict[str, float]
    starts: float
    stops: float
    to_blame: dict[str, float]

    @property
    def standard_error(self) -> float:
        """Sampling error of ``share``."""
        return float(np.sqrt(self.share * (1.0 - self.share) / self.draws))

    def frame(self) -> pd.DataFrame:
        """Return one row a bed: bed, share of draws in which it works."""
        return pd.DataFrame({"bed": list(self.by_bed), "share": list(self.by_bed.values())})


@dataclass(frozen=True, eq=False)
class _Draw:
    """Draws of every coefficient: shares of nominal by draw and bed, pump by draw."""

    start: Array
    stop: Array
    loss: Array
    pump: Array
    valve: Array


def reliability(
    design: Design, draws: int = 10000, seed: int = 0, pump_tolerance: float = PUMP_TOLERANCE
) -> Reliability:
    """Return the share of draws in which every bed of a design works.

    Start Froude number, stop ratio and K are drawn uniformly over their bands, once for every kind
    of bed (not knowing them is common to its beds); the error of setting a valve for every bed;
    the pump's heads by one factor. Valves are set by bucket, so the inflow at the setting level is
    the promised one whatever the pump, if its head suffices. A bed works if its least inflow, at
    the lowest sump level, starts the siphon and its greatest, at the highest, lets it break.
    Porosity does not enter: it changes how often a bed floods, not whether.

    Args:
        design: the design.
        draws: number of draws, at least 1.
        seed: seed of the draws.
        pump_tolerance: greatest relative error of the pump's heads, 0 to below 1.

    Raises:
        ValueError: for no draws or an impossible tolerance.
        NotSolved: if an operating point was not found.
        BadInput: if some pipe is not joined to the pump.
    """
    if draws < 1 or not 0.0 <= pump_tolerance < 1.0:
        raise ValueError("reliability needs a draw or more and a tolerance from 0 to below 1")
    inflows = _Inflows.of(design, pump_tolerance)
    drawn = _draw(design, draws, pump_tolerance, np.random.default_rng([seed, 2]))
    starts, stops = _outcome(design, inflows, drawn)
    works = starts & stops
    every = np.asarray(works.all(axis=1))
    beds = [bed.id for bed in design.beds]
    return Reliability(
        draws=draws,
        share=float(every.mean()),
        by_bed=dict(zip(beds, works.mean(axis=0).tolist(), strict=True)),
        starts=float(starts.all(axis=1).mean()),
        stops=float(stops.all(axis=1).mean()),
        to_blame=_blame(design, inflows, drawn, ~every),
    )


def _blame(design: Design, inflows: _Inflows, drawn: _Draw, failed: Flags) -> dict[str, float]:
    if not failed.any():
        return dict.fromkeys(COEFFICIENTS, 0.0)
    bad = _Draw(*(getattr(drawn, name)[failed] for name in drawn.__dataclass_fields__))
    found = {}
    for name, field in zip(COEFFICIENTS, drawn.__dataclass_fields__, strict=True):
        mended = replace(bad, **{field: np.ones_like(getattr(bad, field))})
        starts, stops = _outcome(design, inflows, mended)
        found[name] = float((starts & stops).all(axis=1).mean())
    return found


def _outcome(design: Design, inflows: _Inflows, drawn: _Draw) -> tuple[Flags, Flags]:
    """Return whether each bed starts and whether it stops, (draws, beds)."""
    kinds = {kind.id: kind.siphon for kind in design.kinds}
    siphons = [kinds[bed.kind] for bed in design.beds]
    start = np.array([s.start_flow_m3_s for s in siphons]) * drawn.start
    slots = np.array([s.greatest_inflow_m3_s for s in siphons]) / np.sqrt(drawn.loss)
    stop = np.array([s.stop_ratio for s in siphons]) * drawn.stop * slots
    low, high = inflows.at(drawn.pump)
    return low * drawn.valve > start, high * drawn.valve <= stop


def _draw(design: Design, draws: int, tolerance: float, dice: np.random.Generator) -> _Draw:
    kinds = [kind.id for kind in design.kinds]
    of = np.array([kinds.index(bed.kind) for bed in design.beds])
    error = design.promise.valve_setting_error
    return _Draw(
        start=_shares([k.start_froude for k in design.kinds], draws, dice)[:, of],
        stop=_shares([k.stop_ratio for k in design.kinds], draws, dice)[:, of],
        loss=_shares([k.loss_coefficient for k in design.kinds], draws, dice)[:, of],
        pump=dice.uniform(1.0 - tolerance, 1.0 + tolerance, draws),
        valve=dice.uniform(1.0 - error, 1.0 + error, (draws, len(design.beds))),
    )


def _shares(bands: list[Band], draws: int, dice: np.random.Generator) -> Array:
    columns = [dice.uniform(band.low, band.high, draws) / band.nominal for band in bands]
    return np.column_stack(columns)


@dataclass(frozen=True, eq=False)
class _Inflows:
    """Inflows at the lowest and highest sump level for three factors on the pump's heads."""

    factors: Array
    low: Array
    high: Array

    @classmethod
    def of(cls, design: Design, tolerance: float) -> _Inflows:
        factors = np.array([1.0 - tolerance, 1.0, 1.0 + tolerance])
        rows = [_inflows(replace(design, pump=_scaled(design.pump, float(f)))) for f in factors]
        return cls(factors, np.array([row[0] for row in rows]), np.array([row[1] for row in rows]))

    def at(self, factor: Array) -> tuple[Array, Array]:
        """Return inflows by draw and bed: the parabola through the three factors."""
        f = self.factors
        if f[0] == f[2]:
            return self.low[1] + 0.0 * factor[:, None], self.high[1] + 0.0 * factor[:, None]
        weights = np.column_stack(
            [
                (factor - f[j]) * (factor - f[k]) / ((f[i] - f[j]) * (f[i] - f[k]))
                for i, j, k in ((0, 1, 2), (1, 0, 2), (2, 0, 1))
            ]
        )
        return weights @ self.low, weights @ self.high


def _inflows(design: Design) -> tuple[list[float], list[float]]:
    losses, sump = set_valves(design).losses, design.sump
    points = [operating_point(design, losses, level) for level in (sump.lowest_m, sump.highest_m)]
    low, high = ([max(0.0, p.flows_m3_s[bed.drop]) for bed in design.beds] for p in points)
    return low, high


def _scaled(pump: BuiltPump, factor: float) -> BuiltPump:
    return replace(pump, heads_m=tuple(factor * head for head in pump.heads_m))
