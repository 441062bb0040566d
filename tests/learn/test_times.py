"""Times over arrays against the same bed's scalar formulas."""

from dataclasses import replace

import numpy as np
import pytest

from optimizer.learn.cases import cases_of
from optimizer.learn.times import drain_s, fill_s, rim_head_m
from tests.builders.trial_bed import ERRORS, TRIAL, at
from tests.oracles.read_beds import measured
from tests.tolerances import FORMULA

BEDS = [
    TRIAL,
    replace(TRIAL, bore_m=0.0158, area_m2=0.6),
    replace(TRIAL, mouth_diameter_m=0.045),
    replace(TRIAL, start_froude=0.8),  # primes only once its rim is drowned
]


@pytest.mark.parametrize("bed", BEDS, ids=range(len(BEDS)))
@pytest.mark.parametrize("share", [0.05, 0.4, 0.9])
def test_fill_drain_and_prime_level_are_those_of_the_bed(bed, share):
    inflow = bed.start_flow_m3_s + share * (bed.greatest_inflow_m3_s - bed.start_flow_m3_s)
    reading = at(inflow * 60_000.0)
    cases = cases_of([reading], [measured(bed)], ERRORS)
    start, e = np.array([[bed.start_flow_m3_s]]), np.array([[bed.porosity]])
    fill = fill_s(np.array([[inflow]]), start, e, cases)
    drain = drain_s(np.array([[inflow]]), start, e, np.array([[bed.loss_coefficient]]), cases)
    assert fill[0, 0] == pytest.approx(bed.fill_s(inflow), rel=FORMULA)
    assert drain[0, 0] == pytest.approx(bed.drain_s(inflow), rel=FORMULA)
    over = bed.crest_level_m + rim_head_m(start, cases)[0, 0]
    assert over == pytest.approx(bed.prime_level_m, rel=FORMULA)


def test_a_fill_time_says_that_it_started_and_a_drain_time_that_it_stopped_too():
    readings = [at(9.0, fill_s=900.0), at(9.0, drain_s=300.0), at(9.0, stops=False), at(9.0)]
    cases = cases_of(readings, [measured(TRIAL)] * 4, ERRORS)
    assert cases.starts[:3].tolist() == [1.0, 1.0, 1.0] and np.isnan(cases.starts[3])
    assert cases.stops[1:3].tolist() == [1.0, 0.0] and np.isnan(cases.stops[[0, 3]]).all()
