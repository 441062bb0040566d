"""Bed options: their least inflow, and the kits left out."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest

from optimizer.formulate.bed_options import (
    FLOW_STEP_M3_S,
    GRID_INFLOWS,
    allowed_steps,
    bed_candidates,
    kits_for,
    power_rises,
)
from optimizer.formulate.drain_tables import burst_m3_s
from optimizer.formulate.pump_tables import allowed_pumps
from optimizer.physics.bed import SiphonBed
from optimizer.records.design import Window
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


def keeps_both_margins(steps: int, candidate, goals: Goals) -> bool:
    """Whether the inflow, off both ways, stays where the siphon works and floods as asked."""
    inflow, kind = steps * FLOW_STEP_M3_S, candidate.kind
    window, bed = kind.windows[goals.robustness], kind.siphon
    off = list(product((1 - goals.level_drift, 1 + goals.level_drift),
                       (1 - goals.valve_setting_error, 1 + goals.valve_setting_error)))  # fmt: skip
    return all(
        window.low_m3_s <= inflow * a * b <= window.high_m3_s
        and _floods_as_asked(bed, inflow * a * b, goals)
        for a, b in off
    )


def _floods_as_asked(bed: SiphonBed, inflow: float, goals: Goals) -> bool:
    floods = bed.floods_per_hour(inflow)
    most = goals.floods_per_hour_most
    return floods >= goals.floods_per_hour_least * (1 - FORMULA) and (
        most is None or floods <= most * (1 + FORMULA)
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_the_listed_inflow_keeps_every_margin_and_one_step_less_does_not(seed):
    site, catalog = random_site(seed)
    for candidate in all_candidates(site, catalog):
        steps = candidate.option.inflow_steps
        assert keeps_both_margins(steps, candidate, site.goals)
        assert not keeps_both_margins(steps - 1, candidate, site.goals)


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
    window, wide = Window(low, high), Window(0.0, 1.0)
    assert allowed_steps(window, wide, goals) == (117, 173)
    assert allowed_steps(wide, window, goals) == (117, 173)


def test_a_window_narrower_than_the_margins_allows_nothing():
    # 1.08 x 1.07 / (0.92 x 0.93) = 1.351: a window of ratio 1.34 is too narrow.
    low = 10.0 / 60_000.0
    goals = Goals(1.0, level_drift=0.08, valve_setting_error=0.07)
    assert allowed_steps(Window(low, 1.34 * low), Window(0.0, 1.0), goals) is None
    assert allowed_steps(Window(low, 1.40 * low), Window(0.0, 1.0), goals) is not None


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
