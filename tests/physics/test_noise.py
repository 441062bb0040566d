"""Sound levels against a published sum and against pressures added in time."""

import math

import numpy as np
import pytest

from optimizer.physics.noise import loud_hours_per_day, together_db
from tests.tolerances import EXACT, FORMULA

PRINTED_DB = 0.5  # the manual prints whole decibels


def test_two_sources_of_60_db_are_63_db():
    # J. Sueur, seewave 2.2.3, reference manual, moredB: two sources of 60 dB give 63 dB (after
    # Hartmann, Signals, Sound and Sensation, 1998).
    assert together_db(60.0, 2) == pytest.approx(63.0, abs=PRINTED_DB)


@pytest.mark.parametrize("count", [1, 2, 3, 7])
def test_tones_of_different_pitch_added_in_time_are_as_loud_as_the_formula_says(count):
    # Over whole periods the mean square of a sum of tones is the sum of their mean squares.
    t = np.arange(4096) / 4096.0
    waves = [np.sin(2.0 * math.pi * (5 + 3 * k) * t + k) for k in range(count)]
    power = np.mean(np.sum(waves, axis=0) ** 2) / np.mean(waves[0] ** 2)
    assert together_db(41.0, count) == pytest.approx(41.0 + 10.0 * math.log10(power), rel=FORMULA)


def test_no_pump_has_no_level():
    with pytest.raises(ValueError, match="give 1 or more"):
        together_db(40.0, 0)


def test_a_pump_is_loud_all_the_hours_it_runs_or_none():
    # 40 dB is no louder than 40 dB; two of them are 43.01 dB.
    assert loud_hours_per_day(40.0, 1, 40.0, 18.0) == EXACT
    assert loud_hours_per_day(40.0, 1, 39.9, 18.0) == 18.0
    assert loud_hours_per_day(40.0, 2, 43.0, 18.0) == 18.0
    assert loud_hours_per_day(40.0, 2, 43.1, 18.0) == EXACT


def test_a_pump_of_which_no_level_is_told_counts_as_loud():
    assert loud_hours_per_day(None, 1, 140.0, 24.0) == 24.0
