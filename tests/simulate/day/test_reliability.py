"""In how many draws of what is not known a design works."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.physics.band import Band
from optimizer.simulate.day.drawn_cycle import drawn_cycle_s
from optimizer.simulate.day.many_days import days_frame
from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.reliability import reliability
from optimizer.simulate.day.scenario import Scenario
from tests.builders.make_design import make_design
from tests.tolerances import EXACT, FORMULA, SAMPLING_SIGMAS


def band(nominal, low, high):
    return Band(nominal, low, high, "example")


def with_bands(start, stop, loss):
    design = make_design()
    fixed = [
        replace(
            kind,
            start_froude=start or band(*3 * (kind.siphon.start_froude,)),
            stop_ratio=stop or band(*3 * (kind.siphon.stop_ratio,)),
            loss_coefficient=loss or band(*3 * (kind.siphon.loss_coefficient,)),
        )
        for kind in design.kinds
    ]
    promise = replace(design.promise, valve_setting_error=0.0)
    return replace(design, kinds=tuple(fixed), promise=promise)


def test_a_design_without_doubt_works_in_every_draw():
    found = reliability(with_bands(None, None, None), draws=100, pump_tolerance=0.0)
    assert found.share == EXACT + 1.0
    assert set(found.by_bed.values()) == {1.0}


def test_reliability_equals_the_exact_chance_and_names_what_is_to_blame():
    # Only the start Froude number is in doubt, 0.3 to 1.5. A bed of the first kind starts up to
    # Fr 0.3 * (least inflow) / (start flow at 0.3), so its chance is a share of the band; kinds
    # are drawn apart, so the chance of all is the product.
    design = with_bands(band(0.3, 0.3, 1.5), band(1.0, 1.0, 1.0), None)
    plant = plant_of(design)
    least = plant.table().inflows_m3_s(design.sump.lowest_m)
    limits = 0.3 * least / plant.beds.start_m3_s
    chances = [
        (min(limits[i] for i, b in enumerate(design.beds) if b.kind == kind.id) - 0.3) / 1.2
        for kind in design.kinds
    ]
    expected = float(np.prod(chances))
    found = reliability(design, draws=20000, seed=3, pump_tolerance=0.0)
    assert 0.05 < expected < 0.95
    assert abs(found.share - expected) <= SAMPLING_SIGMAS * found.standard_error
    assert found.to_blame["start Froude number"] == EXACT + 1.0
    assert found.to_blame["stop ratio"] == EXACT
    assert found.stops == EXACT + 1.0


def test_a_share_that_floods_often_enough_is_that_of_the_porosities_at_which_it_does():
    # Only the porosity is in doubt, and the time of a cycle is in proportion to it: a bed floods
    # twice an hour up to porosity 0.40 x 1800 s over its longest cycle at its two levels.
    design = with_bands(None, None, None)
    kinds = tuple(replace(k, porosity=band(0.40, 0.30, 0.90)) for k in design.kinds)
    design = replace(design, kinds=kinds)
    plant = plant_of(design)
    table = plant.table()
    levels = (design.sump.lowest_m, design.sump.highest_m)
    chances = []
    for kind in kinds:
        longest_s = max(
            kind.siphon.cycle_s(float(table.inflows_m3_s(level)[i]))
            for i, b in enumerate(design.beds)
            if b.kind == kind.id
            for level in levels
        )
        chances.append((min(0.90, 0.40 * 1800.0 / longest_s) - 0.30) / 0.60)
    expected = float(np.prod(chances))
    found = reliability(design, draws=20000, seed=5, pump_tolerance=0.0)
    error = np.sqrt(expected * (1.0 - expected) / found.draws)
    assert 0.05 < expected < 0.95
    assert found.share == EXACT + 1.0
    assert abs(found.floods - expected) <= SAMPLING_SIGMAS * error


def test_a_cycle_of_drawn_coefficients_is_that_of_a_siphon_with_them():
    # One siphon primes over a weir, the other, on a narrow rim, over a drowned one.
    rng = np.random.default_rng(3)
    siphon = make_design().kinds[0].siphon
    for one in (siphon, replace(siphon, start_froude=0.9, mouth_diameter_m=0.6 * siphon.bore_m)):
        start, loss, store = rng.uniform(0.7, 1.3, (3, 50))
        inflow = rng.uniform(0.8, 1.6, 50) * one.start_flow_m3_s
        found = drawn_cycle_s(one, inflow, start, loss, store)
        for i, each in enumerate(found):
            drawn = replace(
                one,
                start_froude=one.start_froude * start[i],
                loss_coefficient=one.loss_coefficient * loss[i],
                porosity=one.porosity * store[i],
            )
            assert each == pytest.approx(drawn.cycle_s(float(inflow[i])), rel=FORMULA)
        assert np.isfinite(found).any()


def test_drawing_in_batches_counts_every_draw_once(monkeypatch):
    # With one bed's valve error and one coefficient in doubt a batch of one gives the same share
    # up to sampling, and every bed is counted in as many draws as there are.
    design = with_bands(band(0.3, 0.3, 1.5), band(1.0, 1.0, 1.0), None)
    whole = reliability(design, draws=2000, seed=1)
    monkeypatch.setattr("optimizer.simulate.day.reliability.FIGURES_AT_ONCE", 28)
    parts = reliability(design, draws=2000, seed=1)
    error = np.sqrt(whole.share * (1.0 - whole.share) / 1000.0)
    assert abs(whole.share - parts.share) <= SAMPLING_SIGMAS * error
    assert whole.by_bed.keys() == parts.by_bed.keys()
    assert max(parts.by_bed.values()) <= 1.0


def test_many_days_draw_phases_and_coefficients_and_repeat_by_seed():
    scenario = Scenario(hours=6.0, coefficients="random", seed=10)
    frame = days_frame(make_design(), scenario, 4)
    again = days_frame(make_design(), replace(scenario, seed=12), 2)
    assert frame["seed"].tolist() == [10, 11, 12, 13]
    assert frame.iloc[2:].reset_index(drop=True).equals(again)
    assert frame["floods_per_hour_least"].nunique() == 4
