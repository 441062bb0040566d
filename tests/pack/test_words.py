"""What the sheets say is computed for this very system."""

import math
import re
from dataclasses import replace

import pytest

from optimizer.pack.sheet_faults import fault_sheets
from optimizer.pack.sheet_labels import cautions_sheet, labels_sheet
from optimizer.pack.sheet_start import (
    commissioning_sheets,
    first_fill_m3,
    kept_below_slots_m3,
    second_fill_m3,
)
from optimizer.pack.sheets import Grid, Words
from optimizer.report.flow_bands import start_band, stop_band
from optimizer.report.scales import Reader
from tests.builders.random_choice import random_assemblies
from tests.tolerances import FORMULA

HAIR = 1e-6


@pytest.fixture(scope="module", params=range(5))
def drawn(request):
    _, _, (design,) = random_assemblies(300 + request.param, 1)
    return design


def grids(sheets):
    return [block for sheet in sheets for block in sheet.blocks if isinstance(block, Grid)]


def cell(design, symptom, kind_index=0):
    table = grids(fault_sheets(design))[kind_index].table
    return next(row[1] for row in table.rows if row[0] == symptom)


def test_a_bed_inside_both_bands_ends_starts_and_stops_and_one_outside_does_not(drawn):
    for kind in drawn.kinds:
        start, stop = start_band(kind), stop_band(kind)
        assert start.low_m3_s <= start.nominal_m3_s <= start.high_m3_s
        assert stop.low_m3_s <= stop.nominal_m3_s <= stop.high_m3_s
        # every corner of the bands, just inside and just outside
        stubborn = replace(kind.siphon, start_froude=kind.start_froude.high)
        assert stubborn.fill_s(start.high_m3_s * (1.0 + HAIR)) < float("inf")
        assert stubborn.fill_s(start.high_m3_s * (1.0 - HAIR)) == float("inf")
        sticky = replace(
            kind.siphon,
            stop_ratio=kind.stop_ratio.low,
            loss_coefficient=kind.loss_coefficient.high,
        )
        assert sticky.stop_flow_m3_s == pytest.approx(stop.low_m3_s, rel=FORMULA)
        # more inflow than that: it never stops
        assert sticky.floods_per_hour(stop.low_m3_s * (1.0 + HAIR)) == 0.0


def test_fault_finding_names_the_beds_and_their_stop_flow_with_its_band(drawn):
    reader = Reader(drawn.units)
    built = [k for k in drawn.kinds if any(b.kind == k.id for b in drawn.beds)]
    for i, kind in enumerate(built):
        said, stop = cell(drawn, "never stops", i), stop_band(kind)
        assert reader.text("flow", stop.nominal_m3_s) in said
        assert f"band {reader.span('flow', stop.low_m3_s, stop.high_m3_s)}" in said
        assert "will not stop" in said
        assert next(b.id for b in drawn.beds if b.kind == kind.id) in said


def test_the_bed_said_to_starve_first_is_the_one_with_least_head_at_its_valve(drawn):
    table = grids(fault_sheets(drawn))[-1].table
    said = next(row[1] for row in table.rows if row[0].startswith("one bed starves"))
    last = min(drawn.beds, key=lambda bed: bed.valve_head_m)
    assert f"Bed {last.id} has least to spare" in said


def test_a_blocked_siphon_spills_when_the_room_under_the_rim_is_full(drawn):
    # (rim - prime level) x area x porosity over the inflow
    reader = Reader(drawn.units)
    built = [k for k in drawn.kinds if any(b.kind == k.id for b in drawn.beds)]
    for i, kind in enumerate(built):
        room = (kind.depth_m - kind.siphon.prime_level_m) * kind.area_m2 * kind.siphon.porosity
        said = cell(drawn, "floods over its rim", i)
        assert reader.text("minutes", room / kind.inflow_m3_s) in said


def test_all_water_filled_in_is_what_the_design_runs_with_and_what_stays_below_the_slots(drawn):
    kinds = {kind.id: kind for kind in drawn.kinds}
    below = sum(
        kinds[b.kind].area_m2 * kinds[b.kind].siphon.porosity * kinds[b.kind].parts.slot_height_m
        for b in drawn.beds
        if not b.standing
    )
    total = first_fill_m3(drawn) + second_fill_m3(drawn)
    assert total == pytest.approx(drawn.sump.fill_m3 + below, rel=FORMULA)
    assert kept_below_slots_m3(drawn) == pytest.approx(below, rel=FORMULA, abs=FORMULA)


def test_with_standpipes_out_and_pipes_full_the_sump_stands_at_the_setting_level(drawn):
    # all that is filled in first lies in sump and pipes; with the pump off it stays in the tank
    sump = drawn.sump
    area = sump.count * sump.area_m2
    pipes = math.fsum(s.volume_m3 for s in drawn.stretches)
    level = (first_fill_m3(drawn) - pipes) / area
    full = sump.depth_m - sump.freeboard_m
    assert first_fill_m3(drawn) <= full * area * (1.0 + FORMULA)
    if first_fill_m3(drawn) < full * area * (1.0 - FORMULA):
        assert level == pytest.approx(sump.setting_m, rel=FORMULA)


def test_each_bed_has_its_bucket_time_with_the_error_the_design_allows(drawn):
    table = next(g.table for g in grids(commissioning_sheets(drawn)) if "open" in g.table.columns)
    assert [row[0] for row in table.rows] == [bed.id for bed in drawn.beds]
    error = drawn.promise.valve_setting_error
    for row, bed in zip(table.rows, drawn.beds, strict=True):
        low, high = (float(x) for x in re.findall(r"[\d.]+", row[4]))
        assert low == pytest.approx(bed.bucket_s / (1.0 + error), abs=0.051)
        assert high == pytest.approx(bed.bucket_s / (1.0 - error), abs=0.051)


def test_a_start_and_a_break_are_told_with_this_kinds_levels_and_times(drawn):
    said = [b.text for s in commissioning_sheets(drawn) for b in s.blocks if isinstance(b, Words)]
    reader = Reader(drawn.units)
    for kind in drawn.kinds:
        if not any(bed.kind == kind.id for bed in drawn.beds):
            continue
        text = next(t for t in said if t.startswith(f"{kind.label}. A start"))
        assert reader.text("minutes", kind.siphon.fill_s(kind.inflow_m3_s)) in text
        assert reader.text("minutes", kind.siphon.drain_s(kind.inflow_m3_s)) in text


def test_the_readings_table_has_an_empty_line_for_every_bed(drawn):
    blank = [grid for grid in grids(commissioning_sheets(drawn)) if grid.blank]
    assert len(blank) == 1
    assert [row[0] for row in blank[0].table.rows] == [bed.id for bed in drawn.beds]
    assert all(not any(row[1:]) for row in blank[0].table.rows)


def test_every_bed_has_a_label_with_its_bucket_time(drawn):
    labels = labels_sheet(drawn).blocks[1].labels
    titles = {label.title: label for label in labels}
    reader = Reader(drawn.units)
    for bed in drawn.beds:
        said = " ".join(titles[f"Bed {bed.id}"].lines)
        assert f"{reader.bucket} in {reader.bucket_time(bed.bucket_s)}" in said


@pytest.mark.parametrize(
    "word",
    ["Mains", "heavy", "drown", "food", "drinking water", "codes", "burr", "fumes", "licensed"],
)
def test_the_cautions_speak_of(word, drawn):
    assert word in " ".join(cautions_sheet(drawn).blocks[0].items)
