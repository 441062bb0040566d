"""Fronts against an enumeration of every choice, and the bounds between their points."""

from __future__ import annotations

import pytest

from optimizer.explore.attainable import attainable_areas_m2
from optimizer.explore.fronts import SLACK_M2, area_front, floods_front, sump_front
from optimizer.explore.point import DESIGNED, REFUSED
from tests.explore.small import HALF_A_CENT, enumerated_cost, tiny_job, tiny_study
from tests.tolerances import FORMULA

SEEDS = (0, 1, 6, 7)
"""Sites with two growing areas or more to choose from."""

NO_DESIGN = 5
"""A site that no choice of parts serves."""


def enumerated_front(job):
    """(area, cost) of every area no other beats, by trying every choice at every area."""
    areas = attainable_areas_m2(job.site, job.catalog)
    costs = [(area, enumerated_cost(job, growing_area=area - SLACK_M2)) for area in areas]
    known = [(area, cost) for area, cost in costs if cost is not None]
    return [
        (area, cost)
        for number, (area, cost) in enumerate(known)
        if all(later > cost + HALF_A_CENT for _, later in known[number + 1 :])
    ]


@pytest.mark.parametrize("seed", SEEDS)
def test_the_area_front_is_every_area_that_an_enumeration_finds_unbeaten(seed):
    front = area_front(tiny_study(seed))
    found = [(row["growing_area_m2"], row["cost"]) for row in front.rows if row["on_front"]]
    wanted = enumerated_front(tiny_job(seed))
    assert len(found) == len(wanted) >= 2
    for (area, cost), (true_area, true_cost) in zip(found, wanted, strict=True):
        assert area == pytest.approx(true_area, rel=FORMULA)
        assert cost == pytest.approx(true_cost, abs=HALF_A_CENT)


def test_a_site_without_a_design_has_no_point_on_its_front():
    front = area_front(tiny_study(NO_DESIGN))
    assert {row["outcome"] for row in front.rows} == {REFUSED}
    assert not any(row["on_front"] for row in front.rows)
    assert all(row["reason"] for row in front.rows)


@pytest.mark.parametrize("seed", SEEDS)
def test_an_area_front_cut_short_says_what_is_open_and_bounds_it(seed):
    # Two points, the least and the greatest area: every enumerated cost between lies in the bounds.
    front = area_front(tiny_study(seed), points_most=2)
    first, last = front.rows
    inner = [
        cost
        for area, cost in enumerated_front(tiny_job(seed))
        if first["growing_area_m2"] < area < last["growing_area_m2"]
    ]
    assert ("not resolved" in front.note) == bool(inner)
    for cost in inner:
        assert first["least_until_next"] <= cost + HALF_A_CENT
        assert cost <= first["most_until_next"] + HALF_A_CENT


@pytest.mark.parametrize("seed", [1, 3, 7])
def test_costs_between_two_flood_goals_lie_between_the_bounds_given(seed):
    study, goals = tiny_study(seed), [0.6, 1.4, 2.2]
    front = floods_front(study, goals)
    checked = 0
    for row, following in zip(front.rows, front.rows[1:], strict=False):
        middle = (row["floods"] + following["floods"]) / 2.0
        cost = enumerated_cost(study.job, floods=middle)
        if row["most_until_next"] is not None:
            assert row["least_until_next"] - HALF_A_CENT <= cost
            assert cost <= row["most_until_next"] + HALF_A_CENT
            checked += 1
    assert checked


def test_a_flood_goal_out_of_reach_is_refused_with_its_reason_and_leaves_no_upper_bound():
    front = floods_front(tiny_study(1), [2.0, 30.0])
    assert [row["outcome"] for row in front.rows] == [DESIGNED, REFUSED]
    assert front.rows[0]["most_until_next"] is None
    assert "30 floods an hour" in front.rows[1]["reason"]


@pytest.mark.parametrize("seed", [0, 1, 4, 6])
def test_the_cheapest_sump_of_the_front_is_the_base_design_and_none_is_cheaper(seed):
    # Each row only takes sumps away from the site, so none costs less; the base design has one.
    study = tiny_study(seed)
    front = sump_front(study)
    costs = [row["cost"] for row in front.rows if row["outcome"] == DESIGNED]
    assert min(costs) == pytest.approx(study.base["cost"], abs=HALF_A_CENT)


@pytest.mark.parametrize("seed", [0, 4])
def test_no_design_of_any_row_beats_one_on_the_sump_front(seed):
    rows = [row for row in sump_front(tiny_study(seed)).rows if row["outcome"] == DESIGNED]
    for kept in (row for row in rows if row["on_front"]):
        for other in rows:
            smaller = other["sump_volume_m3"] < kept["sump_volume_m3"]
            cheaper = other["cost"] < kept["cost"]
            no_dearer = other["cost"] <= kept["cost"]
            no_larger = other["sump_volume_m3"] <= kept["sump_volume_m3"]
            assert not (smaller and no_dearer) and not (cheaper and no_larger)


def test_every_designed_point_opens_as_the_whole_design_it_tells_of():
    study = tiny_study(1)
    for row in area_front(study).rows:
        design = study.design(row)
        assert design.record.cost_cents == round(100.0 * row["cost"])
        assert f"{design.pump.count} x {design.pump.id}" == row["chosen_pump"]


def test_a_refused_point_has_no_design_to_open():
    study = tiny_study(1)
    refused = floods_front(study, [30.0]).rows[0]
    with pytest.raises(KeyError, match="30 floods an hour"):
        study.design(refused)
