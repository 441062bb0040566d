"""Limits told in a refusal, in the grower's units and rounded to the side that suffices."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.milp.explain import explain
from optimizer.units import parse_quantity
from optimizer.units_told import at_least, at_most, told
from tests.milp.small_problem import PROBLEM, small_problem

# NIST Special Publication 811, 2008, appendix B.8: 1 in = 0.0254 m, 1 gal (US) = 3.785412 L,
# 1 ft2 = 0.09290304 m2; the gallon to seven digits.
NIST = {"length": (0.0254, "in"), "area": (0.09290304, "sq ft"), "volume": (3.785412e-3, "US gal")}
SEVEN_DIGITS = 1e-6
ROUNDING = 1e-7
DIMENSIONS = ("length", "area", "volume", "flow")


@pytest.mark.parametrize("dimension", NIST)
def test_one_us_unit_is_what_the_standard_says(dimension):
    size, name = NIST[dimension]
    assert told(1000.0 * size, dimension, "us") == f"1000.0 {name}"
    assert told(1000.0 * size * (1.0 + 1e-4), dimension, "us") == f"1000.1 {name}"


@given(
    value=st.floats(1e-5, 1e3),
    dimension=st.sampled_from(DIMENSIONS),
    units=st.sampled_from(["metric", "us"]),
)
def test_what_is_told_as_a_limit_suffices_when_it_is_typed_into_a_site_file(
    value, dimension, units
):
    # Read back by the reader of site files, which has the units' sizes from another library.
    up, down = (f(value, dimension, units) for f in (at_least, at_most))
    assert parse_quantity(up, dimension) >= value * (1.0 - ROUNDING)
    assert parse_quantity(down, dimension) <= value * (1.0 + ROUNDING)


def test_a_round_figure_stays_as_it_is_though_binary_fractions_lie_beside_it():
    # 0.1 + 0.2 is a hair above 0.3, and 0.7 - 0.1 a hair below 0.6.
    assert at_least(0.1 + 0.2, "length", "metric") == "0.30 m"
    assert at_most(0.7 - 0.1, "length", "metric") == "0.60 m"


def test_a_refusal_speaks_the_units_of_its_site():
    # As in test_explain: 50 L lack in metric units, 13.21 US gal.
    small = tuple(replace(sump, working_m3=0.15) for sump in PROBLEM.sumps)
    asked = {units: replace(PROBLEM.requirements, units=units) for units in ("metric", "us")}
    said = {
        units: str(explain(small_problem(sumps=small, requirements=each)))
        for units, each in asked.items()
    }
    assert "at least 50 L more" in said["metric"]
    assert "at least 13.3 US gal more" in said["us"] and " L " not in said["us"]
