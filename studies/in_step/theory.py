"""Hand theory: what the shared sump does to beds that are a little, or anyhow, out of step.

A bed's clock is its volume: water added where the volume changes at ``V'`` moves it ahead by
``1/V'`` seconds a cubic metre. That is forward while it fills (``V' = q``) and *back* while it
drains (``V' = q - Q``): more inflow makes a fill shorter and a draining longer. The others act only
through the sump, whose level is the water they do not hold. To first order in the growth of inflow
with level, averaged over a cycle, bed i runs at the rate

    1 + sum over j of H(t_j - t_i),      H(s) = -(g q / A) mean over t of V(t + s) / V'(t)

with g the relative growth of inflow per metre, q the inflow, A the sump's area. Two results follow.

* Beds in step: two that are a little apart, among n that are not, part at the rate
  ``-n H'(0) = (n g q / A) mean of V'/V' = n g q / A``. It is never negative, whatever the bed: the
  sump always pushes beds that fire together apart. Over one cycle that is the factor exp(G) with
  G = g times the rise of level that a cycle's inflow of all beds makes: :func:`coupling`.
* Beds anywhere: with V'_m and Z_m the Fourier coefficients of V' and 1/V' over a cycle, a pattern
  of m clusters in a spread-out crowd grows by ``-G Re(V'_m conj(Z_m))`` a cycle
  (:func:`crowd_growth`), and beds gathered in k equal clusters part within them by minus twice the
  sum of these over the multiples of k (:func:`cluster_split`); for k = 1 that is G again.

The phase response is derived here from the bed's own equation; that a common input parts or joins
oscillators by it is textbook matter: A. T. Winfree, The Geometry of Biological Time, Springer, 1980
(from memory, not verified), and the mean field of a crowd: Y. Kuramoto, Chemical Oscillations,
Waves, and Turbulence, Springer, 1984 (from memory, not verified).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.stats import binom

from optimizer import SiphonBed
from optimizer.simulate.day.bed_arrays import bed_arrays
from optimizer.simulate.day.plant import Plant
from optimizer.simulate.day.segment import DAY_S

_STEPS = 20_000
_SAMPLES = 8192
_SUBSTEPS = 4

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Orbit:
    """One bed's cycle at a steady inflow, sampled evenly in time.

    Attributes:
        cycle_s: length of the cycle.
        drain_share: share of it that the siphon runs.
        volume_m3: water above the slots.
        rate_m3_s: its change.
    """

    cycle_s: float
    drain_share: float
    volume_m3: Array
    rate_m3_s: Array

    @property
    def products(self) -> Array:
        """Re(V'_m conj(Z_m)), m = 1, 2, ...; twice their sum is 1."""
        count = self.rate_m3_s.size
        rates = np.fft.fft(self.rate_m3_s) / count
        pulls = np.fft.fft(1.0 / self.rate_m3_s) / count
        return np.real(rates * np.conj(pulls))[1 : count // 2]


def orbit(bed: SiphonBed, inflow_m3_s: float) -> Orbit:
    """Return one cycle of a bed that works at an inflow; midpoint rule in the volume.

    Raises:
        ValueError: for an inflow at which the siphon does not start or does not stop.
    """
    if not bed.start_flow_m3_s < inflow_m3_s <= bed.stop_flow_m3_s:
        raise ValueError("the siphon does not work at this inflow")
    laws = bed_arrays([bed])
    crest, prime = float(laws.crest_m3[0]), float(laws.prime_m3[0])

    def rate(volume: Array, drains: bool) -> Array:
        out = laws.siphon_m3_s(volume) if drains else laws.rim_m3_s(volume)
        return np.asarray(inflow_m3_s - out)

    times, volumes = [np.zeros(1)], [np.zeros(1)]
    ends = []
    for begin, end, drains in ((0.0, crest, False), (crest, prime, False), (prime, 0.0, True)):
        grid = np.linspace(begin, end, _STEPS + 1)
        step = (grid[1] - grid[0]) / rate((grid[1:] + grid[:-1]) / 2.0, drains)
        times.append(times[-1][-1] + np.cumsum(step))
        volumes.append(grid[1:])
        ends.append(float(times[-1][-1]))
    cycle = ends[-1]
    at = (np.arange(_SAMPLES) + 0.5) / _SAMPLES * cycle
    volume = np.interp(at, np.concatenate(times), np.concatenate(volumes))
    rates = np.where(at < ends[1], rate(volume, False), rate(volume, True))
    return Orbit(cycle, (cycle - ends[1]) / cycle, volume, rates)


def crowd_growth(found: Orbit, modes: int = 8) -> Array:
    """Return the growth a cycle of patterns of 1, 2, ... clusters in a crowd, over G."""
    return -found.products[:modes]


def cluster_split(found: Orbit, clusters: int) -> float:
    """Return the rate a cycle at which beds within k equal clusters part, over G."""
    return float(2.0 * found.products[clusters - 1 :: clusters].sum())


def elasticity(bed: SiphonBed, inflow_m3_s: float) -> float:
    """Return d ln T / d ln q: the relative change of the cycle with the inflow.

    Negative below the inflow of most floods, 0 there, positive above.
    """
    small = 1e-4
    above, below = (bed.cycle_s(inflow_m3_s * (1.0 + s)) for s in (small, -small))
    return float((np.log(above) - np.log(below)) / (2.0 * small))


def most_floods_inflow(bed: SiphonBed) -> float:
    """Return the inflow at which the cycle is shortest."""
    low, high = 1.01 * bed.start_flow_m3_s, bed.stop_flow_m3_s
    return float(brentq(lambda q: elasticity(bed, q), low, high / 1.001))


def growth_per_m(ready: Plant, level_m: float) -> float:
    """Return the relative growth of the total inflow per metre of sump level."""
    small = 0.01
    table = ready.table()
    flows = [float(table.inflows_m3_s(level_m + s).sum()) for s in (small, -small)]
    return float((np.log(flows[0]) - np.log(flows[1])) / (2.0 * small))


def coupling(ready: Plant, bed: SiphonBed) -> float:
    """Return G: what beds in step part by, a cycle, as a power of e.

    Level and inflow are those with the beds' mean volume held.
    """
    level = mean_level_m(ready, bed)
    flows = ready.table().inflows_m3_s(level)
    rise = float(flows.sum()) * bed.cycle_s(float(flows.mean())) / ready.area_m2
    return growth_per_m(ready, level) * rise


def mean_level_m(ready: Plant, bed: SiphonBed) -> float:
    """Return the sump's mean level, the beds at any phases."""
    inflow = float(ready.setting_inflows_m3_s().mean())
    for _ in range(3):
        held = len(ready.beds) * float(orbit(bed, inflow).volume_m3.mean())
        level = (ready.free_m3 - held) / ready.area_m2
        inflow = float(ready.table().inflows_m3_s(level).mean())
    return level


def drifts(ready: Plant, bed: SiphonBed, level_m: float) -> Array:
    """Return how many cycles each bed gains on the mean in one cycle, the sump at a level."""
    flows = ready.table().inflows_m3_s(level_m).tolist()
    cycles = np.array([bed.cycle_s(flow) for flow in flows])
    return np.asarray(np.mean(cycles) / cycles - np.mean(np.mean(cycles) / cycles))


def cycles_in_step(drift: Array, strength: float, order: float) -> float:
    """Return the cycles after a start in step at which the phase order has fallen to a value.

    By hand: a bed drifts by d cycles a cycle, and what it has gained grows by G a cycle, so it is
    ``d (exp(G c) - 1) / G`` ahead after c cycles. Good while gains are well below a cycle.

    Args:
        drift: cycles gained in a cycle, one a bed.
        strength: G.
        order: phase order to fall to, below 1.
    """
    widest = float(np.std(drift))
    if widest == 0.0:
        return float("inf")
    reach = np.linspace(0.0, 1.0 / widest, 20_001)
    orders = np.abs(np.exp(2j * np.pi * drift[:, None] * reach).mean(axis=0))
    below = np.flatnonzero(orders <= order)
    if below.size == 0:
        return float("inf")
    gained = float(reach[below[0]])
    return gained if strength == 0.0 else float(np.log1p(strength * gained) / strength)


def phase_model(found: Orbit, drift: Array, strength: float, start: Array, cycles: int) -> Array:
    """Return the phase order after 0, 1, 2, ... cycles by the averaged equations, whole.

    ``dx_i/dc = d_i + (G / n) sum over j of h(x_j - x_i)``, phases and time counted in cycles.

    Args:
        found: the orbit, which gives h.
        drift: d, one a bed.
        strength: G.
        start: phases at the start.
        cycles: how many to go.
    """
    pulls = 1.0 / found.rate_m3_s
    both = np.fft.fft(found.volume_m3) * np.conj(np.fft.fft(pulls))
    reach = -np.real(np.fft.ifft(both)) / (pulls.size * found.cycle_s)
    reach, grid = np.append(reach, reach[0]), np.linspace(0.0, 1.0, pulls.size + 1)
    phase = start.astype(np.float64).copy()

    def rate(x: Array) -> Array:
        apart = np.mod(x[None, :] - x[:, None], 1.0)
        return np.asarray(drift + strength * np.interp(apart, grid, reach).mean(axis=1))

    orders = [abs(np.exp(2j * np.pi * phase).mean())]
    for _ in range(cycles):
        for _ in range(_SUBSTEPS):
            middle = phase + rate(phase) / (2.0 * _SUBSTEPS)
            phase = phase + rate(middle) / _SUBSTEPS
        orders.append(abs(np.exp(2j * np.pi * phase).mean()))
    return np.array(orders)


def times_above_alone(beds: int, drain_share: float, cycle_s: float, most: int) -> float:
    """Return how often a day independent equal beds come to drain in more than a number together.

    One bed starts to drain once a cycle; it makes the number too great if just ``most`` of the
    others drain then.
    """
    others = binom.pmf(most, beds - 1, drain_share)
    return float(DAY_S / cycle_s * beds * others)
