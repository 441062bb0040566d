"""Readings that cannot all be right are named, and sound ones are left in peace."""

import numpy as np
import pytest

from optimizer.learn.cases import cases_of
from optimizer.learn.contradictions import APART_SDS, find_contradictions
from tests.builders.trial_bed import ERRORS, TRIAL, at, flood
from tests.oracles.read_beds import measured

TRUTH = np.log([TRIAL.start_froude, TRIAL.stop_ratio, TRIAL.loss_coefficient, 0.40, 1.0])


def against(*readings):
    beds = [measured(TRIAL, each.bed) for each in readings]
    return find_contradictions(readings, cases_of(readings, beds, ERRORS), ERRORS, TRUTH)


def test_a_start_below_a_stall_of_the_same_bed_names_both_and_asks():
    # ln(4/3) = 0.29; each inflow is good to 2 % by the mark, 0.5 % by the watch, and a start
    # differs by 3 % from flood to flood: 0.29 / 0.051 is 5.6 standard deviations
    (found,) = against(
        at(3.0, starts=True, where="line 1"),
        at(4.0, starts=False, where="line 2"),
        at(9.0, starts=True, where="line 3"),
    )
    assert found.readings == ("line 1", "line 2")
    assert "3 L/min started" in found.what and "4 L/min" in found.what
    assert found.question.startswith("Which one is right?")


def test_a_start_a_little_below_a_stall_is_no_contradiction():
    # ln(3.15/3) = 0.049 is about one standard deviation
    assert against(at(3.0, starts=True), at(3.15, starts=False)) == ()


def test_beds_apart_may_differ_where_one_bed_may_not():
    # ln(1.25) = 0.22: 4.4 standard deviations of one bed, 2.6 where each has its own threshold
    # (twice 5 % squared is added)
    assert against(at(4.0, starts=True), at(5.0, starts=False))
    assert not against(at(4.0, "A1", starts=True), at(5.0, "B1", starts=False))


def test_a_stop_above_one_that_failed_names_both():
    (found,) = against(
        at(22.0, starts=True, stops=True, where="more"),
        at(15.0, starts=True, stops=False, where="less"),
    )
    assert found.readings == ("more", "less")
    assert "slots" in found.question


@pytest.mark.parametrize(("litres", "other"), [(8.0, 8.0), (7.0, 14.0)])
@pytest.mark.parametrize(("time", "word"), [("fill_s", "fill"), ("drain_s", "drain")])
def test_two_times_that_no_one_bed_has_name_both(litres, other, time, word):
    sound = flood(other)
    (found,) = against(
        flood(litres, where="first"),
        flood(other, where="second", **{time: 1.5 * getattr(sound, time)}),
    )
    assert found.readings == ("first", "second")
    assert f"to {word}" in found.what


def test_times_at_different_inflows_agree_where_they_should():
    assert against(*(flood(q) for q in (6.0, 8.0, 12.0, 17.0))) == ()


def test_the_worst_pair_is_told_where_several_clash():
    (found,) = against(
        at(3.0, starts=True, where="a"),
        at(4.0, starts=False, where="b"),
        at(6.0, starts=False, where="c"),
    )
    assert found.readings == ("a", "c")


def test_a_level_far_from_the_crest_is_asked_about():
    (found,) = against(flood(9.0, highest_m=0.20, where="low"))
    assert found.readings == ("low",) and "200 mm" in found.what
    assert against(flood(9.0, highest_m=0.258)) == ()


def test_pairs_are_asked_about_from_the_distance_stated():
    # both errors alone: two fill times at one inflow, apart by just under and just over
    first = flood(9.0)
    cases = cases_of([first], [measured(TRIAL)], ERRORS)
    own = np.hypot(cases.fill_sd[0], 1.0 * cases.inflow_sd[0])
    apart = APART_SDS * np.sqrt(2.0) * own

    def clash(share):
        return against(first, flood(9.0, fill_s=first.fill_s * np.exp(share * apart)))

    assert not clash(0.85) and clash(1.15)
