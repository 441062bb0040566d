"""Bells, slots and guards keep every stated criterion after rounding to saw and rule."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.physics import bell
from tests.tolerances import FORMULA

ABOUT_TWICE = 0.1

# Outside diameter and least wall in inches of Schedule 40, ASTM D1785 (read): (standpipe, bell).
NOMINAL_PAIRS = {
    "3/4 in under 1-1/2 in": ((1.050, 0.113), (1.900, 0.145)),
    "1 in under 2 in": ((1.315, 0.133), (2.375, 0.154)),
    "1-1/2 in under 3 in": ((1.900, 0.145), (3.500, 0.216)),
    "2 in under 4 in": ((2.375, 0.154), (4.500, 0.237)),
}


@pytest.mark.parametrize("pair", NOMINAL_PAIRS.values(), ids=NOMINAL_PAIRS)
def test_a_bell_of_twice_the_nominal_size_passes(pair):
    # Bell about twice the standpipe diameter: University of Hawai'i bulletin BIO-10, 2010 (second
    # hand).
    (pipe_out, pipe_wall), (bell_out, bell_wall) = pair
    bore, bell_bore = pipe_out - 2 * pipe_wall, bell_out - 2 * bell_wall
    assert bell_bore / bore == pytest.approx(2.0, rel=ABOUT_TWICE / 2)
    assert bell.least_bell_bore_m(bore, pipe_out) <= bell_bore


def test_a_bell_one_size_up_is_too_narrow():
    # 1-1/4 in bell (bore 35.05 mm) over a 1 in standpipe (33.4 mm outside): annulus 92 mm2.
    assert bell.least_bell_bore_m(0.02664, 0.0334) > 0.03505


@given(bore=st.floats(0.01, 0.1), wall=st.floats(0.001, 0.01))
def test_least_bell_leaves_the_annulus_open(bore, wall):
    outside = bore + 2 * wall
    least = bell.least_bell_bore_m(bore, outside)
    area = bell.annulus_area_m2(least, outside)
    assert area >= bell.ANNULUS_AREA_RATIO * math.pi * bore**2 / 4 * (1 - FORMULA)
    assert least >= bell.BELL_BORE_RATIO * bore


@given(bore=st.floats(0.01, 0.1), ratio=st.floats(1.3, 4.0))
def test_slots_keep_area_height_and_standing_wall(bore, ratio):
    outside = bore * ratio
    slots = bell.slots_for(bore, outside)
    assert slots.area_m2 >= bell.SLOT_AREA_RATIO * math.pi * bore**2 / 4 * (1 - FORMULA)
    assert slots.height_m >= bell.LEAST_SLOT_HEIGHT_M
    assert slots.count * slots.width_m <= bell.OPEN_SHARE * math.pi * outside * (1 + FORMULA)
    assert slots.width_m <= bell.WIDEST_SLOT_M
    assert slots.area_m2 == pytest.approx(slots.count * slots.width_m * slots.height_m, rel=FORMULA)


@given(bore=st.floats(0.01, 0.1), ratio=st.floats(1.3, 4.0))
def test_slots_are_a_millimetre_at_most_higher_than_they_must_be(bore, ratio):
    slots = bell.slots_for(bore, bore * ratio)
    wanted = bell.SLOT_AREA_RATIO * math.pi * bore**2 / 4
    lower = slots.height_m - 0.001
    too_small = slots.count * slots.width_m * lower < wanted * (1 + FORMULA)
    assert too_small or lower < bell.LEAST_SLOT_HEIGHT_M * (1 + FORMULA)


def test_guard_leaves_a_hand_of_25_mm_all_round():
    assert bell.least_guard_bore_m(0.060) == pytest.approx(0.110, rel=FORMULA)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: bell.slots_for(0.03, 0.03),
        lambda: bell.least_bell_bore_m(0.03, 0.03),
        lambda: bell.annulus_area_m2(0.03, 0.03),
        lambda: bell.least_guard_bore_m(0.0),
    ],
)
def test_impossible_bells_are_refused(wrong):
    with pytest.raises(ValueError):
        wrong()
