"""Closed forms of priming and draining against adaptive quadrature and finite differences."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from optimizer.physics import cycle_forms as forms
from tests.tolerances import FORMULA

SLOPE = 1e-5
"""Relative: central differences at a step of 1e-6 of the gap."""

STORE, WEIR, ORIFICE = 1.1, 0.15, 9e-4


@settings(max_examples=60)
@given(ratio=st.floats(1e-9, 0.999))
def test_weir_integral_is_scipys(ratio):
    expected, _ = quad(lambda s: s / (1 - s**3), 0.0, ratio ** (1 / 3), epsrel=1e-13, limit=200)
    assert forms.weir_integral(ratio) == pytest.approx(expected, rel=FORMULA)


@pytest.mark.parametrize("gap", [1e-3, 1e-6, 1e-9, 1e-12])
def test_weir_integral_is_exact_as_the_inflow_falls_to_the_start(gap):
    # The endpoint singularity. With s = 1 - e^-y the integrand loses it:
    # s ds/(1 - s^3) = (1 - e^-y) / (1 + s + s^2) dy, smooth up to y = -ln(1 - s1).
    ratio = 1.0 - gap
    end = -math.log(-math.expm1(math.log(ratio) / 3))

    def smooth(y):
        s = -math.expm1(-y)
        return s / (1 + s + s * s)

    expected, _ = quad(smooth, 0.0, end, epsabs=0.0, epsrel=1e-13, limit=400)
    assert forms.weir_integral(ratio) == pytest.approx(expected, rel=FORMULA)


@settings(max_examples=60)
@given(end=st.floats(1e-6, 1e-3), over=st.floats(1.01, 20.0))
def test_weir_priming_time_is_scipys(end, over):
    inflow, top = end * over, (end / WEIR) ** (2 / 3)
    expected, _ = quad(lambda w: STORE / (inflow - WEIR * w**1.5), 0.0, top, epsrel=1e-12)
    assert forms.weir_prime_s(inflow, end, STORE, WEIR) == pytest.approx(expected, rel=FORMULA)


@settings(max_examples=60)
@given(start=st.floats(1e-5, 1e-4), more=st.floats(1.1, 3.0), over=st.floats(1.01, 5.0))
def test_orifice_priming_time_is_scipys(start, more, over):
    end = start * more
    inflow = end * over
    ends = (start / ORIFICE) ** 2, (end / ORIFICE) ** 2
    expected, _ = quad(lambda w: STORE / (inflow - ORIFICE * w**0.5), *ends, epsrel=1e-12)
    found = forms.orifice_prime_s(inflow, start, end, STORE, ORIFICE)
    assert found == pytest.approx(expected, rel=FORMULA)


@settings(max_examples=60)
@given(low=st.floats(1e-5, 1e-3), more=st.floats(1.05, 3.0), share=st.floats(0.0, 0.99))
def test_drain_time_is_scipys(low, more, share):
    # Q = c u with u^2 the head: S dh / (Q - q) = (2 S / c^2) Q dQ / (Q - q); scale 2 S / c^2.
    inflow, high, scale = share * low, low * more, 3e6
    expected, _ = quad(lambda flow: scale * flow / (flow - inflow), low, high, epsrel=1e-12)
    assert forms.drain_time_s(inflow, high, low, scale) == pytest.approx(expected, rel=FORMULA)


@settings(max_examples=60)
@given(over=st.floats(1.05, 5.0))
def test_slopes_are_central_differences(over):
    weir = (2e-4, STORE, WEIR)
    orifice = (1e-4, 2e-4, STORE, ORIFICE)
    drain = (9e-3, 6e-3, 3e6)
    inflow = 2e-4 * over
    step = 1e-6 * (inflow - 2e-4)
    for time, slope, rest in (
        (forms.weir_prime_s, forms.weir_prime_slope, weir),
        (forms.orifice_prime_s, forms.orifice_prime_slope, orifice),
        (forms.drain_time_s, forms.drain_slope, drain),
    ):
        rise = time(inflow + step, *rest) - time(inflow - step, *rest)
        assert slope(inflow, *rest) == pytest.approx(rise / (2 * step), rel=SLOPE)


@pytest.mark.parametrize("ratio", [-0.1, 1.0])
def test_a_bed_that_stalls_has_no_priming_integral(ratio):
    with pytest.raises(ValueError, match="ratio"):
        forms.weir_integral(ratio)
