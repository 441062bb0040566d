"""Darcy friction factor in round pipes, from laminar to rough."""

from __future__ import annotations

from typing import overload

import numpy as np

from optimizer.physics.arrays import Array

LAMINAR_END_REYNOLDS = 2000.0
TURBULENT_START_REYNOLDS = 4000.0
ROUGHEST = 0.1
"""Greatest relative roughness accepted; Colebrook's own data end near 0.05."""

_NEWTON_STEPS = 3
"""As many leave less than 1e-15 of f over all of its range; two leave 5e-11."""


def _colebrook(reynolds: Array, relative_roughness: Array) -> Array:
    """Solve Colebrook for x = 1/sqrt(f) by Newton's method from Haaland's formula."""
    rough = relative_roughness / 3.7
    x = -1.8 * np.log10(rough**1.11 + 6.9 / reynolds)
    slope = 2.51 / reynolds
    for _ in range(_NEWTON_STEPS):
        inside = rough + slope * x
        x = x - (x + 2.0 * np.log10(inside)) / (1.0 + 2.0 * slope / (inside * np.log(10.0)))
    return np.asarray(1.0 / x**2)


@overload
def friction_factor(reynolds: float, relative_roughness: float) -> float: ...
@overload
def friction_factor(reynolds: Array, relative_roughness: Array | float) -> Array: ...
@overload
def friction_factor(reynolds: float, relative_roughness: Array) -> Array: ...


def friction_factor(reynolds: float | Array, relative_roughness: float | Array) -> float | Array:
    """Return the Darcy friction factor f in h = f (L/d) V^2 / 2g.

    Laminar (Re up to 2000): f = 64/Re. Turbulent (Re from 4000): Colebrook,
    1/sqrt(f) = -2 log10(e/3.7 + 2.51/(Re sqrt(f))), solved to about 1e-15. Between the two no
    formula is reliable; the blend used is the power law through both ends,
    f = 0.032 (Re/2000)^n with n = log2(f(4000)/0.032). As f(4000) is at least 0.0399 (smooth
    pipe), n > 0, so f Re^2, and with it head loss, rises strictly with flow across the blend.

    Args:
        reynolds: Reynolds number, above 0.
        relative_roughness: roughness height over bore, 0 to 0.1.

    Returns:
        f, a float for two numbers, else an array.

    Raises:
        ValueError: outside those limits.

    Source:
        C. F. Colebrook, Journal of the Institution of Civil Engineers 11(4), 1939, p. 133; the
        blend is our own assumption.

    >>> round(friction_factor(1e5, 1e-4), 10)
    0.0185138661
    >>> friction_factor(1000.0, 0.0)
    0.064
    """
    re = np.asarray(reynolds, dtype=np.float64)
    rough = np.asarray(relative_roughness, dtype=np.float64)
    if (re <= 0.0).any():
        raise ValueError("the friction factor needs a Reynolds number above 0")
    if (rough < 0.0).any() or (rough > ROUGHEST).any():
        raise ValueError(f"relative roughness must lie between 0 and {ROUGHEST}")
    factor = _blended(re, rough)
    return float(factor) if factor.ndim == 0 else factor


def _blended(re: Array, rough: Array) -> Array:
    turbulent = _colebrook(np.maximum(re, TURBULENT_START_REYNOLDS), rough)
    if (re >= TURBULENT_START_REYNOLDS).all():
        return turbulent
    laminar = 64.0 / np.minimum(re, LAMINAR_END_REYNOLDS)
    share = np.log(re / LAMINAR_END_REYNOLDS) / np.log(
        TURBULENT_START_REYNOLDS / LAMINAR_END_REYNOLDS
    )
    blend = laminar * (turbulent / laminar) ** np.minimum(np.maximum(share, 0.0), 1.0)
    above = np.where(re >= TURBULENT_START_REYNOLDS, turbulent, blend)
    return np.asarray(np.where(re <= LAMINAR_END_REYNOLDS, laminar, above))
