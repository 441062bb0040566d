"""What readings are said to be worth, against brute force and exact integrals."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm, truncnorm

from optimizer.learn.cases import cases_of
from optimizer.learn.likelihood import log_likelihood, mean_above_zero
from optimizer.learn.prior import prior_of
from optimizer.records.readings import ReadingErrors
from tests.builders.trial_bed import BANDS, ERRORS, TRIAL, at, flood
from tests.oracles.count_readings import counted_log_likelihood
from tests.oracles.read_beds import measured
from tests.tolerances import FORMULA

TRUTH = np.log([[TRIAL.start_froude, TRIAL.stop_ratio, TRIAL.loss_coefficient, 0.40, 1.0]])
START_L_MIN = TRIAL.start_flow_m3_s * 60_000.0
STOP_L_MIN = TRIAL.stop_flow_m3_s * 60_000.0
DRAWS = 4000

STRAIGHT = 0.15
"""Logarithm of the likelihood: straight lines in the inflow's error, and 4000 draws."""

NEAR_START = 0.35
"""The same within a twelfth of the start flow, where priming times bend."""

QUADRATURE = 0.01
"""Eleven points of Gauss-Hermite against an adaptive integral of probits."""


def logs(readings, unknowns=TRUTH, errors=ERRORS):
    beds = [measured(TRIAL, each.bed) for each in readings]
    return log_likelihood(unknowns, cases_of(readings, beds, errors), errors)[0]


@pytest.mark.parametrize("litres", [6.0, 9.0, 14.0, 18.0])
@pytest.mark.parametrize("off", [(1.0, 1.0), (1.05, 0.97), (0.96, 1.04)])
def test_a_whole_flood_is_as_likely_as_drawing_says(litres, off):
    sound = flood(litres)
    read = flood(litres, fill_s=sound.fill_s * off[0], drain_s=sound.drain_s * off[1])
    counted = counted_log_likelihood(TRIAL, [read], ERRORS, DRAWS, seed=1)
    assert logs([read]) == pytest.approx(counted, abs=STRAIGHT)


@pytest.mark.parametrize("share", [0.98, 1.02, 1.08])
def test_a_slow_start_is_as_likely_as_drawing_says(share):
    # at and just above the start flow the fill time grows without bound
    read = flood(share * START_L_MIN, fill_s=TRIAL.fill_s(1.05 * TRIAL.start_flow_m3_s))
    counted = counted_log_likelihood(TRIAL, [read], ERRORS, DRAWS, seed=2)
    assert logs([read]) == pytest.approx(counted, abs=NEAR_START)


def test_several_readings_of_one_bed_share_its_own_threshold():
    readings = [
        at(0.97 * START_L_MIN, starts=True),
        at(1.03 * START_L_MIN, starts=True),
        at(0.90 * STOP_L_MIN, starts=True, stops=True),
        at(1.04 * STOP_L_MIN, starts=True, stops=False),
    ]
    counted = counted_log_likelihood(TRIAL, readings, ERRORS, 40_000, seed=3)
    assert logs(readings) == pytest.approx(counted, abs=STRAIGHT)


def test_starts_of_one_bed_are_the_integral_of_probits_over_its_threshold():
    errors = ReadingErrors(watch_s=0.5)
    shares = (0.95, 0.99, 1.04)
    seen = (False, True, True)
    readings = [at(s * START_L_MIN, starts=y) for s, y in zip(shares, seen, strict=True)]
    sds = [np.hypot(np.hypot(0.02, 0.5 / r.bucket_s), errors.start_repeats) for r in readings]

    def together(z):
        chance = 1.0
        for share, yes, sd in zip(shares, seen, sds, strict=True):
            over = norm.cdf((np.log(share) - errors.start_beds * z) / sd)
            chance *= over if yes else 1.0 - over
        return chance * norm.pdf(z)

    exact = quad(together, -8.0, 8.0)[0]
    assert logs(readings, errors=errors) == pytest.approx(np.log(exact), abs=QUADRATURE)


def test_beds_apart_are_as_likely_as_each_by_itself():
    one, other = flood(7.0, "A1"), flood(12.0, "B1")
    assert logs([one, other]) == pytest.approx(logs([one]) + logs([other]), rel=FORMULA)


def test_the_order_of_readings_is_no_matter():
    readings = [flood(7.0, "A1"), flood(12.0, "B1"), at(4.0, "A1", starts=False)]
    assert logs(readings) == pytest.approx(logs(readings[::-1]), rel=FORMULA)


def test_what_was_not_read_says_nothing():
    # an inflow alone is as likely under any coefficients
    other = TRUTH + np.array([0.2, -0.1, 0.1, 0.1, 0.02])
    assert [logs([at(9.0)]), logs([at(9.0)], other)] == pytest.approx([0.0, 0.0], abs=FORMULA)


def test_a_stall_far_above_the_start_flow_is_all_but_impossible():
    assert logs([at(2.0 * START_L_MIN, starts=False)]) < -40.0
    assert logs([at(0.5 * START_L_MIN, starts=False)]) > -1e-9


@pytest.mark.parametrize("mean", [-3.0, -0.5, 0.0, 1.0, 6.0])
def test_the_mean_above_zero_is_that_of_the_part_above_zero(mean):
    exact = quad(lambda x: x * norm.pdf(x, mean, 1.5), 0.0, np.inf)[0] / norm.cdf(mean / 1.5)
    assert mean_above_zero(np.array(mean), np.array(1.5)) == pytest.approx(exact, rel=1e-7)


def test_a_band_is_the_middle_95_percent_of_what_is_taken_for_known():
    prior = prior_of(BANDS, ERRORS)
    ends = np.exp(prior.centre + np.array([[-1.0], [1.0]]) * norm.ppf(0.975) * prior.spread)
    for index, band in enumerate((BANDS.start_froude, BANDS.stop_ratio, BANDS.loss_coefficient)):
        assert ends[:, index] == pytest.approx([band.low, band.high], rel=FORMULA)


def test_quantiles_of_a_share_are_those_of_its_part_below_one():
    prior = prior_of(BANDS, ERRORS)
    exact = truncnorm.ppf(
        [0.025, 0.5, 0.975],
        -np.inf,
        -prior.centre[1] / prior.spread[1],
        loc=prior.centre[1],
        scale=prior.spread[1],
    )
    assert prior.quantiles([0.025, 0.5, 0.975])[:, 1] == pytest.approx(exact, rel=1e-7)


def test_a_share_above_one_is_impossible():
    prior = prior_of(BANDS, ERRORS)
    beyond = prior.centre.copy()
    beyond[1] = 0.01
    assert prior.log_density(np.array([prior.centre, beyond])).tolist() == [0.0, -np.inf]
