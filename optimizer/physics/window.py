"""The inflows at which a siphon starts and stops, when its coefficients are only bands."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

from scipy.optimize import minimize_scalar

from optimizer.physics.band import Band
from optimizer.physics.bed import SiphonBed
from optimizer.physics.roots import root_between

ROBUSTNESS = ("nominal", "most", "whole")

MOST_SHARE = 0.95
"""Share of draws that "most" stands for (A12)."""

_PEAK_TOLERANCE = 1e-10

_KEPT = 4096
"""Windows kept ready: a site is designed again for each thing that nearly decided otherwise."""

Interval = tuple[float, float]


@dataclass(frozen=True)
class _Works:
    """Chance that a siphon starts and stops at a set inflow, its bands drawn uniformly.

    Attributes:
        start: set inflow that just starts it, at both ends of the Froude band.
        scale: set inflow that just lets it stop is ratio / sqrt(K) times this.
        ratio: both ends of the stop ratio's band.
        loss: both ends of the loss coefficient's band.
    """

    start: Interval
    scale: float
    ratio: Interval
    loss: Interval

    @property
    def whole(self) -> Interval:
        """The inflows that work at every corner; empty where low >= high."""
        return self.start[1], self.scale * self.ratio[0] / math.sqrt(self.loss[1])

    @property
    def support(self) -> Interval:
        """The inflows that work somewhere in the bands; empty where low >= high."""
        return self.start[0], self.scale * self.ratio[1] / math.sqrt(self.loss[0])

    def starts(self, inflow: float) -> float:
        """Return P(start flow < inflow)."""
        return _share_below(inflow, *self.start)

    def stops(self, inflow: float) -> float:
        """Return P(inflow < stop flow), the mean over K of the chance that the ratio is enough.

        The ratio needed is x t with x = sqrt(K), t = inflow / scale. For x below rl/t any ratio
        does, above rh/t none, and between the chance is linear in x; the mean of x over K from
        a^2 to b^2 is (2/3)(a^2 + a b + b^2)/(a + b).
        """
        (low, high), (lowest, most) = self.ratio, self.loss
        need = inflow / self.scale
        if lowest == most:
            return 1.0 - _share_below(need * math.sqrt(lowest), low, high)
        sure = _clip((low / need) ** 2, lowest, most)
        never = _clip((high / need) ** 2, lowest, most)
        chance = (sure - lowest) / (most - lowest)
        if never > sure:
            a, b = math.sqrt(sure), math.sqrt(never)
            mean = (2.0 / 3.0) * (a * a + a * b + b * b) / (a + b)
            chance += (never - sure) / (most - lowest) * (high - need * mean) / (high - low)
        return chance

    def chance(self, inflow: float) -> float:
        """Return the chance that both happen; start and stop draws are independent."""
        return self.starts(inflow) * self.stops(inflow)


def _clip(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


def _share_below(value: float, low: float, high: float) -> float:
    """Return the share of a uniform band that lies below a value."""
    if low == high:
        return 1.0 if value > low else 0.0
    return _clip((value - low) / (high - low), 0.0, 1.0)


def _works(
    bed: SiphonBed,
    start_froude: Band,
    stop_ratio: Band,
    loss: Band,
    least: float = 1.0,
    greatest: float = 1.0,
) -> _Works:
    if not 0.0 < least <= greatest:
        raise ValueError("the least share of the set inflow lies above 0, up to the greatest")
    if min(start_froude.low, stop_ratio.low, loss.low) <= 0.0 or stop_ratio.high > 1.0:
        raise ValueError("bands must lie above 0, and the stop ratio's up to 1")
    per_froude = bed.start_flow_m3_s / bed.start_froude / least
    return _Works(
        (per_froude * start_froude.low, per_froude * start_froude.high),
        bed.greatest_inflow_m3_s * math.sqrt(bed.loss_coefficient) / greatest,
        (stop_ratio.low, stop_ratio.high),
        (loss.low, loss.high),
    )


def _most(works: _Works, share: float) -> Interval | None:
    """Return where the chance is at least ``share``: an interval, as the chance has one peak.

    With logarithms of Froude number, ratio and K as coordinates the uniform draws have log-concave
    densities (e^v on a box) and "starts" and "stops" are convex in them and in ln(inflow)
    together, so by Prekopa's theorem each chance, and their product, is log-concave in
    ln(inflow).
    """
    low, high = works.support
    if low >= high:
        return None
    best = _likeliest(works)
    if works.chance(best) < share:
        return None

    def excess(inflow: float) -> float:
        return works.chance(inflow) - share

    return _edge(excess, low, best), _edge(excess, high, best)


def _edge(excess: Callable[[float], float], end: float, best: float) -> float:
    """Return where the chance falls to the share between the best inflow and an end."""
    return end if excess(end) >= 0.0 else root_between(excess, end, best)


def _likeliest(works: _Works) -> float:
    """Return the inflow most likely to work."""
    sure_low, sure_high = works.whole
    if sure_low < sure_high:
        return math.sqrt(sure_low * sure_high)
    low, high = (math.log(end) for end in works.support)
    found = minimize_scalar(
        lambda log: -works.chance(math.exp(log)),
        bounds=(low, high),
        method="bounded",
        options={"xatol": _PEAK_TOLERANCE},
    )
    return math.exp(float(found.x))


def share_of_each(kinds: int, share: float = MOST_SHARE) -> float:
    """Return how surely each of several kinds of bed must work for all of them to work.

    What is not known of a siphon is common to the beds of its kind and independent between kinds,
    so the chances of the kinds multiply: share^(1/kinds) each.

    Args:
        kinds: number of kinds, at least 1.
        share: share of draws in which every bed must work, above 0 to 1.

    >>> round(share_of_each(2), 5)
    0.97468
    """
    return float(share ** (1.0 / kinds))


def working_chance(
    bed: SiphonBed,
    start_froude: Band,
    stop_ratio: Band,
    loss_coefficient: Band,
    least_m3_s: float,
    greatest_m3_s: float,
) -> float:
    """Return the chance that a siphon starts at one inflow and stops at another, in one draw.

    Args:
        bed: bed and siphon.
        start_froude: band of the starting Froude number.
        stop_ratio: band of the stop ratio, within 0 to 1.
        loss_coefficient: band of K.
        least_m3_s: inflow at which it must start, above 0.
        greatest_m3_s: inflow at which it must stop, above 0.

    Raises:
        ValueError: for an argument outside its limits.
    """
    if min(least_m3_s, greatest_m3_s) <= 0.0:
        raise ValueError("inflows must be above 0")
    works = _works(bed, start_froude, stop_ratio, loss_coefficient)
    return works.starts(least_m3_s) * works.stops(greatest_m3_s)


@lru_cache(maxsize=_KEPT)
def inflow_window(
    bed: SiphonBed,
    start_froude: Band,
    stop_ratio: Band,
    loss_coefficient: Band,
    robustness: str,
    share: float = MOST_SHARE,
    least: float = 1.0,
    greatest: float = 1.0,
) -> tuple[float, float] | None:
    """Return the inflows at which a bed's siphon starts and stops, as surely as asked.

    It starts above Fr sqrt(g d) a and stops below r Q(drain level), Q falling with sqrt(K). The
    bands stand in place of the bed's own three coefficients.

    Args:
        bed: bed and siphon.
        start_froude: band of the starting Froude number.
        stop_ratio: band of the stop ratio, within 0 to 1.
        loss_coefficient: band of K.
        robustness: nominal (every coefficient at its nominal value), most (works in at least
            ``share`` of independent, uniform draws over the bands; exact, not sampled) or whole
            (works at every corner of the bands).
        share: for most, above 0 to 1.
        least: share of the set inflow that the true one may fall to; the siphon starts there.
        greatest: share of the set inflow that it may grow to; the siphon stops there. Both happen
            in one and the same draw.

    Returns:
        (low, high) in m3/s with low < high, of set inflows, or None where no inflow is that sure.

    Raises:
        ValueError: for an unknown robustness, or an argument outside its limits.
    """
    if robustness not in ROBUSTNESS:
        raise ValueError(f"robustness must be one of {', '.join(ROBUSTNESS)}, not {robustness!r}")
    if not 0.0 < share <= 1.0:
        raise ValueError(f"a share of draws must lie above 0 and up to 1, not {share}")
    works = _works(bed, start_froude, stop_ratio, loss_coefficient, least, greatest)
    window: Interval | None = works.whole
    if robustness == "nominal":
        nominal = replace(
            bed,
            start_froude=start_froude.nominal,
            stop_ratio=stop_ratio.nominal,
            loss_coefficient=loss_coefficient.nominal,
        )
        window = nominal.start_flow_m3_s / least, nominal.stop_flow_m3_s / greatest
    elif robustness == "most" and share < 1.0:
        window = _most(works, share)
    return window if window is not None and window[0] < window[1] else None
