"""One bed with its bell siphon: what inflows work, and how often it floods."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from functools import cached_property

from optimizer.physics import cycle_forms
from optimizer.physics.roots import least_between, root_between
from optimizer.physics.siphon import (
    ORIFICE_START,
    RIM_DISCHARGE,
    SELF_VENTING_FROUDE,
    froude_flow,
    orifice_scale,
    primed_flow,
    rim_flow,
    rim_head,
    weir_scale,
)

STOP_RATIO = 0.75
"""Inflow over Q(drain level) above which air no longer breaks the siphon (assumption, 0.6-0.95)."""

_OPEN_END = 1e-12
"""Relative distance kept from a flow at which a time becomes infinite."""


@dataclass(frozen=True)
class SiphonBed:
    """A flood-and-drain bed with straight sides and a bell siphon. Levels are above its floor.

    The bed fills from ``drain_level_m``, runs over the standpipe's rim from ``crest_level_m``,
    primes once the flow over the rim reaches ``start_flow_m3_s``, drains as a full pipe back to
    ``drain_level_m`` and there takes in air, if the inflow is at most ``stop_flow_m3_s``.

    Attributes:
        area_m2: plan area inside.
        porosity: drainable share of the medium's volume, above 0 to 1.
        drain_level_m: top of the highest bell slot.
        crest_level_m: standpipe rim, above ``drain_level_m``.
        bore_m: standpipe bore.
        outlet_level_m: outlet of the siphon's pipe, below ``drain_level_m`` (negative below floor).
        loss_coefficient: K of the primed siphon with its exit, referred to the bore.
        start_froude: bore Froude number at which the siphon primes (0.30; 0.20-0.45).
        stop_ratio: greatest inflow that stops, over the discharge at ``drain_level_m``, to 1.
        mouth_diameter_m: diameter of the rim or of a funnel on it; the bore where None.
        rim_discharge: discharge coefficient of the rim.

    Raises:
        ValueError: for a field outside its limits.
    """

    area_m2: float
    porosity: float
    drain_level_m: float
    crest_level_m: float
    bore_m: float
    outlet_level_m: float
    loss_coefficient: float
    start_froude: float = SELF_VENTING_FROUDE
    stop_ratio: float = STOP_RATIO
    mouth_diameter_m: float | None = None
    rim_discharge: float = RIM_DISCHARGE

    def __post_init__(self) -> None:
        values = (getattr(self, each.name) for each in fields(self))
        if not all(value is None or math.isfinite(value) for value in values):
            raise ValueError("every figure of a bed must be a finite number")
        sizes = (self.area_m2, self.bore_m, self.loss_coefficient, self.rim_discharge, self.mouth_m)
        if min(*sizes, self.start_froude) <= 0.0:
            raise ValueError("area, bore, mouth and coefficients of a bed must be above 0")
        if not (0.0 < self.porosity <= 1.0 and 0.0 < self.stop_ratio <= 1.0):
            raise ValueError("porosity and stop ratio must lie above 0 and up to 1")
        if not 0.0 <= self.drain_level_m < self.crest_level_m:
            raise ValueError("the drain level must lie between the floor and the crest")
        if not self.outlet_level_m < self.drain_level_m:
            raise ValueError("the siphon's outlet must lie below the drain level")

    @property
    def mouth_m(self) -> float:
        """Diameter of the rim that water runs over."""
        return self.bore_m if self.mouth_diameter_m is None else self.mouth_diameter_m

    @property
    def store_m2(self) -> float:
        """Water taken up per metre of level: area times porosity."""
        return self.area_m2 * self.porosity

    @cached_property
    def start_flow_m3_s(self) -> float:
        """Inflow above which the siphon primes."""
        return froude_flow(self.start_froude, self.bore_m)

    @cached_property
    def greatest_inflow_m3_s(self) -> float:
        """Discharge at the drain level; from this inflow on the level never gets down there."""
        return self.discharge_m3_s(self.drain_level_m)

    @cached_property
    def stop_flow_m3_s(self) -> float:
        """Greatest inflow at which the siphon still breaks."""
        return self.stop_ratio * self.greatest_inflow_m3_s

    @cached_property
    def prime_level_m(self) -> float:
        """Level at which the siphon primes."""
        return self.crest_level_m + rim_head(self.start_flow_m3_s, self.mouth_m, self.rim_discharge)

    @property
    def held_m3(self) -> float:
        """Water of one flood: between the drain level and the prime level."""
        return self.store_m2 * (self.prime_level_m - self.drain_level_m)

    def discharge_m3_s(self, level_m: float) -> float:
        """Return the discharge of the primed siphon at a level, in m3/s."""
        return primed_flow(level_m, self.outlet_level_m, self.bore_m, self.loss_coefficient)

    @cached_property
    def _rim(self) -> tuple[float, float, float]:
        """Scales of the weir and of the drowned rim, and the flow at which one takes over."""
        mouth = self.mouth_m, self.rim_discharge
        drowned = rim_flow(ORIFICE_START * self.mouth_m, *mouth)
        return weir_scale(*mouth), orifice_scale(*mouth), drowned

    @cached_property
    def _drain(self) -> tuple[float, float, float]:
        """Discharge at the prime level and at the drain level, and 2 S / c^2."""
        high = self.discharge_m3_s(self.prime_level_m)
        scale = 2.0 * self.store_m2 * (self.prime_level_m - self.outlet_level_m) / high**2
        return high, self.greatest_inflow_m3_s, scale

    def prime_s(self, inflow: float) -> float:
        """Return the time from crest to prime level, part of the inflow running over the rim.

        Args:
            inflow: m3/s; at or below ``start_flow_m3_s`` the bed stalls and the time is infinite.
        """
        if inflow <= self.start_flow_m3_s:
            return math.inf
        return self.over_rim_s(inflow, self.start_flow_m3_s)

    def over_rim_s(self, inflow: float, end_flow: float) -> float:
        """Return the time from the crest until so much runs over the rim.

        Args:
            inflow: m3/s, above ``end_flow``.
            end_flow: flow over the rim at the end, up to the start flow, m3/s.

        Raises:
            ValueError: if the inflow is not above the end flow.
        """
        (weir, orifice, drowned), store = self._rim, self.store_m2
        turn = min(end_flow, drowned)
        time = cycle_forms.weir_prime_s(inflow, turn, store, weir)
        if turn == end_flow:
            return time
        return time + cycle_forms.orifice_prime_s(inflow, turn, end_flow, store, orifice)

    def fill_s(self, inflow: float) -> float:
        """Return the time from drain level to prime level.

        Args:
            inflow: m3/s, 0 or more; at or below ``start_flow_m3_s`` the time is infinite.

        Raises:
            ValueError: for a negative inflow.
        """
        _check_inflow(inflow)
        if inflow <= self.start_flow_m3_s:
            return math.inf
        rise = self.store_m2 * (self.crest_level_m - self.drain_level_m)
        return rise / inflow + self.prime_s(inflow)

    def drain_s(self, inflow: float) -> float:
        """Return the time from prime level to drain level, the inflow still running.

        Args:
            inflow: m3/s, 0 or more; from ``greatest_inflow_m3_s`` on the time is infinite.

        Raises:
            ValueError: for a negative inflow.
        """
        _check_inflow(inflow)
        if inflow >= self.greatest_inflow_m3_s:
            return math.inf
        return cycle_forms.drain_time_s(inflow, *self._drain)

    def cycle_s(self, inflow: float) -> float:
        """Return the time from one flood to the next: filling and draining. Convex in the inflow.

        Args:
            inflow: m3/s, 0 or more; infinite up to the start flow and from the greatest inflow on.

        Raises:
            ValueError: for a negative inflow.
        """
        return self.fill_s(inflow) + self.drain_s(inflow)

    def floods_per_hour(self, inflow: float) -> float:
        """Return floods an hour; 0 where the siphon does not start or does not stop.

        It does not start at or below the start flow, nor stop above the stop flow.

        Args:
            inflow: m3/s, 0 or more.

        Raises:
            ValueError: for a negative inflow.
        """
        if inflow > self.stop_flow_m3_s:
            return 0.0
        return 3600.0 / self.cycle_s(inflow)

    def cycle_slope(self, inflow: float) -> float:
        """Return d(cycle_s)/d(inflow) inside (start flow, greatest inflow); it rises."""
        (weir, orifice, drowned), store = self._rim, self.store_m2
        start, turn = self.start_flow_m3_s, min(self.start_flow_m3_s, drowned)
        slope = -store * (self.crest_level_m - self.drain_level_m) / inflow**2
        slope += cycle_forms.weir_prime_slope(inflow, turn, store, weir)
        if turn != start:
            slope += cycle_forms.orifice_prime_slope(inflow, turn, start, store, orifice)
        return slope + cycle_forms.drain_slope(inflow, *self._drain)

    @property
    def working_inflows(self) -> tuple[float, float] | None:
        """The working inflows, a hair inside their open ends; None where nothing works."""
        low = self.start_flow_m3_s * (1.0 + _OPEN_END)
        high = min(self.stop_flow_m3_s, self.greatest_inflow_m3_s * (1.0 - _OPEN_END))
        return (low, high) if low < high else None

    @cached_property
    def _peak(self) -> tuple[float, float]:
        if self.working_inflows is None:
            return self.start_flow_m3_s, 0.0
        best = least_between(self.cycle_slope, *self.working_inflows)
        return best, self.floods_per_hour(best)

    def greatest_floods(self) -> tuple[float, float]:
        """Return the inflow in the window that floods most often, and its floods an hour.

        More inflow than that floods less often: the drain time grows faster than the fill time
        shrinks. Where no inflow works the answer is the start flow and 0 floods.
        """
        return self._peak

    def _crossing(self, floods: float, low: float, high: float) -> float:
        """Return where the cycle takes 3600/floods seconds, or the end that it does not reach."""
        cycle = 3600.0 / floods
        ends = self.cycle_s(low) - cycle, self.cycle_s(high) - cycle
        if ends[0] * ends[1] >= 0.0:
            return low if abs(ends[0]) < abs(ends[1]) else high
        return root_between(lambda q: self.cycle_s(q) - cycle, low, high)

    def inflow_interval(
        self, floods_least: float, floods_most: float | None = None
    ) -> tuple[float, float] | None:
        """Return the inflows that flood often enough and not too often.

        As the cycle is convex in the inflow, "at least so many floods" is an interval. Where
        ``floods_most`` cuts out its middle, the lower branch is returned: it needs less water.

        Args:
            floods_least: floods an hour, above 0.
            floods_most: floods an hour, at least ``floods_least``; no upper limit where None.

        Returns:
            (low, high) in m3/s inside the start-stop window, or None where no inflow floods often
            enough (:meth:`greatest_floods`).

        Raises:
            ValueError: for arguments out of order.
        """
        if not floods_least > 0.0 or (floods_most is not None and floods_most < floods_least):
            raise ValueError("floods an hour must be above 0, and the least not above the most")
        best, greatest = self._peak
        if self.working_inflows is None or greatest < floods_least:
            return None
        lowest, highest = self.working_inflows
        low = self._rising_end(floods_least, lowest, best)
        if floods_most is not None and floods_most < greatest:
            return low, self._rising_end(floods_most, lowest, best)
        if self.cycle_s(highest) <= 3600.0 / floods_least:
            return low, highest
        return low, self._crossing(floods_least, best, highest)

    def _rising_end(self, floods: float, low: float, best: float) -> float:
        """Return where floods an hour, rising with the inflow up to ``best``, reach a value."""
        if self.cycle_s(low) <= 3600.0 / floods:
            return low
        return self._crossing(floods, low, best)


def _check_inflow(inflow: float) -> None:
    if inflow < 0.0:
        raise ValueError(f"an inflow must not be negative, not {inflow}")
