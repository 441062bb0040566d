"""Fronts found by the composed program, each point designed again by the complete program.

The two share the tables of a site and nothing else, so a point that either has wrong shows.
"""

from __future__ import annotations

import pytest

from optimizer.explore.changes import changed
from optimizer.explore.fronts import area_front, floods_front
from optimizer.explore.point import DESIGNED
from optimizer.explore.sweep import Study
from optimizer.job import Job
from optimizer.pipeline import design_job
from optimizer.search_settings import SearchSettings
from tests.builders.random_site import random_site
from tests.explore.small import EXACT_SEARCH, HALF_A_CENT

GOALS = [0.6, 1.0, 1.4, 1.8]
SEEDS = (1, 7)
BEDS_MOST = 6


def study_of(seed):
    return Study(Job(*random_site(seed, BEDS_MOST)), search=EXACT_SEARCH)


def by_the_complete_program(job, **changes):
    """The least cost of a changed job, all at once and to the last cent."""
    answer = design_job(
        changed(job, changes), SearchSettings(formulation="complete", gap=0.0), nearly=False
    )
    assert (answer.design.record.formulation, answer.design.record.status) == (
        "complete",
        "optimal",
    )
    return answer.design.record.cost_cents / 100.0


@pytest.mark.parametrize("seed", SEEDS)
def test_every_point_of_a_flood_front_costs_the_same_by_the_complete_program(seed):
    study = study_of(seed)
    rows = [row for row in floods_front(study, GOALS).rows if row["outcome"] == DESIGNED]
    assert rows
    for row in rows:
        again = by_the_complete_program(study.job, floods=row["floods"])
        assert row["cost"] == pytest.approx(again, abs=HALF_A_CENT)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_point_of_an_area_front_costs_the_same_by_the_complete_program(seed):
    study = study_of(seed)
    rows = [row for row in area_front(study, points_most=4).rows if row["outcome"] == DESIGNED]
    assert rows
    for row in rows:
        again = by_the_complete_program(study.job, growing_area=row["growing_area"])
        assert row["cost"] == pytest.approx(again, abs=HALF_A_CENT)
