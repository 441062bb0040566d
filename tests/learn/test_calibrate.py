"""Calibration as a whole: what is learnt, from how little, and how surely."""

import tomllib
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom

from optimizer.errors import BadInput
from optimizer.learn.calibrate import calibrate
from optimizer.learn.cases import cases_of
from optimizer.learn.coefficients_file import coefficients_text
from optimizer.learn.posterior import EFFECTIVE_LEAST, posterior
from optimizer.learn.prior import prior_of
from optimizer.learn.turn_loss import turn_band
from optimizer.physics.band import Band
from optimizer.reading.site_models import COEFFICIENT_LEAST, CoefficientTable
from optimizer.records.calibration import COEFFICIENTS, Calibration, Estimate
from optimizer.records.readings import ReadingErrors, Readings
from tests.builders.trial_bed import BANDS, ERRORS, TRIAL, at, estimates_alone, flood
from tests.campaigns.intervals import repeat
from tests.oracles.read_beds import measured
from tests.tolerances import FORMULA

QUANTILE_NOISE = 0.08
"""Share of an interval's width by which one of its ends may be off with 1000 independent draws.

The density of a normal distribution at its 2.5 % quantile is 0.058 over the standard deviation, the
standard error of that quantile 0.0049 / 0.058 = 0.085 standard deviations or 0.022 of the width; of
six ends none is beyond 3.7 of these.
"""

MEAN_NOISE = 0.04
"""Four standard errors of the mean of nine widths."""

SURE = 1e-4
"""Chance that the miniature fails though every interval is of 95 %."""


def readings_of(*lines, bands=BANDS, errors=ERRORS):
    beds = {each.bed: measured(TRIAL, each.bed) for each in lines}
    return Readings(tuple(lines), beds, {"bed": bands}, errors)


def by_name(estimates):
    return {each.name: each for each in estimates}


def test_without_a_word_said_the_intervals_are_the_bands():
    found = posterior(
        cases_of([at(9.0)], [measured(TRIAL)], ERRORS), prior_of(BANDS, ERRORS), ERRORS
    )
    ends = np.quantile(found.draws, [0.025, 0.975], axis=0)
    # porosity and loss are far from 1; the stop ratio is cut off at 1 and so sits a little lower
    for index, name in ((0, "start_froude"), (2, "loss_coefficient"), (3, "porosity")):
        low, high = np.log([getattr(BANDS, name).low, getattr(BANDS, name).high])
        assert np.abs(ends[:, index] - [low, high]).max() < QUANTILE_NOISE * (high - low)


def test_where_a_reading_says_nothing_intervals_are_as_wide_as_before():
    # Three runs of three coefficients, each width good to 0.022 sqrt(2) of itself: their mean is
    # good to 0.010, and four of these are 0.04. A sampler whose draws stay too close together
    # fails here: one with a move that kept a tenth too little did, by 0.08.
    cases, prior = cases_of([at(9.0)], [measured(TRIAL)], ERRORS), prior_of(BANDS, ERRORS)
    before = np.diff(prior.quantiles((0.025, 0.975)), axis=0)[0]
    widths = [
        np.diff(
            np.quantile(posterior(cases, prior, ERRORS, s).draws, [0.025, 0.975], axis=0), axis=0
        )
        for s in (1, 2, 3)
    ]
    told = [0, 2, 3]  # the stop ratio is cut off at 1
    assert np.mean(np.array(widths)[:, 0, told] / before[told]) == pytest.approx(
        1.0, abs=MEAN_NOISE
    )


def test_one_seed_gives_one_answer_and_another_seed_nearly_the_same():
    lines = readings_of(flood(9.0), at(4.0, starts=False))
    one, again, other = (calibrate(lines, seed=s, next_too=False) for s in (5, 5, 6))
    assert one == again
    for a, b in zip(one.estimates, other.estimates, strict=True):
        assert a.low == pytest.approx(b.low, abs=QUANTILE_NOISE * (a.prior.high - a.prior.low))


def test_which_reading_tells_which_coefficient():
    # a fill time with known levels and inflow tells porosity, a drain time then tells the loss,
    # starts and stalls the start Froude number, stops and what never stops the stop ratio
    sound = flood(9.0)
    fills = [at(9.0, f"A{n}", starts=True, fill_s=sound.fill_s) for n in range(4)]
    drains = [at(9.0, f"A{n}", drain_s=sound.drain_s) for n in range(4)]
    starts = [at(q, f"A{q}", starts=y) for q, y in ((4.6, False), (5.6, True), (4.8, False))]
    stops = [at(q, f"A{q}", stops=y) for q, y in ((19.0, True), (23.0, False), (20.0, True))]

    def told(lines):
        found = calibrate(readings_of(*lines), next_too=False)
        return {each.name for each in found.estimates if each.width_share < 0.6}

    assert told(fills) == {"porosity"}
    assert told([*fills, *drains]) == {"porosity", "loss_coefficient"}
    assert told(starts) == {"start_froude"}
    assert told([*fills, *drains, *stops]) == {"porosity", "loss_coefficient", "stop_ratio"}


def test_readings_can_lead_out_of_the_band():
    # a bed that holds half as much again as the band allows
    lines = [
        flood(q, f"A{n}", fill_s=1.4 * flood(q).fill_s, drain_s=1.4 * flood(q).drain_s)
        for n, q in enumerate((7.0, 9.0, 11.0, 13.0))
    ]
    found = calibrate(readings_of(*lines), next_too=False)
    porosity = by_name(found.estimates)["porosity"]
    assert porosity.value > 0.46 and porosity.outside
    assert any(note.startswith("porosity lies outside") for note in found.notes)


def test_a_coefficient_known_exactly_before_is_not_outside_its_band():
    # found by a spoilt file: porosity = { value = 0.41 } came back 0.000002 away
    known = replace(BANDS, porosity=Band(0.41, 0.41, 0.41, "known"))
    found = calibrate(readings_of(flood(9.0), bands=known), next_too=False)
    assert not by_name(found.estimates)["porosity"].outside


def test_a_coefficient_nobody_watched_is_not_told():
    # a start at 9 L/min is a start Froude number below 0.53: hardly news where 0.45 was known
    found = calibrate(readings_of(at(9.0, starts=True)), next_too=False)
    assert found.told == ()
    assert [each.name for each in found.estimates] == list(COEFFICIENTS)


def test_any_one_bed_is_less_sure_than_its_kind_only_where_beds_differ():
    found = by_name(calibrate(readings_of(flood(9.0), flood(6.0)), next_too=False).estimates)
    for name in ("start_froude", "stop_ratio"):
        assert found[name].bed_low < found[name].low
    for name in ("loss_coefficient", "porosity"):
        assert (found[name].bed_low, found[name].bed_high) == (found[name].low, found[name].high)


def test_a_better_watch_makes_narrower_intervals():
    sharp = ReadingErrors(bucket_volume=0.003, bucket_mark=0.003, watch_s=0.2, times_share=0.01)
    lines = [flood(q) for q in (7.0, 9.0, 13.0)]
    usual = by_name(calibrate(readings_of(*lines), next_too=False).estimates)
    better = by_name(calibrate(readings_of(*lines, errors=sharp), next_too=False).estimates)
    for name in ("loss_coefficient", "porosity"):
        assert better[name].width_share < 0.7 * usual[name].width_share


def test_contradictory_readings_give_a_question_and_no_estimate():
    found = calibrate(readings_of(at(3.0, starts=True), at(4.0, starts=False)))
    assert found.contradictions and not found.estimates
    assert found.told == () and found.turn_loss is None


def test_readings_of_two_kinds_ask_which():
    one, other = measured(TRIAL, "A1", "box"), measured(TRIAL, "B1", "trough")
    lines = Readings(
        (flood(9.0, "A1"), flood(9.0, "B1")),
        {"A1": one, "B1": other},
        {"box": BANDS, "trough": BANDS},
    )
    with pytest.raises(BadInput, match="2 kinds of bed: box, trough"):
        calibrate(lines)
    with pytest.raises(BadInput, match="Did you mean 'trough'"):
        calibrate(lines, kind="thrugh")
    assert calibrate(lines, kind="box", next_too=False).readings == 1


def test_provenance_says_from_how_many_readings_of_how_many_beds_and_when():
    lines = [
        flood(9.0, "A1", date="2026-06-02"),
        flood(9.0, "A2", date="2026-05-30"),
        at(4.0, "A2", starts=False),
    ]
    found = calibrate(readings_of(*lines), next_too=False)
    assert found.provenance == "calibrated from 3 readings of 2 beds, 2026-05-30 to 2026-06-02"
    assert found.dates == ("2026-05-30", "2026-06-02")


def test_a_loss_is_laid_to_the_turn_in_a_straight_line():
    # K 4.0, 5.0, 6.6 with a turn of 1.0, 1.5, 2.3: K rises by two for every one of the turn
    turn = Band(1.5, 1.0, 2.3, "example")
    bands = replace(BANDS, turn_loss=turn)
    lines = [flood(q, f"A{n}") for n, q in enumerate((7.0, 9.0, 13.0))]
    estimates = estimates_alone(lines, [measured(TRIAL, r.bed) for r in lines], bands)
    loss = by_name(estimates)["loss_coefficient"]
    band, notes = turn_band(estimates, bands, "here")
    assert notes == () and band.provenance == "here"
    assert band.nominal == pytest.approx(1.5 + (loss.value - 5.0) / 2.0, rel=FORMULA)
    assert band.high - band.low == pytest.approx((loss.high - loss.low) / 2.0, rel=FORMULA)


def test_a_loss_without_its_parts_gives_no_turn_and_says_so():
    lines = [flood(q, f"A{n}") for n, q in enumerate((7.0, 9.0, 13.0))]
    found = calibrate(readings_of(*lines), next_too=False)
    assert found.turn_loss is None
    assert any("--design" in note for note in found.notes)


def test_a_loss_no_greater_than_the_parts_alone_gives_no_turn_and_asks_for_the_sizes():
    # K 4.0, 5.0, 6.0 with a turn of 1.0, 2.0, 3.0: the parts alone lose 3. K 2.9 leaves -0.1.
    band, turn = Band(5.0, 4.0, 6.0, "example"), Band(2.0, 1.0, 3.0, "example")
    bands = replace(BANDS, loss_coefficient=band, turn_loss=turn)
    slight = Estimate("loss_coefficient", band, 2.9, 2.5, 3.3, 2.4, 3.4, True)
    found, notes = turn_band([slight], bands, "here")
    assert found is None
    assert "(K 2.9)" in notes[0] and "Check bore, area and levels" in notes[0]
    # The twin: K 3.1 leaves 0.1, and no turn loses less than a site file takes.
    found, notes = turn_band([replace(slight, value=3.1)], bands, "here")
    assert notes == ()
    assert (found.low, found.nominal) == (COEFFICIENT_LEAST, pytest.approx(0.1, rel=FORMULA))


@pytest.mark.parametrize("loss", [3.0 + 1e-6, 3.0 + 2.0 * COEFFICIENT_LEAST, 3.1])
def test_a_turn_that_loses_hardly_anything_is_written_as_a_site_file_takes_it_or_not_at_all(loss):
    band, turn = Band(5.0, 4.0, 6.0, "example"), Band(2.0, 1.0, 3.0, "example")
    bands = replace(BANDS, loss_coefficient=band, turn_loss=turn)
    slight = Estimate("loss_coefficient", band, loss, 2.5, 3.3, 2.4, 3.4, True)
    found, notes = turn_band([slight], bands, "here")
    assert (found is None) == bool(notes) == (loss < 3.0 + COEFFICIENT_LEAST)
    empty = Calibration("bed", 3, 1, ("", ""), (), (), (), (), found, "here")
    text = coefficients_text(empty)
    assert text is None or CoefficientTable(**tomllib.loads(text)["coefficients"]["turn_loss"])


def test_a_sampler_that_stops_before_it_has_draws_enough_says_how_few_they_are_worth(monkeypatch):
    # One block is never enough: the chain must be thirty times its memory.
    shares = []
    monkeypatch.setattr("optimizer.learn.posterior.BLOCKS_MOST", 1)
    monkeypatch.setattr("optimizer.learn.posterior.BLOCK_STEPS", 40)
    found = calibrate(readings_of(flood(9.0)), told=shares.append, next_too=False)
    (note,) = [each for each in found.notes if "rough" in each]
    worth = float(note.split("worth only ")[1].split(" draws")[0])
    assert worth < EFFECTIVE_LEAST
    assert shares[-1] < 1.0


def test_intervals_hold_the_truth_about_as_often_as_they_say():
    # the campaign in miniature (tests/campaigns/coverage.py has 200): each of 4 x 10 intervals
    # holds its truth with chance 0.95; they are not independent within a repetition, so the four
    # are counted as one
    found = [repeat(seed) for seed in range(1000, 1010)]
    misses = sum(not all(each.kind_holds) for each in found)
    # at least one of four misses with a chance of at most 4 x 0.05
    assert misses <= binom.ppf(1.0 - SURE, len(found), 0.05 * len(COEFFICIENTS))
    assert all(share < 1.3 for each in found for share in each.width_shares)
