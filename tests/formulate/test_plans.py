"""Plans of rows and what their stretches carry, counted by hand."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from optimizer.records.site import Standing
from optimizer.records.standing import StandingSiphon
from tests.formulate.two_rows import SITE, made, row
from tests.tolerances import FORMULA


def plans_of(site, branch):
    return [p for p in made(site).formulation.problem.plans if p.branch == branch]


def test_a_row_has_an_empty_plan_and_one_for_every_option_and_number_of_beds():
    # Row A: empty, and 1 to 3 beds of every option of either type; row B only tubs, 1 or 2.
    found = made()
    options = Counter(o.bed_type for o in found.formulation.problem.options)
    assert len(plans_of(SITE, "A")) == 1 + 3 * (options["tray"] + options["tub"])
    assert len(plans_of(SITE, "B")) == 1 + 2 * options["tub"]


def test_a_row_that_must_hold_beds_has_no_plan_with_fewer():
    site = replace(SITE, rows=(row("A", 1.0, 3, ("tray",), beds_least=2), SITE.rows[1]))
    assert {p.beds for p in plans_of(site, "A")} == {2, 3}


def test_standing_beds_stay_of_their_type_and_cost_only_their_kit():
    # Two standing trays: at least two, all trays. Three beds buy one shell and its work, 3 kits.
    standing = row("A", 1.0, 3, ("tray", "tub"), standing_beds=2, standing_type="tray")
    site = replace(SITE, rows=(standing, SITE.rows[1]))
    by_option = {c.option.id: c for c in made(site).formulation.candidates}
    plans = plans_of(site, "A")
    assert {p.beds for p in plans} == {2, 3}
    for plan in plans:
        candidate = by_option[plan.option]
        new = plan.beds - 2
        assert candidate.option.bed_type == "tray"
        assert plan.cost_cents == (
            new * (candidate.shell_cents + candidate.labour_cents)
            + plan.beds * candidate.siphon_cents
        )


def test_every_stretch_of_a_row_carries_the_beds_beyond_it():
    # Two beds of inflow q in row A: 2 q to the first take-off, q on to the second, nothing to the
    # third, and q in each of the two drops. The stretch to the last bed says that it is the last.
    for plan in plans_of(SITE, "A"):
        if plan.beds != 2:
            continue
        q = plan.flow_steps // 2
        assert dict(plan.duties) == {
            "lateral to A1": str(2 * q),
            "lateral to A2": f"{q} last",
            "drop A1": plan.option,
            "drop A2": plan.option,
        }


def test_an_empty_plan_asks_nothing():
    empty = next(p for p in plans_of(SITE, "A") if p.option is None)
    assert (empty.beds, empty.flow_steps, empty.cost_cents, dict(empty.duties)) == (0, 0, 0, {})


def test_area_and_held_water_are_those_of_the_beds():
    by_option = {c.option.id: c.kind for c in made().formulation.candidates}
    for plan in made().formulation.problem.plans:
        if plan.option:
            kind = by_option[plan.option]
            assert plan.area_m2 == pytest.approx(plan.beds * kind.area_m2, rel=FORMULA)
            assert plan.held_m3 == pytest.approx(plan.beds * kind.held_m3, rel=FORMULA)


def test_every_duty_of_a_plan_is_a_duty_of_its_stretch():
    problem = made().formulation.problem
    duties = {(s.id, d.id) for s in problem.stretches for d in s.duties}
    assert all((s, d) in duties for p in problem.plans for s, d in p.duties.items())


def test_the_riser_of_a_site_with_one_row_is_the_rows_own():
    # It carries what the row's plan puts on it, and with one bed it ends at the last bed.
    site = replace(SITE, rows=SITE.rows[:1], goals=replace(SITE.goals, beds_least=1))
    problem = made(site).formulation.problem
    riser = problem.stretches[0]
    assert (riser.tail, riser.branch) == ("pump", "A")
    one_bed = next(p for p in problem.plans if p.beds == 1)
    assert one_bed.duties[riser.id] == f"{one_bed.flow_steps} last"


def test_of_a_siphon_that_is_not_sold_a_row_has_no_more_beds_than_stand():
    # Two trays stand with a 25 mm siphon that is sold no more: a third bed has to have another.
    kit = "kit_pvcu10_25_plain"
    standing_row = row("A", 1.0, 3, ("tray",), standing_beds=2, standing_type="tray")
    siphons = (StandingSiphon("tray", kit),)
    most = []
    for not_sold in ((), (kit,)):
        standing = Standing(siphons=siphons, not_sold=not_sold)
        site = replace(SITE, rows=(standing_row, SITE.rows[1]), standing=standing)
        own = {c.option.id for c in made(site).formulation.candidates if c.stands}
        most.append(max(p.beds for p in plans_of(site, "A") if p.option in own))
    assert most == [3, 2]
