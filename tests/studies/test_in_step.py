"""Claims of the study on siphons in step, in miniature, and against integration by brute force."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from optimizer import Scenario
from optimizer.simulate.day.segment import Event
from studies.in_step import experiments, measures, theory
from studies.in_step.charts import order_chart
from studies.in_step.run import RESULTS, main
from studies.in_step.sizes import QUICK, Size
from studies.in_step.systems import BED, System, plant, run
from tests.simulate.day.run_oracle import (
    dense_inflows,
    greatest_difference_s,
    oracle_events,
    run_events,
)
from tests.tolerances import EXACT, SOLVER

FIRST_ORDER = 0.06
"""Relative: the theory is of first order in G, which is 0.27 a cycle at most here."""

QUADRATURE = 2e-3
"""Of a cycle's mean: 8,192 samples of rates that jump twice in it."""

PARTING_EVENT_S = 0.02
"""The simulation's error in event times is 0.01 s (docs/method-day.md); between beds that part it
grows as they part, here e-fold in four cycles over thirteen cycles (met: 0.015 s)."""

PHASE_MODEL = 0.12
"""Of the phase order: the averaged equations against the simulation, G 0.13."""


@cache
def made(system):
    return plant(system)


CLOSE = System(beds=4, swing_m=0.60, pump="flat", inflow_l_min=12.0)
NEARLY_IN_STEP = (0.4, 0.4001, 0.4003, 0.4002)


def test_brute_force_integration_parts_beds_in_step_as_the_simulation_and_the_theory_do():
    # The oracle shares no code with the simulation: DOP853 at rtol 1e-10 with event detection.
    ready, scenario = made(CLOSE), Scenario(hours=3.0, start=NEARLY_IN_STEP)
    theirs, _ = oracle_events(ready, scenario, dense_inflows(ready))
    mine = run(ready, 3.0 / 24.0, NEARLY_IN_STEP)
    assert greatest_difference_s(run_events(mine), theirs) <= PARTING_EVENT_S
    breaks = sorted((time, bed) for bed, code, time in theirs if code == Event.BREAKS)
    times, beds = np.array([b[0] for b in breaks]), np.array([b[1] for b in breaks])
    strength = theory.coupling(ready, BED)
    assert strength > 0.2
    for found in (
        measures.parting_per_cycle(times, beds),
        measures.parting_per_cycle(*mine.times_of(Event.BREAKS)),
    ):
        assert found == pytest.approx(strength, rel=FIRST_ORDER)


def test_with_the_sump_held_level_beds_keep_their_distance():
    # The twin of the claim above: no feedback, equal inflows, so every cycle is the same.
    scenario = Scenario(hours=3.0, start=NEARLY_IN_STEP, trace_step_s=3600.0)
    found = experiments.run_plant(made(CLOSE), scenario, feedback=False)
    times, beds = found.times_of(Event.BREAKS)
    apart = times[beds == 2] - times[beds == 0]
    assert np.ptp(apart) <= SOLVER * abs(apart[0])
    assert abs(measures.parting_per_cycle(times, beds)) <= SOLVER


@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 1.0])
def test_the_sump_parts_beds_in_step_by_g_a_cycle_at_every_inflow(share):
    # Hand argument in theory.py: minus H'(0) is the mean of V'/V', which is 1 whatever the orbit.
    low, high = BED.start_flow_m3_s, BED.stop_flow_m3_s
    found = theory.orbit(BED, low + share * (high - low))
    assert theory.cluster_split(found, 1) == pytest.approx(1.0, abs=QUADRATURE)
    # Several groups may hold together, but by no more than a fiftieth of what parts one.
    assert all(theory.cluster_split(found, k) > -0.02 for k in range(2, 13))
    assert found.cycle_s == pytest.approx(BED.cycle_s(low + share * (high - low)), rel=QUADRATURE)


def test_an_inflow_at_which_the_siphon_does_not_work_has_no_orbit():
    for inflow in (BED.start_flow_m3_s, 1.001 * BED.stop_flow_m3_s):
        with pytest.raises(ValueError, match="does not work"):
            theory.orbit(BED, inflow)


def test_a_spread_out_crowd_stays_spread_but_gathers_just_above_the_start_flow():
    # 12 L/min lies mid-window: one group must fade. 5.4 L/min is 5 % over the start flow, where
    # the long wait at the rim makes the last drops count most: one group must grow.
    table = experiments.crowd(QUICK).set_index(["inflow_l_min", "mode"])
    assert table.loc[(12.0, 1), "growth_per_cycle"] < 0.0 < table.loc[(5.4, 1), "growth_per_cycle"]
    missed = (table["growth_per_cycle"] - table["theory_per_cycle"]).abs()
    assert np.all(missed <= FIRST_ORDER * table["strength"])


def test_the_phase_model_follows_the_simulation_from_dry():
    system = System(beds=12, swing_m=0.30, pump="flat", inflow_l_min=12.0, spread=0.02)
    ready = made(system)
    times, order = measures.order_series(run(ready, 0.5, "dry"))
    level = theory.mean_level_m(ready, BED)
    orbit = theory.orbit(BED, float(ready.table().inflows_m3_s(level).mean()))
    drift, strength = theory.drifts(ready, BED, level), theory.coupling(ready, BED)
    model = theory.phase_model(orbit, drift, strength, np.zeros(12), 60)
    expected = np.interp(times / orbit.cycle_s, np.arange(61), model)
    early = times < 6 * 3600.0
    assert order[early][0] > 0.9 > 0.5 > order[early][-1]
    assert np.max(np.abs(order - expected)[early]) <= PHASE_MODEL


def test_uneven_valves_hardly_part_beds_at_the_inflow_of_most_floods():
    # The cycle is shortest there, so to first order it does not change with the inflow.
    best = theory.most_floods_inflow(BED)
    middle = 12.0 / 60_000.0
    assert BED.cycle_s(best) < min(BED.cycle_s(0.99 * best), BED.cycle_s(1.01 * best))
    assert abs(theory.elasticity(BED, best)) < 1e-3 < abs(theory.elasticity(BED, middle))
    off = np.linspace(-0.01, 0.01, 24)
    hours = []
    for inflow in (middle, best):
        cycles = np.array([BED.cycle_s(inflow * (1.0 + e)) for e in off])
        hours.append(theory.cycles_in_step(cycles.mean() / cycles - 1.0, 0.0, 0.5))
    assert hours[1] > 20.0 * hours[0]


def test_hunters_number_is_passed_after_a_dry_start_and_kept_after_a_staggered_one():
    size = Size(beds=(24,), ties=((0.15, "flat"),), map_spreads=(0.001,), days=1, seeds=1)
    table = experiments.days(size).set_index("start")
    assert table.loc["dry", "share_above"] > 0.01 >= table.loc["staggered", "share_above"]
    assert table.loc["dry", "most_together"] == 24 > table.loc["dry", "hunter"]
    assert table.loc["dry", "spread_ratio"] > 1.0 > table.loc["staggered", "spread_ratio"]


def test_a_pump_that_a_timer_stops_gathers_beds():
    # Every bed that drains when the pump stops drains to its slots and begins anew with the others.
    table = experiments.timer(replace(QUICK, shown_beds=24)).groupby("stops")["spread_ratio"].mean()
    assert table["15 min every 2 h"] > 1.0 > table["no stop"]


def test_time_shares_of_the_number_draining_add_up_to_the_mean_share():
    ready = made(System(beds=8, swing_m=0.30, pump="flat", inflow_l_min=12.0))
    found = run(ready, 1.0, "random")
    held = measures.counts_held(found, 0.0, 86400.0)
    assert held.sum() == pytest.approx(1.0)
    whole = measures.counts_held(found, 0.0, 43200.0) + measures.counts_held(
        found, 43200.0, 86400.0
    )
    assert whole / 2.0 == pytest.approx(held)
    mean = float(held @ np.arange(9))
    assert mean == pytest.approx(8.0 * theory.orbit(BED, 2e-4).drain_share, rel=0.05)


def test_the_miniature_writes_all_that_the_full_run_writes_and_redraws_it(
    tmp_path, capsys, monkeypatch
):
    assert main(["--quick", "--processes", "1", "--out", str(tmp_path)]) == 0
    assert {path.name for path in tmp_path.iterdir()} == {path.name for path in RESULTS.iterdir()}
    (tmp_path / "order.png").unlink()
    order = "studies.in_step.run.every_chart"
    monkeypatch.setattr(order, lambda tables: {"order": order_chart(tables["orders"])})
    assert main(["--redraw", "--out", str(tmp_path)]) == 0
    assert (tmp_path / "order.png").read_bytes().startswith(b"\x89PNG")
    assert capsys.readouterr().out.count("Tables and charts") == 2


def test_the_full_run_holds_what_the_miniature_claims():
    found = pd.read_csv(RESULTS / "findings.csv").set_index("finding")["value"]
    assert found["parting over G, least"] >= 1.0 - FIRST_ORDER
    assert found["parting over G, greatest"] <= 1.0 + FIRST_ORDER
    assert found["split rate of 2 to 12 groups, over G, least"] > -0.02
    words = "share of days above Hunter's 1 %"
    for valves in ("0.1 %", "2 %"):
        assert found[f"dry start, valves to {valves}, day 1: {words}"] == EXACT + 1.0
        for start, when in product(("random", "staggered"), ("day 1", "later days")):
            assert found[f"{start} start, valves to {valves}, {when}: {words}"] == EXACT


def test_the_number_is_passed_once_a_cycle_by_one_bed_alone():
    # One bed, none allowed: every draining passes it. Two beds, one allowed: each of two starts a
    # cycle passes it where the other drains, a quarter of the time.
    assert theory.times_above_alone(1, 0.25, 864.0, 0) == pytest.approx(100.0)
    assert theory.times_above_alone(2, 0.25, 864.0, 1) == pytest.approx(50.0)
    assert theory.times_above_alone(2, 0.25, 864.0, 2) == EXACT


def test_every_picture_in_the_answer_is_there_and_every_picture_is_shown():
    text = (RESULTS.parent / "README.md").read_text(encoding="utf-8")
    shown = set(re.findall(r"\(results/(\w+)\.png\)", text))
    assert shown == {path.stem for path in RESULTS.glob("*.png")}
    assert {path.stem for path in RESULTS.glob("*.svg")} == shown
    for link in re.findall(r"\]\(([\w./-]+)\)", text):
        assert (Path(RESULTS.parent) / link).exists()
