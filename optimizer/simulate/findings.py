"""Three ways to hold a promise against simulation: at least, at most, near."""

from __future__ import annotations

from optimizer.records.check import Finding
from optimizer.simulate.tolerances import ROUNDING


def at_least(
    subject: str, promise: str, limit: float, simulated: float, unit: str, *, share: float = 0.0
) -> Finding:
    """Return whether a figure reaches a limit, less ``share`` of it."""
    tolerance = share * abs(limit)
    passed = simulated >= limit - tolerance - _rounding(limit)
    return Finding(subject, promise, limit, simulated, unit, tolerance, passed)


def at_most(
    subject: str, promise: str, limit: float, simulated: float, unit: str, *, share: float = 0.0
) -> Finding:
    """Return whether a figure stays within a limit, plus ``share`` of it."""
    tolerance = share * abs(limit)
    passed = simulated <= limit + tolerance + _rounding(limit)
    return Finding(subject, promise, limit, simulated, unit, tolerance, passed)


def near(
    subject: str, promise: str, stated: float, simulated: float, unit: str, *, tolerance: float
) -> Finding:
    """Return whether a stated figure and the simulated one differ by no more than a tolerance."""
    passed = abs(simulated - stated) <= tolerance + _rounding(stated)
    return Finding(subject, promise, stated, simulated, unit, tolerance, passed)


def near_share(
    subject: str, promise: str, stated: float, simulated: float, unit: str, *, share: float
) -> Finding:
    """Return whether the simulated figure differs from the stated one by a share of itself."""
    return near(subject, promise, stated, simulated, unit, tolerance=share * abs(simulated))


def _rounding(limit: float) -> float:
    return ROUNDING * abs(limit)
