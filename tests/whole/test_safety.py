"""What more safety costs: the same site at three levels, each costing more and working surer."""

from __future__ import annotations

import threading
from dataclasses import replace

import pytest

from optimizer.job import Job
from optimizer.pipeline import read_job
from optimizer.records.safety import NoSafeDesign, SafeDesign
from optimizer.report import words
from optimizer.safety import LEVELS, cost_of_safety
from tests.builders.random_site import random_site
from tests.cli.site_texts import ONE_BED
from tests.tolerances import EXACT

FEW_BEDS = 6
SEEDS = (0, 3, 4, 8, 16, 20)
"""Random sites with a design at every level; two of them hold two types of bed."""


def job(seed: int) -> Job:
    return Job(*random_site(seed, FEW_BEDS))


@pytest.mark.parametrize("seed", SEEDS)
def test_safer_designs_cost_no_less_and_work_in_more_draws_up_to_all(seed):
    # Everything a safer level allows the less safe one allows too. With a gap of 0 each cost is
    # the least of its level; sampled shares of one seed differ by sampling alone below 100 %.
    steps = list(cost_of_safety(job(seed), gap=0.0))
    designed = [step for step in steps if isinstance(step, SafeDesign)]
    assert [step.level for step in designed] == list(LEVELS[: len(designed)])
    costs = [step.design.record.cost_cents for step in designed]
    assert costs == sorted(costs)
    drawn = [step.check.reliability for step in designed]
    shares = [each.share for each in drawn if each is not None]
    assert len(shares) == len(designed)
    assert shares == sorted(shares)
    assert all(step.check.passed for step in designed)
    assert all(step.design.record.cost_cents == words.total_cents(step.design) for step in designed)
    for step, share in zip(designed, shares, strict=True):
        assert share >= {"nominal": 0.0, "most": 0.95, "whole": EXACT + 1.0}[step.level]


def test_the_random_sites_of_this_test_mostly_have_three_designs():
    # Monotone costs of nothing would prove nothing.
    counts = [sum(isinstance(s, SafeDesign) for s in cost_of_safety(job(n))) for n in SEEDS[:3]]
    assert max(counts) == len(LEVELS)


def test_a_level_that_cannot_be_had_says_why_and_the_others_are_designed(tmp_path):
    # Margins of ratio 1.08 x 1.4 / (0.92 x 0.6) = 2.74. Windows of the tub's 25 mm kit
    # (docs/windows.md): nominal 15.01 / 3.18 = 4.7, 95 % 11.91 / 4.63 = 2.6, whole band 2.3.
    path = tmp_path / "tubs.toml"
    path.write_text(ONE_BED)
    read = read_job(path)
    loose = replace(read.site, goals=replace(read.site.goals, valve_setting_error=0.40))
    steps = list(cost_of_safety(Job(loose, read.catalog)))
    assert [type(step) for step in steps] == [SafeDesign, NoSafeDesign, NoSafeDesign]
    assert all(step.clash and step.remedies for step in steps[1:])


def test_stopped_before_it_begins_it_designs_nothing():
    stop = threading.Event()
    stop.set()
    assert list(cost_of_safety(job(SEEDS[0]), stop=stop)) == []


def test_stopped_after_the_first_level_it_keeps_that_one():
    stop, found = threading.Event(), []
    for step in cost_of_safety(job(SEEDS[0]), stop=stop):
        found.append(step.level)
        stop.set()
    assert found == [LEVELS[0]]
