"""Distribution of a sum of many independent whole numbers, with a bound on its rounding error."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, rfft

from optimizer.physics.arrays import Array

_Spectrum = NDArray[np.complex128]

_UNIT = float(np.finfo(np.float64).eps) / 2.0
"""Unit roundoff u: greatest relative error of one rounded operation."""

_PRODUCT_ERROR = 3.0 * _UNIT
"""Relative error of one product of complex numbers: sqrt(8) u."""


def _power(base: _Spectrum, count: int) -> _Spectrum:
    """Return a spectrum to a whole power by squaring; its error is that of count - 1 products."""
    result = base if count % 2 else None
    while count := count // 2:
        base = base * base
        if count % 2:
            result = base if result is None else result * base
    return base if result is None else result


def _transform_error(length: int) -> float:
    """Return the relative 2-norm error of a fast Fourier transform, 7 u log2(length).

    Source:
        N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd edition, 2002, theorem
        24.2 (recalled, not verified; for radix 2 and factors good to u).
    """
    return 7.0 * _UNIT * math.log2(length)


def _chance_error(chances: Sequence[Array], counts: Sequence[int], length: int) -> float:
    """Return a bound on the error of every entry of the summed distribution function.

    A sum of entries is at most sqrt(length) times their 2-norm, which is 1/sqrt(length) times the
    2-norm of the spectrum's error. No factor of the spectrum exceeds 1, so the errors of factors
    add: for each term one transform and one product; then the way back, and adding up.
    """
    norms = [math.sqrt(length) * float(np.linalg.norm(each)) for each in chances]
    each_term = _transform_error(length) + _PRODUCT_ERROR
    terms = math.fsum(count * norm for count, norm in zip(counts, norms, strict=True))
    back = math.sqrt(length) * _transform_error(length)
    return each_term * terms + back + length * _UNIT


def sum_of_independent(chances: Sequence[Array], counts: Sequence[int]) -> tuple[Array, float]:
    """Return the distribution function of a sum of independent whole numbers from 0 up.

    By powers and products of discrete Fourier transforms long enough that nothing wraps round.

    Args:
        chances: for each kind of term, its chances of 0, 1, 2 ...; each adds up to 1.
        counts: how many terms of each kind, each at least 1.

    Returns:
        The chance that the sum is at most 0, 1, 2 ..., never falling, and a bound on the rounding
        error of each (about 1e-9 for a thousand terms of a thousand values).

    Raises:
        ValueError: for lists of different lengths, no terms, or a count below 1.
    """
    if not counts or min(counts) < 1:
        raise ValueError("a sum needs at least one term of every kind")
    values = sum(count * (len(each) - 1) for each, count in zip(chances, counts, strict=True)) + 1
    length = 2 ** max(1, math.ceil(math.log2(values)))
    spectrum: _Spectrum = np.ones(length // 2 + 1, dtype=np.complex128)
    for each, count in zip(chances, counts, strict=True):
        transform: _Spectrum = rfft(each, length)
        spectrum = spectrum * _power(transform, count)
    summed = np.cumsum(irfft(spectrum, length)[:values])
    return np.maximum.accumulate(summed), _chance_error(chances, counts, length)
