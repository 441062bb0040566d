"""A base design kept: what it costs at other prices, what it breaks under another physics."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.explore.changes import changed
from optimizer.explore.point import decisions
from optimizer.explore.reprice import repriced
from optimizer.explore.under import broken_promises, broken_words, standing_under
from optimizer.pipeline import find_design
from optimizer.search_settings import SearchSettings
from optimizer.simulate.check import check_design
from tests.explore.small import tiny_study
from tests.whole.feature_sites import job_of, row_text, site_text

TANK = '[header_tank]\nat = ["0.5 m", "1 m"]\nwater_level = "2.0 m"\npart = "sump_0200"\n'
WITH_DESIGN = (0, 1, 3, 4, 6, 7)
PRICES = {
    "energy_price": 0.7,
    "pump_prices": 1.7,
    "pipe_prices": 1.3,
    "sump_prices": 0.9,
    "planning_years": 13.0,
    "discount_rate": 0.02,
}


@pytest.mark.parametrize("seed", WITH_DESIGN)
def test_a_bill_at_unchanged_prices_is_the_same_line_by_line(seed):
    study = tiny_study(seed)
    design = study.design(study.base)
    assert repriced(design, study.job).costs == design.costs


@pytest.mark.parametrize("seed", WITH_DESIGN)
def test_the_same_parts_found_at_other_prices_cost_what_the_kept_design_is_billed(seed):
    # The program makes the new bill from its tables; ours is made from the old design. Where both
    # are the same parts, they agree to the cent.
    study = tiny_study(seed)
    design, same = study.design(study.base), 0
    for name, value in PRICES.items():
        (row,) = study.rows([{name: value}])
        if all(row[key] == study.base[key] for key in row if key.startswith(("chosen", "laid"))):
            kept = repriced(design, changed(study.job, {name: value}))
            assert kept.record.cost_cents == round(100.0 * row["cost"])
            same += 1
    assert same >= 3


@pytest.mark.parametrize("name", ["pipe_prices", "sump_prices"])
def test_a_tank_and_its_overflow_are_billed_at_the_prices_of_the_day(name, tmp_path):
    # As above: the program's own bill for the same parts. A fifth dearer, they stay the same.
    text = site_text(row_text("A", (2, 1), 2), TANK, "[returns]\ndesigned = false\n")
    job = job_of(tmp_path, text)
    dearer = changed(job, {name: 1.2})
    design, again = (find_design(each, SearchSettings(gap=0.0)) for each in (job, dearer))
    assert decisions(again) == decisions(design)
    assert repriced(design, dearer).costs == again.costs


@pytest.mark.parametrize("seed", WITH_DESIGN)
def test_a_design_under_its_own_physics_breaks_no_promise(seed):
    study = tiny_study(seed)
    design = study.design(study.base)
    assert check_design(design).passed
    assert broken_promises(design, study.job) == ()


def test_a_medium_that_holds_twice_the_water_breaks_the_flood_goal_or_the_sump():
    # Twice the porosity doubles each bed's store: it floods about half as often at the same inflow,
    # and takes twice the water out of the sump.
    study = tiny_study(3)
    design = study.design(study.base)
    broken = broken_promises(design, changed(study.job, {"porosity": 2.0}))
    told = broken_words(broken)
    assert "floods an hour" in told or "submerged" in told


def test_a_higher_flood_goal_is_held_against_the_design_that_stands():
    study = tiny_study(1)
    design = study.design(study.base)
    higher = changed(study.job, {"floods": 3.0 * study.job.site.goals.floods_per_hour_least})
    assert "floods an hour" in broken_words(broken_promises(design, higher))


def test_a_larger_growing_area_asked_for_is_missed_by_the_design_that_stands():
    study = tiny_study(1)
    design = study.design(study.base)
    job = changed(study.job, {"growing_area": 2.0 * study.base["growing_area_m2"]})
    assert broken_words(broken_promises(design, job)) == "growing area as asked for"


def test_very_rough_pipe_leaves_no_head_for_a_valve():
    # A wall three hundred times as rough as new plastic, about 0.5 mm, loses far more head.
    study = tiny_study(4)
    rough = changed(study.job, {"pipe_roughness": 300.0})
    standing = standing_under(study.design(study.base), rough)
    before = study.design(study.base)
    assert sum(s.loss_m for s in standing.stretches) > 1.5 * sum(s.loss_m for s in before.stretches)
    assert [bed.valve_head_m for bed in standing.beds] < [b.valve_head_m for b in before.beds]


def test_one_promise_broken_in_many_places_is_told_once_with_its_count():
    study = tiny_study(1)
    (first, *_) = check_design(study.design(study.base)).findings
    other = replace(first, subject="another")
    assert broken_words((first, other)) == f"{first.promise} (2 x)"
