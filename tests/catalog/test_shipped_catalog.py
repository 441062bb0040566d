"""What the shipped catalog holds: provenance, completeness, printed values, sane pumps."""

import csv
import dataclasses
from itertools import pairwise
from pathlib import Path

import pytest

from optimizer.physics.pressure import rating_at_temperature
from optimizer.physics.pump import PumpCurve
from optimizer.physics.valve import opening_for_loss
from optimizer.reading.catalog import read_catalog, shipped_folder
from optimizer.reading.catalog_frames import catalog_frames
from tests.tolerances import EXACT, FORMULA

TABLES = sorted(shipped_folder().glob("*.csv"))
UNITS = {
    "mm", "m", "m2", "kg", "kg_m3", "kpa", "l_min", "w", "years", "db",
}  # fmt: skip
PLAIN_NUMBERS = (
    "loss_coefficient", "opening_share", "porosity", "mouth_ratio", "start_froude", "stop_ratio",
    "turn_loss_coefficient", "supports", "stations",
)  # fmt: skip
PRINTED_K = 0.005  # losses are printed to 0.01
TYPICAL_WATER_N_M3 = 9789.0  # 998.2 kg/m3 x 9.80665 m/s2 at 20 C


def rows(path):
    with Path(path).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def declared():
    tables = {}
    for row in rows(shipped_folder() / "columns.csv"):
        tables.setdefault(row["table"], []).append(row)
    return tables


@pytest.fixture(scope="module")
def catalog():
    return read_catalog()


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.stem)
def test_columns_csv_declares_exactly_the_columns_present_in_order(path):
    with path.open(newline="", encoding="utf-8") as file:
        header = next(csv.reader(file))
    assert header == [row["column"] for row in declared()[path.stem]]


def test_columns_csv_declares_no_table_that_is_missing():
    assert set(declared()) == {path.stem for path in TABLES}


def test_every_number_column_names_its_unit_or_is_a_known_plain_number():
    for table, columns in declared().items():
        for row in columns:
            if row["type"] not in {"number", "whole"} or table in {"columns", "prices"}:
                continue
            stem = row["column"].removesuffix("_low").removesuffix("_high")
            suffix = any(row["column"].endswith(f"_{unit}") for unit in UNITS)
            assert suffix or (stem in PLAIN_NUMBERS and row["unit"] == "1"), (
                f"{row['column']}: end it in its unit (a new one goes into UNITS above)"
            )


@pytest.mark.parametrize("path", [p for p in TABLES if p.stem != "columns"], ids=lambda p: p.stem)
def test_every_row_states_its_source(path):
    assert all(len(row["source"]) > 5 for row in rows(path))


def test_every_price_says_it_is_invented():
    prices = rows(shipped_folder() / "prices.csv")
    assert {row["source"] for row in prices} == {"invented example, replace"}


def test_every_pipe_size_has_every_kind_of_fitting(catalog):
    kinds = {
        "elbow_90", "elbow_45", "tee", "reducer", "union", "cap", "adapter", "clean_out",
        "strainer", "non_return_valve", "bulkhead", "timed_valve",
    }  # fmt: skip
    sizes = {(p.series, p.nominal) for p in catalog.pipes.values()}
    have = {(f.kind, f.series, f.nominal) for f in catalog.fittings.values()}
    assert have == {(kind, *size) for kind in kinds for size in sizes}


def test_every_fitting_kind_has_a_loss(catalog):
    names = set(catalog.losses)
    for kind in {f.kind for f in catalog.fittings.values()}:
        assert {"tee_run", "tee_branch"} <= names if kind == "tee" else kind in names


def test_every_size_up_to_two_inches_has_the_three_valves(catalog):
    have = {(v.series, v.nominal, v.kind) for v in catalog.valves.values()}
    for pipe in catalog.pipes.values():
        if pipe.outside_m <= 0.063:
            for kind in ("ball", "gate", "diaphragm"):
                assert (pipe.series, pipe.nominal, kind) in have


def test_local_losses_carry_the_printed_values(catalog):
    # fluids 1.3.1 after Crane TP-410 and others (ran): entrance sharp 0.50-0.57; projecting thin
    # 0.62-0.78; exit 1.0; 1 in: 90 elbow 0.67, tee run 0.45, branch 1.34, close return 1.11.
    printed = {
        "elbow_90": 0.67,
        "tee_run": 0.45,
        "tee_branch": 1.34,
        "close_return": 1.11,
        "exit": 1,
    }
    for name, value in printed.items():
        assert abs(catalog.losses[name].value - value) <= PRINTED_K
    sharp, projecting = catalog.losses["entrance"], catalog.losses["entrance_projecting"]
    assert (sharp.low, sharp.high) == (0.50, 0.57)
    assert (projecting.low, projecting.high) == (0.62, 0.78)


def test_ball_valves_carry_the_plug_cock_table(catalog):
    # Plug cock closed 10/20/40/60 deg: K 0.29/1.56/17.3/206, Perry's Chemical Engineers' Handbook
    # (second hand); ball open 1 in 0.067, fluids 1.3.1 after Crane TP-410 (ran). The table's K of
    # 0.05 at 5 deg is left out: it lies below the open ball's.
    valve = catalog.valves["ball_sch40_1"]
    at = dict(zip((round(90 * (1 - o)) for o in valve.openings), valve.losses, strict=True))
    assert {d: at[d] for d in (0, 10, 20, 40, 60)} == {
        0: 0.067,
        10: 0.29,
        20: 1.56,
        40: 17.3,
        60: 206,
    }


def test_gate_valves_carry_the_printed_table(catalog):
    # Gate open, 3/4, 1/2, 1/4: 0.17/0.9/4.5/24, Perry's Chemical Engineers' Handbook (second hand).
    valve = catalog.valves["gate_pvcu10_40"]
    at = dict(zip(valve.openings, valve.losses, strict=True))
    assert [at[o] for o in (1.0, 0.75, 0.5, 0.25)] == [0.17, 0.9, 4.5, 24.0]


def test_every_valve_throttles_hard_over_eight_openings_or_more(catalog):
    for valve in catalog.valves.values():
        assert len(valve.openings) >= 8
        assert valve.losses[0] > 1000 * valve.losses[-1]
        assert all(a > b for a, b in pairwise(valve.losses))


def best_efficiency(pump):
    curve = zip(pump.flows_m3_s, pump.heads_m, pump.watts, strict=True)
    return max(TYPICAL_WATER_N_M3 * flow * head / watts for flow, head, watts in curve)


def test_invented_pumps_are_as_efficient_as_their_size_allows(catalog):
    # Small aquarium pump, wire to water: peak about 20 % (university fluids teaching note, read);
    # 50-60 % for kilowatt pumps is common practice, no source.
    pumps = catalog.pumps.values()
    small = [best_efficiency(p) for p in pumps if max(p.watts) < 30]
    large = [best_efficiency(p) for p in pumps if max(p.watts) > 1700]
    assert min(small) > 0.10 and max(small) < 0.22
    assert min(large) > 0.50 and max(large) < 0.62


def test_invented_pumps_are_many_and_span_15_w_to_3_kw(catalog):
    pumps = catalog.pumps.values()
    assert len(pumps) >= 32
    assert min(max(p.watts) for p in pumps) <= 15 and max(max(p.watts) for p in pumps) > 2900
    assert all("invented example" in p.source for p in pumps)


def test_pump_curves_start_at_no_flow_with_falling_head_and_rising_watts(catalog):
    for pump in catalog.pumps.values():
        assert 6 <= len(pump.heads_m) <= 9
        assert pump.flows_m3_s[0] == EXACT
        assert all(a < b for a, b in pairwise(pump.flows_m3_s))
        assert all(a > b > 0 for a, b in pairwise(pump.heads_m))
        assert all(a <= b for a, b in pairwise(pump.watts))


def test_every_pump_gives_back_its_own_points_through_the_curve(catalog):
    for pump in catalog.pumps.values():
        curve = PumpCurve(pump.flows_m3_s, pump.heads_m, pump.watts)
        for flow, head, watts in zip(pump.flows_m3_s, pump.heads_m, pump.watts, strict=True):
            assert curve.head_m(flow) == pytest.approx(head, rel=FORMULA)
            assert curve.watts_at(flow) == pytest.approx(watts, rel=FORMULA)


def test_every_valve_gives_back_its_own_openings_through_its_table(catalog):
    for kind in ("ball", "gate", "diaphragm"):
        valve = catalog.valves[f"{kind}_sch40_1"]
        for opening, loss in zip(valve.openings, valve.losses, strict=True):
            found = opening_for_loss(loss, valve.openings, valve.losses)
            assert found == pytest.approx(opening, rel=FORMULA)


def test_kits_cover_eight_us_and_seven_metric_sizes_in_three_styles(catalog):
    us = {k.nominal for k in catalog.kits.values() if k.series == "pvc_sch40"}
    metric = {k.nominal for k in catalog.kits.values() if k.series == "pvcu_pn10"}
    assert us == {f"{n} in" for n in ("1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3")}
    assert metric == {f"{n} mm" for n in (25, 32, 40, 50, 63, 75, 90)}
    assert len(catalog.kits) == 3 * (len(us) + len(metric))


def test_a_breather_tube_moves_the_stop_ratio_up_and_nothing_else(catalog):
    plain, tube = catalog.kits["kit_sch40_1_plain"], catalog.kits["kit_sch40_1_breather_tube"]
    assert tube.stop_ratio.nominal - plain.stop_ratio.nominal == pytest.approx(0.10, rel=FORMULA)
    assert plain.stop_ratio.low < tube.stop_ratio.low and tube.stop_ratio.high < 1
    assert (tube.start_froude.nominal, tube.mouth_ratio) == (plain.start_froude.nominal, 1.0)


def test_flooded_density_of_stone_follows_from_its_porosity(catalog):
    # Our arithmetic: 2650 kg/m3 solids between water-filled pores, 2650 (1 - e) + 1000 e.
    for name in ("crushed_stone_20_50", "clean_gravel"):
        medium = catalog.media[name]
        e = medium.porosity.nominal
        assert abs(medium.wet_density_kg_m3 - (2650 * (1 - e) + 1000 * e)) <= 0.5
        assert 1900 <= medium.wet_density_kg_m3 <= 2150  # checks.md, caution only


def test_pressure_derating_knows_every_pipe_material(catalog):
    for pipe in catalog.pipes.values():
        assert rating_at_temperature(pipe.rating_pa, pipe.material, 30.0) < pipe.rating_pa


def test_frames_have_a_row_for_every_part_and_three_columns_for_a_band(catalog):
    frames = catalog_frames(catalog)
    assert {kind: len(frame) for kind, frame in frames.items()} == {
        field.name: len(getattr(catalog, field.name)) for field in dataclasses.fields(catalog)
    }
    gravel = frames["media"].set_index("id").loc["clean_gravel"]
    assert (gravel.porosity_low, gravel.porosity, gravel.porosity_high) == (0.30, 0.36, 0.41)
