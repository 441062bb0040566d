"""Every pump as the only one; designs side by side."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.explore.fronts import sump_front
from optimizer.explore.point import DESIGNED, REFUSED
from optimizer.explore.pump_study import duty_of, pump_study, window_margin
from optimizer.explore.sweep import Study
from optimizer.explore.variants import cost_rows, figure_rows, part_rows, plan_rows
from optimizer.formulate.pump_tables import allowed_pumps
from optimizer.job import Job
from optimizer.physics.pump import PumpCurve
from optimizer.simulate.check import check_design
from tests.builders.make_design import make_design
from tests.explore.small import EXACT_SEARCH, HALF_A_CENT, enumerated_cost, tiny_job
from tests.tolerances import FORMULA


def few_pumps(seed: int) -> Job:
    """The tiny job with a catalog of its own pumps and three more."""
    job = tiny_job(seed)
    own = {pump.id: pump for pump in allowed_pumps(job.site, job.catalog)}
    extra = {name: job.catalog.pumps[name] for name in list(job.catalog.pumps)[:3]}
    return replace(job, catalog=replace(job.catalog, pumps=extra | own))


@pytest.fixture(scope="module")
def study() -> Study:
    return Study(few_pumps(1), search=EXACT_SEARCH)


@pytest.fixture(scope="module")
def rows(study):
    return pump_study(study)


def test_every_pump_of_the_catalog_has_a_row(study, rows):
    assert {row["pump"] for row in rows} == set(study.job.catalog.pumps)


def test_the_cheapest_pump_on_the_list_makes_the_base_design(study, rows):
    # Forcing a pump only takes designs away, so none on the list is cheaper than the base design,
    # and the base design's own pump is as cheap.
    gaps = {row["pump"]: row["gap_to_best"] for row in rows if row["outcome"] == DESIGNED}
    listed = {row["pump"]: row["cost"] for row in rows if row["allowed"] and "cost" in row}
    assert min(listed.values()) == pytest.approx(study.base["cost"], abs=HALF_A_CENT)
    assert gaps[study.design(study.base).pump.id] == 0.0
    assert all(gaps[pump] >= 0.0 for pump in listed)


def test_a_pump_too_weak_for_the_beds_says_why(rows):
    refused = [row for row in rows if row["outcome"] == REFUSED]
    assert refused
    assert all(row["reason"] and "gap_to_best" not in row for row in refused)


def test_the_duty_told_lies_on_the_pump_curve(rows, study):
    for row in (row for row in rows if row["outcome"] == DESIGNED):
        pump = study.job.catalog.pumps[row["pump"]]
        curve = PumpCurve(pump.flows_m3_s, pump.heads_m, pump.watts, row["count"])
        head = float(curve.head_m(row["duty_flow_m3_s"]))
        assert row["duty_head_m"] == pytest.approx(head, rel=FORMULA)
        assert 0.0 < row["share_of_curve"] <= 1.0


def test_the_window_margin_is_the_way_to_the_nearer_end_over_the_inflow():
    # By hand on the example design: the least of 1 - low/q and high/q - 1 over its two kinds.
    design = make_design()
    ends = [
        end
        for kind in design.kinds
        for window in [kind.windows[design.promise.robustness]]
        for end in (
            1.0 - window.low_m3_s / kind.inflow_m3_s,
            window.high_m3_s / kind.inflow_m3_s - 1.0,
        )
    ]
    assert window_margin(design) == min(ends)
    assert duty_of(design)["window_margin"] == min(ends)


def test_a_design_beside_itself_differs_in_no_place_and_in_no_amount():
    twice = {"a": make_design(), "b": make_design()}
    assert plan_rows(twice) == []
    assert all(row["a"] == row["b"] for row in [*cost_rows(twice), *part_rows(twice)])


def test_one_wider_pipe_and_one_dearer_line_are_the_only_differences_told():
    first = make_design()
    wider = replace(first.stretches[0], nominal="4 in")
    dearer = replace(first.costs[0], cents=first.costs[0].cents + 500)
    second = replace(
        first,
        stretches=(wider, *first.stretches[1:]),
        costs=(dearer, *first.costs[1:]),
    )
    both = {"a": first, "b": second}
    (place,) = plan_rows(both)
    assert (place["part"], place["a"], place["b"]) == (wider.id, first.stretches[0].nominal, "4 in")
    moved = [row for row in cost_rows(both) if row["a"] != row["b"]]
    assert [round(row["b"] - row["a"], 2) for row in moved] == [5.0]


def test_a_part_that_only_one_design_has_stands_at_nothing_for_the_other():
    first = make_design()
    more = replace(first.costs[0], what="a thing of its own", part="own", quantity=3.0)
    both = {"a": first, "b": replace(first, costs=(*first.costs, more))}
    (row,) = [row for row in part_rows(both) if row["part"] == "own"]
    assert (row["a"], row["b"]) == (0.0, 3.0)


def test_the_figures_tell_which_promises_a_variant_breaks():
    sound = make_design()
    spoiled = replace(sound, sump=replace(sound.sump, depth_m=sound.sump.power_cut_m - 0.01))
    both = {"a": sound, "b": spoiled}
    rows = figure_rows(both, {name: check_design(design) for name, design in both.items()})
    broken = next(row for row in rows if row["figure"] == "promises_broken")
    assert broken["a"] == ""
    assert "power cut" in broken["b"]


def level_job(seed: int) -> Job:
    """The tiny job with all its pumps as deep under water, so that lists of pumps can be cut."""
    job = tiny_job(seed)
    own = {pump.id: pump for pump in allowed_pumps(job.site, job.catalog)}
    depth = max(pump.submergence_m for pump in own.values())
    pumps = {name: replace(pump, submergence_m=depth) for name, pump in own.items()}
    standing = replace(job.site.standing, pump=None, pump_count=0, sump=None, sump_count=0)
    site = replace(job.site, standing=standing)
    return Job(site, replace(job.catalog, pumps=pumps))


@pytest.mark.parametrize("seed", [0, 1, 3])
def test_each_pump_alone_costs_what_an_enumeration_with_only_that_pump_finds(seed):
    job = level_job(seed)
    for row in pump_study(Study(job, search=EXACT_SEARCH)):
        purchase = replace(job.site.purchase, pumps=(row["pump"],))
        cost = enumerated_cost(replace(job, site=replace(job.site, purchase=purchase)))
        assert (row.get("cost") is None) == (cost is None)
        assert cost is None or row["cost"] == pytest.approx(cost, abs=HALF_A_CENT)


@pytest.mark.parametrize("seed", [0, 4])
def test_each_sump_alone_costs_what_an_enumeration_with_only_that_sump_finds(seed):
    job = level_job(seed)
    for row in sump_front(Study(job, search=EXACT_SEARCH)).rows:
        part, _, count = row["sump"].partition(" x ")
        purchase = replace(job.site.purchase, sumps=(part,), sumps_most=int(count))
        cost = enumerated_cost(replace(job, site=replace(job.site, purchase=purchase)))
        assert (row.get("cost") is None) == (cost is None)
        assert cost is None or row["cost"] == pytest.approx(cost, abs=HALF_A_CENT)
