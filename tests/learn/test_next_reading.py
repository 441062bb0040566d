"""What is advised to be read next teaches more than what is not."""

import numpy as np
import pytest

from optimizer.learn.cases import cases_of
from optimizer.learn.next_reading import next_readings
from optimizer.learn.posterior import posterior
from optimizer.learn.prior import prior_of
from tests.builders.trial_bed import BANDS, ERRORS, TRIAL, at, estimates_alone, flood
from tests.oracles.read_beds import Grower, measured

REPEATS = 4


def advised(*readings, seed=0):
    beds = [measured(TRIAL, each.bed) for each in readings]
    cases = cases_of(readings, beds, ERRORS)
    found = posterior(cases, prior_of(BANDS, ERRORS), ERRORS)
    return next_readings(found, cases, ERRORS, seed)


TIMED = [flood(q, f"A{n}") for n, q in enumerate((8.0, 10.0, 12.0))]


@pytest.fixture(scope="module")
def after_times():
    return advised(*TIMED)


def test_the_best_comes_first_and_every_reading_is_expected_to_teach(after_times):
    scores = [each.score for each in after_times]
    assert scores == sorted(scores) and scores[0] < 0.0


def test_one_seed_gives_one_advice(after_times):
    assert advised(*TIMED) == after_times


def test_with_times_known_a_threshold_comes_next(after_times):
    # three whole floods at inner inflows tell porosity and loss; what is left are start and stop,
    # and no inflow near the middle of the window says anything of either
    low, high = 1.4 * TRIAL.start_flow_m3_s, 0.75 * TRIAL.stop_flow_m3_s
    assert all(not low < each.inflow_m3_s < high for each in after_times)
    assert min(after_times[0].width_shares[:2]) < 0.9


def test_the_reading_advised_narrows_more_than_one_in_the_middle(after_times):
    # read for true, several times over: the mean score of the advised inflow and of a middle one
    def score(inflow):
        logs = []
        for seed in range(REPEATS):
            grower = Grower(TRIAL, ERRORS, np.random.default_rng(seed))
            new = grower.read("B1", inflow, level=False)
            lines = [*TIMED, new]
            beds = [measured(TRIAL, r.bed) for r in lines]
            found = estimates_alone(lines, beds)
            logs += [np.log(each.width_share) for each in found]
        return np.mean(logs)

    assert score(after_times[0].inflow_m3_s) < score(10.0 / 60_000.0)


def test_readings_without_levels_are_advised_on_starts_alone():
    bare = measured(TRIAL)
    bare = type(bare)("A1", "bed", bare.bore_m, bare.mouth_m)
    cases = cases_of([at(4.0, starts=False)], [bare], ERRORS)
    found = posterior(cases, prior_of(BANDS, ERRORS), ERRORS)
    best = next_readings(found, cases, ERRORS)[0]
    assert best.width_shares[0] < 0.95
    assert best.width_shares[2] == pytest.approx(1.0, abs=0.03)
