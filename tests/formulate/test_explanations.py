"""A flood goal that no kit meets is refused with a suggestion that works."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from optimizer.candidates.network import candidate_network
from optimizer.errors import Infeasible
from optimizer.formulate.build import formulate
from optimizer.milp.solve import solve_complete
from tests.builders.random_site import random_site, shipped_catalog
from tests.formulate.two_rows import BUY, SITE, TRAY, row

ONE_TYPE = replace(
    SITE, bed_types=(TRAY,), rows=(row("A", 1.0, 3, ("tray",)), row("B", 3.5, 2, ("tray",)))
)


def refusal_of(site) -> Infeasible:
    with pytest.raises(Infeasible) as caught:
        formulate(site, shipped_catalog(), candidate_network(site))
    return caught.value


def asking(site, floods: float):
    return replace(site, goals=replace(site.goals, floods_per_hour_least=floods))


def suggested_floods(refusal: Infeasible) -> float:
    (remedy,) = refusal.remedies
    return float(re.search(r"ask at most about ([\d.]+) floods", remedy.change).group(1))


@pytest.mark.parametrize("robustness", ["nominal", "most"])
def test_asking_no_more_floods_than_suggested_gives_a_design_and_a_hundredth_more_does_not(
    robustness,
):
    site = replace(ONE_TYPE, goals=replace(ONE_TYPE.goals, robustness=robustness))
    suggested = suggested_floods(refusal_of(asking(site, 60.0)))
    wide = replace(asking(site, suggested), purchase=replace(BUY, pipes=()))
    problem = formulate(wide, shipped_catalog(), candidate_network(wide)).problem
    assert sum(p.beds for p in problem.plans if p.id in chosen_plans(problem)) >= 3
    refusal_of(asking(site, suggested + 0.01))


def chosen_plans(problem) -> set[str]:
    return set(solve_complete(problem).plans.values())


def test_a_row_that_may_stay_empty_is_named_where_the_beds_wanted_have_no_other_place():
    # Its small tubs flood more than the four times an hour allowed; boxes would do, and no row may
    # hold one.
    site, catalog = random_site(19, 6, tiny=True)
    assert all(row.bed_types == ("broad",) and row.beds_least == 0 for row in site.rows)
    with pytest.raises(Infeasible, match="cannot be had from bed type broad") as refusal:
        formulate(site, catalog, candidate_network(site))
    (remedy,) = refusal.value.remedies
    limit = float(re.search(r"allow up to ([\d.]+) floods", remedy.change).group(1))
    wider = replace(site, goals=replace(site.goals, floods_per_hour_most=limit))
    assert formulate(wider, catalog, candidate_network(wider)).candidates


def test_the_clash_names_goal_bed_type_margins_and_robustness():
    clash = refusal_of(asking(ONE_TYPE, 60.0)).clash
    assert clash.startswith("60 floods an hour cannot be had from bed type tray")
    assert "7% for setting valves" in clash
    assert "8% for the sump's level" in clash
    assert "'nominal' robustness" in clash


def test_the_suggestion_names_the_kit_and_the_most_it_floods():
    remedy = refusal_of(asking(ONE_TYPE, 60.0)).remedies[0]
    assert remedy.requirement == "bed type tray"
    assert re.search(
        r"\d+ mm siphon, plain rim, which starts from about [\d.]+ L/min", remedy.change
    )
    assert re.search(r"without margins floods [\d.]+ times at most", remedy.change)


def test_where_margins_leave_no_inflow_at_any_goal_the_suggestion_is_to_ease_them():
    goals = replace(ONE_TYPE.goals, valve_setting_error=0.6, robustness="whole")
    change = refusal_of(replace(ONE_TYPE, goals=goals)).remedies[0].change
    assert "accept less robustness than 'whole', set valves closer" in change


def test_where_a_limit_on_floods_leaves_the_margins_no_room_the_least_limit_that_does_is_named():
    # At least 1.5 and at most 1.6 floods: valve error and drift alone change the inflow by more.
    def limited(most: float):
        goals = replace(ONE_TYPE.goals, floods_per_hour_most=most)
        return replace(ONE_TYPE, goals=goals, purchase=replace(BUY, pipes=()))

    (wider,) = refusal_of(limited(1.6)).remedies
    assert wider.requirement == "the most floods an hour of bed type tray"
    limit = float(re.search(r"allow up to ([\d.]+) floods", wider.change).group(1))
    assert chosen_plans(
        formulate(limited(limit), shipped_catalog(), candidate_network(limited(limit))).problem
    )
    refusal_of(limited(limit - 0.01))


def test_only_bed_types_that_a_row_cannot_do_without_are_named():
    # Tubs are left with a kit that floods; trays are not, and row A needs one.
    big = replace(SITE.bed_types[0], container="bed_250x120", kits=("kit_pvcu10_25_plain",))
    site = replace(
        SITE,
        bed_types=(big, SITE.bed_types[1]),
        rows=(row("A", 1.0, 2, ("tray",), beds_least=1, spacing_m=2.0), SITE.rows[1]),
    )
    assert [r.requirement for r in refusal_of(site).remedies] == ["bed type tray"]


def test_a_container_too_shallow_for_any_kit_is_said_to_be_so():
    shallow = replace(TRAY, crest_below_rim_m=0.27)
    refusal = refusal_of(replace(ONE_TYPE, bed_types=(shallow,)))
    assert "too shallow" in refusal.remedies[0].change
