"""Sensitivities: least cost against an enumeration, regret by hand, draws inside their ranges."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.explore.changes import CHANGES, change_of, changed
from optimizer.explore.sensitivity import (
    FACTORS,
    VARIABLE,
    Range,
    default_ranges,
    in_pairs,
    judgement,
    one_at_a_time,
    sample_summary,
    sampled,
    tornado,
)
from tests.explore.small import HALF_A_CENT, enumerated_cost, tiny_job, tiny_study


@pytest.mark.parametrize("name", FACTORS)
def test_the_least_cost_of_a_changed_site_is_what_an_enumeration_finds(name):
    study = tiny_study(1)
    (each,) = default_ranges(study, [name])
    (low, _) = one_at_a_time(study, [each])
    assert low["cost"] == pytest.approx(
        enumerated_cost(study.job, **{name: each.low}), abs=HALF_A_CENT
    )


@pytest.mark.parametrize("seed", [0, 3, 4])
def test_keeping_the_base_design_at_other_prices_never_costs_less_than_the_best(seed):
    # Prices leave every design buildable, so the base design is one of those searched at gap 0.
    study = tiny_study(seed)
    names = [name for name in FACTORS if not change_of(name).physics]
    for row in one_at_a_time(study, default_ranges(study, names), 3):
        assert row["broken"] == ""
        assert row["regret"] >= -HALF_A_CENT
        assert row["regret"] == pytest.approx(row["kept_cost"] - row["cost"], abs=HALF_A_CENT)


def test_nothing_changed_has_no_regret_and_no_other_choice():
    study = tiny_study(1)
    now = study.job.site.goals.energy_price_per_kwh
    (row,) = one_at_a_time(study, [Range("energy_price", now, now)], 1)
    assert (row["regret"], row["decisions_changed"], row["broken"]) == (0.0, "", "")


def test_past_the_break_even_price_keeping_the_base_design_is_regretted():
    # Seed 1 changes pump where energy costs almost nothing (test_price_lines): with free energy the
    # base design's pump and pipes cost more than the best.
    study = tiny_study(1)
    (row,) = one_at_a_time(study, [Range("energy_price", 0.0, 0.0)], 1)
    assert row["regret"] > 1.0
    assert "pump" in row["decisions_changed"]


def test_a_change_that_the_base_design_cannot_stand_has_no_regret():
    study = tiny_study(1)
    (row,) = one_at_a_time(study, [Range("porosity", 1.6, 1.6)], 1)
    assert row["broken"]
    assert row["regret"] is None


def test_a_change_under_which_no_design_exists_says_why():
    study = tiny_study(1)
    (row,) = one_at_a_time(study, [Range("floods", 30.0, 30.0)], 1)
    assert row["outcome"] == "refused"
    assert row["regret"] is None
    assert "30 floods" in row["reason"]


def test_a_bill_that_cannot_be_made_again_from_its_parts_gives_no_regret():
    # A pipe line a cent off stands for metres taken from stock: what it would cost is not known.
    study = tiny_study(1)
    design, base = study.design(study.base), study.base
    lines = [
        replace(line, cents=line.cents - 1) if line.what.startswith("pipe ") else line
        for line in design.costs
    ]
    told = judgement(study, replace(design, costs=tuple(lines)), base, base, {})
    assert (told["kept_cost"], told["regret"]) == (None, None)
    assert judgement(study, design, base, base, {})["regret"] == 0.0


def test_a_tornado_is_widest_first_and_holds_both_ends():
    # By hand: a base of 100; one change gives 90 and 120 (swing 30), the other 101 and 100 (1).
    wide, slim = Range("energy_price", 0.1, 0.2), Range("porosity", 0.9, 1.1)
    rest = {"regret": 0.0, "decisions_changed": "", "broken": ""}
    rows = [
        {"porosity": 0.9, "cost": 101.0, **rest},
        {"porosity": 1.1, "cost": 100.0, **rest},
        {"energy_price": 0.1, "cost": 90.0, **rest},
        {"energy_price": 0.2, "cost": 120.0, **rest},
    ]
    first, second = tornado(100.0, rows, [slim, wide])
    assert (first["change"], first["swing"]) == ("energy_price", 30.0)
    assert (first["cost_at_low"], first["cost_at_high"]) == (90.0, 120.0)
    assert (second["change"], second["swing"]) == ("porosity", 1.0)


def test_a_grid_has_every_pair_once():
    study = tiny_study(1)
    rows = in_pairs(study, Range("energy_price", 0.1, 0.3), Range("pump_prices", 0.5, 1.5), 3)
    pairs = {(round(row["energy_price"], 9), row["pump_prices"]) for row in rows}
    assert pairs == {(e, p) for e in (0.1, 0.2, 0.3) for p in (0.5, 1.0, 1.5)}


@pytest.mark.parametrize("method", ["latin", "sobol"])
def test_draws_are_the_same_for_the_same_seed_and_fill_every_slice_of_a_range(method):
    # Eight draws, eight equal slices of each range: a Latin hypercube has one draw in each by
    # construction, a scrambled Sobol sequence of 2^3 points too (a (0, 3, 1)-net in each axis).
    study = tiny_study(1)
    ranges = [Range("energy_price", 0.1, 0.5), Range("pump_prices", 0.8, 1.2)]
    rows = sampled(study, ranges, 8, method=method, seed=4)
    again = sampled(study, ranges, 8, method=method, seed=4)
    assert rows == again
    for each in ranges:
        slices = {int(8 * (row[each.name] - each.low) / (each.high - each.low)) for row in rows}
        assert slices == set(range(8))


def test_a_rank_correlation_is_one_for_what_alone_moves_the_cost():
    rows = [{"energy_price": p, "cost": 10.0 * p, "regret": None} for p in (0.1, 0.2, 0.3, 0.4)]
    (told,) = sample_summary(rows, [Range("energy_price", 0.1, 0.4)])
    assert (told["with_cost"], told["with_regret"]) == (1.0, None)


@pytest.mark.parametrize("name", [n for n in VARIABLE if change_of(n).unit == "times"])
def test_a_factor_of_one_leaves_a_job_as_it_is(name):
    job = tiny_job(1)
    assert changed(job, {name: 1.0}) == job


@pytest.mark.parametrize("name", VARIABLE)
def test_every_change_moves_the_job(name):
    job = tiny_job(1)
    low, high = change_of(name).ends(job)
    moved = [changed(job, {name: value}) for value in {low, high, 2.0 * high + 1.0}]
    assert any(other != job for other in moved)
    assert set(CHANGES) >= {name}


def test_a_change_that_is_not_there_is_refused():
    with pytest.raises(KeyError, match="colour"):
        changed(tiny_job(1), {"colour": 1.0})
