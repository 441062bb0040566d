"""Bed options: their least inflow, and the kits left out."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.formulate.bed_kind import bed_kind, fit_bed
from optimizer.formulate.bed_options import bed_candidates, kits_for, power_rises
from optimizer.formulate.burst_counts import burst_m3_s
from optimizer.formulate.inflow_steps import FLOW_STEP_M3_S, GRID_INFLOWS, allowed_steps
from optimizer.formulate.pump_tables import allowed_pumps
from optimizer.physics.bed import SiphonBed
from optimizer.physics.window import working_chance
from optimizer.records.design import BedKind, Window
from optimizer.records.parts import Kit
from optimizer.records.site import Goals, Site
from tests.builders.random_site import random_site, shipped_catalog
from tests.formulate.two_rows import SITE, TRAY
from tests.tolerances import FORMULA

SEEDS = range(12)


def all_candidates(site: Site, catalog) -> list:
    """Every candidate, each kit asked for alone so that no other can push it out."""
    pumps = allowed_pumps(site, catalog)
    found = []
    for bed_type in site.bed_types:
        for kit in kits_for(bed_type, site.purchase.pipe_series, catalog):
            alone = replace(site, bed_types=(replace(bed_type, kits=(kit.id,)),))
            found += bed_candidates(alone, catalog, pumps)[0]
    return found


def keeps_both_margins(steps: int, candidate, goals: Goals, kinds: int) -> bool:
    """Whether the inflow, off both ways, stays where the siphon works and floods as asked."""
    inflow, kind = steps * FLOW_STEP_M3_S, candidate.kind
    off = [
        inflow * a * b
        for a in (1 - goals.level_drift, 1 + goals.level_drift)
        for b in (1 - goals.valve_setting_error, 1 + goals.valve_setting_error)
    ]
    sure = _surely_works(kind, min(off), max(off), goals, kinds)
    return sure and all(_floods_as_asked(kind.siphon, each, goals) for each in off)


def _surely_works(kind: BedKind, least: float, most: float, goals: Goals, kinds: int) -> bool:
    """Whether all kinds of bed, each as sure as this one, work as surely as asked together."""
    if goals.robustness == "nominal":
        return kind.siphon.start_flow_m3_s <= least and most <= kind.siphon.stop_flow_m3_s
    bands = kind.start_froude, kind.stop_ratio, kind.loss_coefficient
    asked = {"most": 0.95, "whole": 1.0}[goals.robustness]
    return working_chance(kind.siphon, *bands, least, most) ** kinds >= asked * (1 - FORMULA)


def _floods_as_asked(bed: SiphonBed, inflow: float, goals: Goals) -> bool:
    floods = bed.floods_per_hour(inflow)
    most = goals.floods_per_hour_most
    return floods >= goals.floods_per_hour_least * (1 - FORMULA) and (
        most is None or floods <= most * (1 + FORMULA)
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_the_listed_inflow_keeps_every_margin_and_one_step_less_does_not(seed):
    site, catalog = random_site(seed)
    kinds = len({name for row in site.rows for name in row.bed_types})
    for candidate in all_candidates(site, catalog):
        steps = candidate.option.inflow_steps
        assert keeps_both_margins(steps, candidate, site.goals, kinds)
        assert not keeps_both_margins(steps - 1, candidate, site.goals, kinds)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_kit_left_out_costs_asks_holds_and_lets_out_no_less_than_one_kept(seed):
    site, catalog = random_site(seed)
    kept = bed_candidates(site, catalog, allowed_pumps(site, catalog))[0]
    names = {c.option.id for c in kept}
    for left in (c for c in all_candidates(site, catalog) if c.option.id not in names):
        assert any(
            k.option.bed_type == left.option.bed_type
            and k.cost_cents <= left.cost_cents
            and k.option.inflow_steps <= left.option.inflow_steps
            and k.kind.held_m3 <= left.kind.held_m3
            and burst_m3_s(k) <= burst_m3_s(left)
            for k in kept
        )


def test_margins_multiply_and_the_inflow_is_rounded_into_them():
    # 10 L/min low and 20 L/min high with 8 % drift and 7 % setting error: at least
    # 10 / (0.92 x 0.93) = 11.688 -> 11.7 L/min, at most 20 / (1.08 x 1.07) = 17.307 -> 17.3.
    low, high = 10.0 / 60_000.0, 20.0 / 60_000.0
    goals = Goals(1.0, level_drift=0.08, valve_setting_error=0.07)
    goal, wide = Window(low, high), Window(0.0, 1.0)
    assert allowed_steps(wide, goal, goals) == (117, 173)
    # What a valve may be set to has its margins counted already.
    assert allowed_steps(Window(low, high), wide, goals) == (100, 200)


def test_a_flood_goal_narrower_than_the_margins_allows_nothing():
    # 1.08 x 1.07 / (0.92 x 0.93) = 1.351: inflows of ratio 1.34 are too few.
    low = 10.0 / 60_000.0
    goals = Goals(1.0, level_drift=0.08, valve_setting_error=0.07)
    assert allowed_steps(Window(0.0, 1.0), Window(low, 1.34 * low), goals) is None
    assert allowed_steps(Window(0.0, 1.0), Window(low, 1.40 * low), goals) is not None


@pytest.mark.parametrize("robustness", ["nominal", "most", "whole"])
def test_what_a_valve_may_be_set_to_starts_and_stops_with_every_margin_and_no_more(robustness):
    # At both ends of the settings the inflow, 8 % and 7 % off either way, is just sure enough.
    goals = replace(SITE.goals, robustness=robustness)
    types = (SITE.bed_types[0], replace(SITE.bed_types[0], id="other"))
    names = tuple(each.id for each in types)
    two = replace(
        SITE,
        goals=goals,
        bed_types=types,
        rows=tuple(replace(row, bed_types=names) for row in SITE.rows),
    )
    kit = kits_for(types[0], SITE.purchase.pipe_series, shipped_catalog())[0]
    fitted = fit_bed(two, types[0], kit, shipped_catalog())
    kind = bed_kind(fitted, 1e-4, shipped_catalog())
    down, up = 0.92 * 0.93, 1.08 * 1.07

    def sure(inflow: float) -> bool:
        return _surely_works(kind, down * inflow, up * inflow, goals, kinds=2)

    low, high = fitted.settings.low_m3_s, fitted.settings.high_m3_s
    hair = 1e-3  # near the whole band's corner the chance falls with the square of it
    assert low < high
    assert sure(low * (1 + hair)) and not sure(low * (1 - hair))
    assert sure(high * (1 - hair)) and not sure(high * (1 + hair))


def test_an_empty_window_allows_nothing():
    assert allowed_steps(Window(0.0, 0.0), Window(0.0, 1.0), Goals(1.0)) is None


def test_kits_not_named_are_those_of_the_pipes_own_size_system():
    # Inch kits do not fit millimetre pipe without adapters.
    any_kit = replace(TRAY, kits=())
    for series, unit in (("pvcu_pn10", "mm"), ("pvc_sch40", "in")):
        kits: list[Kit] = kits_for(any_kit, series, shipped_catalog())
        assert kits
        assert {k.nominal[-2:] for k in kits} == {unit}


def test_a_grid_of_inflows_is_listed_where_a_pump_draws_less_at_a_higher_flow():
    # Lower the last wattage of one pump: more flow may then cost less, so least is no more best.
    catalog = shipped_catalog()
    pump = catalog.pumps["pump_100w_high"]
    odd = replace(pump, watts=(*pump.watts[:-1], pump.watts[-2] - 1.0))
    assert power_rises(pump)
    assert not power_rises(odd)
    inflows: dict[str, set[int]] = {}
    for candidate in bed_candidates(SITE, catalog, [odd])[0]:
        key = f"{candidate.option.bed_type} {candidate.option.kit}"
        inflows.setdefault(key, set()).add(candidate.option.inflow_steps)
    assert inflows
    assert all(1 < len(steps) <= GRID_INFLOWS for steps in inflows.values())


def test_a_refused_kit_says_why():
    site = replace(SITE, goals=replace(SITE.goals, floods_per_hour_least=60.0))
    _, refused = bed_candidates(site, shipped_catalog(), [])
    assert {r.bed_type for r in refused} == {"tray", "tub"}
    for each in refused:
        assert each.why == f"floods at most {each.floods_greatest:.2f} times an hour"
        assert 0.0 < each.floods_greatest < 60.0


def test_a_kit_whose_size_has_no_tee_for_its_vented_tail_is_refused_only_with_return_pipe():
    # Every 25 mm tee taken out of the catalog: the 25 mm kit cannot end in a vented tee.
    catalog = shipped_catalog()
    left = {
        k: f
        for k, f in catalog.fittings.items()
        if (f.kind, f.series, f.nominal) != ("tee", "pvcu_pn10", "25 mm")
    }
    poor = replace(catalog, fittings=left)
    pumps = [catalog.pumps["pump_100w_high"]]
    open_site = replace(SITE, returns=replace(SITE.returns, designed=False))
    piped = replace(SITE, returns=replace(SITE.returns, designed=True))
    for site, refused in ((open_site, False), (piped, True)):
        why = [r.why for r in bed_candidates(site, poor, pumps)[1] if "25" in r.kit]
        assert any("vented tail" in reason for reason in why) is refused
