"""What stretches are bought with, cost and lose, by hand."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S
from optimizer.formulate.stretch_ways import build_ways, parts_in, tees_at_ends
from optimizer.physics.pipe import bore_area_m2, head_loss_m
from optimizer.records.site import Standing, StandingPipe
from tests.builders.random_site import random_site
from tests.formulate.two_rows import SITE, Made, made
from tests.tolerances import FORMULA

WITH_KITS = (0, 1, 2, 3, 5, 6)
"""Seeds of random sites on which some kit reaches the flood goal."""

PRINTED = 1e-3
"""Relative: the density of water as printed in the comment, to four digits."""


def stretch(name: str, found: Made | None = None):
    network = (found or made()).network
    return next(s for s in network.stretches if s.id == name)


def table(name: str, found: Made | None = None):
    problem = (found or made()).formulation.problem
    return next(s for s in problem.stretches if s.id == name)


def test_a_tee_is_bought_for_every_way_off_and_one_closed_at_a_rows_last_bed():
    # The riser ends where rows A and B part: one tee. Every take-off but a row's last has a drop
    # and the next lateral: one tee; the last has its drop alone, on a tee closed for flushing.
    tees = tees_at_ends(made().network)
    assert tees["riser to junction 1"] == 1
    assert [tees[f"lateral to {p}"] for p in ("A1", "A2", "A3", "B1", "B2")] == [1] * 5
    assert all(tees[f"drop {p}"] == 0 for p in ("A1", "A3", "B2"))


def test_a_lateral_to_the_last_bed_is_closed_by_a_clean_out():
    # The tees it ends at, and a reducer where it begins at a tee.
    lateral = stretch("lateral to A2")
    counts = {last: {p.kind: p.count for p in parts_in(lateral, last, 1)} for last in (False, True)}
    assert counts[False] == {"reducer": 1, "tee": 1}
    assert counts[True] == {"reducer": 1, "tee": 1, "clean_out": 1}


def test_a_riser_is_bought_with_strainer_union_and_elbows_and_no_reducer():
    counts = {p.kind: p.count for p in parts_in(stretch("riser to junction 1"), False, 1)}
    assert counts == {"elbow_90": 2, "strainer": 1, "union": 1, "tee": 1}


def test_losses_that_are_no_parts_are_not_bought():
    drop = stretch("drop A1")
    assert {name for name, _ in drop.fittings} == {"elbow_90", "exit", "tee_branch", "union"}
    assert {p.kind for p in parts_in(drop, False, 0)} == {"elbow_90", "reducer", "union"}


def test_a_build_costs_its_pipe_fittings_and_valve_each_rounded_to_a_cent():
    found = made()
    prices = {(f.kind, f.series, f.nominal): f.price for f in found.catalog.fittings.values()}
    lateral = stretch("lateral to A2")
    for duty in table("lateral to A2").duties:
        for way in build_ways(lateral, found.site, found.catalog):
            pipe = way.pipe
            key = (pipe.series, pipe.nominal)
            fittings = prices["reducer", *key] + prices["tee", *key]
            if duty.id.endswith("last"):
                fittings += prices["clean_out", *key]
            built = table("lateral to A2").table.get((duty.id, way.id))
            if built:
                pipe_cents = round(100.0 * pipe.price_per_m * lateral.length_m)
                assert built.cost_cents == pipe_cents + round(100.0 * fittings)


def test_a_drop_rises_from_the_lateral_to_over_the_rim_and_half_a_bed_in():
    # Trays on low blocks: 0.2 m stand, 0.3 m deep, air gap 0.05 m, lateral at 0.1 m: 0.45 m up,
    # and half of 0.8 m in. A pipe's water is its bore area times that.
    duty = next(d for d in table("drop A1").duties if d.id.startswith("tray"))
    assert duty.outlet_level_m == pytest.approx(0.55 + 0.9, rel=FORMULA)
    for way in build_ways(stretch("drop A1"), made().site, made().catalog):
        built = table("drop A1").table.get((duty.id, way.id))
        if built:
            area = bore_area_m2(way.pipe.bore_m)
            assert built.volume_m3 == pytest.approx(area * (0.45 + 0.4), rel=FORMULA)


def test_a_drop_loses_by_its_pipe_fittings_and_fully_open_valve():
    found = made()
    losses = {name: loss.value for name, loss in found.catalog.losses.items()}
    local = losses["exit"] + 2 * losses["elbow_90"] + losses["union"] + losses["tee_branch"]
    duty = next(d for d in table("drop A1").duties if d.id.startswith("tray"))
    checked = 0
    for way in build_ways(stretch("drop A1"), found.site, found.catalog):
        built = table("drop A1").table.get((duty.id, way.id))
        if built:
            by_hand = head_loss_m(
                duty.flow_steps * FLOW_STEP_M3_S,
                0.85,
                way.pipe.bore_m,
                way.pipe.roughness_m,
                20.0,
                local + min(way.valve.losses),
            )
            assert built.loss_m == pytest.approx(float(by_hand), rel=FORMULA)
            checked += 1
    assert checked > 0


@pytest.mark.parametrize("seed", WITH_KITS)
def test_no_build_runs_faster_than_the_limit_once_drifted(seed):
    site, catalog = random_site(seed, 8)
    found = made(site)
    for each in found.formulation.problem.stretches:
        flows = {d.id: d.flow_steps * FLOW_STEP_M3_S for d in each.duties}
        for duty, way in each.table:
            bore = catalog.pipes[way.split(" + ")[0]].bore_m
            speed = flows[duty] * (1.0 + site.goals.level_drift) / bore_area_m2(bore)
            assert speed <= site.goals.velocity_limit_m_s


@pytest.mark.parametrize("seed", WITH_KITS)
def test_a_way_left_out_is_beaten_by_one_kept_under_every_duty_it_is_allowed_under(seed):
    # Worked out again for stretches without valves: price, loss, water and rating by hand.
    site, catalog = random_site(seed, 8)
    found = made(site)
    prices = {(f.kind, f.series, f.nominal): f.price for f in catalog.fittings.values()}
    tees = tees_at_ends(found.network)
    for each in found.formulation.problem.stretches:
        laid = stretch(each.id, found)
        if laid.kind == "drop":
            continue
        for pipe in (catalog.pipes[w.id] for w in build_ways(laid, site, catalog)):
            if pipe.id in each.builds:
                continue
            allowed = [d for d in each.duties if _slow(d.flow_steps, pipe.bore_m, site)]
            local = sum(n * catalog.losses[name].value for name, n in laid.fittings)
            made_of = {
                d.id: (
                    _cents(laid, d.id.endswith("last"), tees[laid.id], pipe, prices),
                    _loss_m(d.flow_steps, laid.length_m, pipe, local, site),
                )
                for d in allowed
            }
            assert not allowed or any(
                all(
                    (d.id, kept) in each.table
                    and each.table[d.id, kept].cost_cents <= made_of[d.id][0]
                    and each.table[d.id, kept].loss_m <= made_of[d.id][1] * (1.0 + FORMULA)
                    for d in allowed
                )
                for kept in each.builds
            )


def _cents(laid, last: bool, tees: int, pipe, prices) -> int:
    parts = sum(
        p.count * prices[p.kind, pipe.series, pipe.nominal] for p in parts_in(laid, last, tees)
    )
    return round(100.0 * laid.length_m * pipe.price_per_m) + round(100.0 * parts)


def _loss_m(steps: int, length_m: float, pipe, local: float, site) -> float:
    flow, warmth = steps * FLOW_STEP_M3_S, site.goals.water_temperature_c
    return float(head_loss_m(flow, length_m, pipe.bore_m, pipe.roughness_m, warmth, local))


def _slow(steps: int, bore_m: float, site) -> bool:
    flow = steps * FLOW_STEP_M3_S * (1.0 + site.goals.level_drift)
    return flow / bore_area_m2(bore_m) <= site.goals.velocity_limit_m_s


def test_builds_are_listed_by_rising_price():
    for each in made().formulation.problem.stretches:
        prices = [
            min(each.table[d.id, way].cost_cents for d in each.duties if (d.id, way) in each.table)
            for way in each.builds
        ]
        assert prices == sorted(prices)


def test_pipe_that_is_laid_already_costs_nothing_in_its_own_run_only():
    standing = Standing(pipes=(StandingPipe("riser", "pvcu10_40"), StandingPipe("B", "pvcu10_25")))
    found = made(replace(SITE, standing=standing))
    riser = table("riser to junction 1", found)
    assert {b.cost_cents for (_, way), b in riser.table.items() if way == "pvcu10_40"} == {0}
    laterals = {s.id: s for s in found.formulation.problem.stretches if s.id.startswith("lateral")}
    free = Counter(
        s.branch for s in laterals.values() for b in s.table.values() if b.cost_cents == 0
    )
    assert set(free) == {"B"}
    assert "pvcu10_40" not in {way for s in laterals.values() for way in s.builds}


def test_a_pipe_bears_its_rating_at_the_water_temperature_as_metres_of_water():
    # PVC-U PN 10 bears 1.0 MPa at 20 C: 1e6 / (998.2 x 9.80665) = 102.2 m of water.
    for head in table("riser to junction 1").rating_head_m.values():
        assert head == pytest.approx(102.2, rel=PRINTED)
