from __future__ import annotations

import re
from dataclasses import replace

import pytest

from optimizer.records.check import CheckReport
from optimizer.records.design import CostLine
from optimizer.report import tables
from optimizer.report.scales import Reader, money
from tests.report.make_check import make_check
from tests.tolerances import FORMULA


def _frames(design, check):
    return {
        "beds": tables.beds_frame(design, check),
        "stretches": tables.stretches_frame(design),
        "returns": tables.returns_frame(design),
        "parts": tables.parts_frame(design),
        "costs": tables.costs_frame(design),
        "findings": tables.findings_frame(check),
        "windows": tables.windows_frame(design),
    }


def test_every_frame_has_exactly_its_declared_columns(draining, check):
    frames = _frames(draining, check)
    assert set(frames) == set(tables.COLUMNS)
    for name, frame in frames.items():
        assert list(frame.columns) == list(tables.COLUMNS[name])
        assert len(frame) > 0
        assert all(meaning for meaning in tables.COLUMNS[name].values())


def test_a_design_with_nothing_in_it_still_has_its_columns(design):
    bare = replace(design, beds=(), stretches=(), costs=(), kinds=())
    check = CheckReport((), (), (0.0,) * 3, (0.0,) * 3, (0.0,) * 3)
    for name, frame in _frames(bare, check).items():
        assert list(frame.columns) == list(tables.COLUMNS[name])
        assert frame.empty


def test_every_measured_column_names_its_unit(draining, check):
    plain = {"number", "passed", "standing", "works", "quantity", "promised", "simulated"}
    plain |= {
        "tolerance",
        "cents",
        "valve_opening",
        "beds_above",
        "slope",
        "fill_limit",
        "manning_n",
    }
    unit = re.compile(r"_(m|m3_s|m_s|m3|s|kg|n|per_hour)$")
    for frame in _frames(draining, check).values():
        measured = frame.select_dtypes(["number", "bool"]).columns
        # a bare number is a count, a share, money, or stands beside a unit column
        assert [c for c in measured if c not in plain and not unit.search(c)] == []


def test_a_bed_shows_what_its_simulation_gave(design, check):
    row = tables.beds_frame(design, check).iloc[0]
    # the check ran at 0.96 and 1.05 of the 12 L/min set
    assert row["inflow_low_m3_s"] == pytest.approx(0.96 * 2.0e-4, rel=FORMULA)
    assert row["inflow_high_m3_s"] == pytest.approx(1.05 * 2.0e-4, rel=FORMULA)
    # 10 L at 12 L/min take 50 s
    assert row["bucket_s"] == pytest.approx(50.0, rel=FORMULA)


def test_the_same_part_bought_twice_is_one_line_and_running_cost_is_no_part(design):
    twice = (
        CostLine("capital", "Pipe", "pipe_27", 3.0, "m", 600),
        CostLine("capital", "Pipe", "pipe_27", 2.0, "m", 400),
        CostLine("running", "Energy", "pump", 10.0, "year", 9999),
    )
    (part,) = tables.parts_frame(replace(design, costs=twice)).to_dict("records")
    assert (part["quantity"], part["unit"], part["cents"]) == (5.0, "m", 1000)


def test_failures_lead_the_findings(design):
    frame = tables.findings_frame(make_check(design, failing="bed_2_2"))
    assert not frame["passed"].iloc[0]
    assert frame["passed"].iloc[1:].all()
    assert frame["subject"].iloc[0] == "bed_2_2"


@pytest.mark.parametrize(
    ("quantity", "value", "metric", "us"),
    [
        # exact inch, US gallon and pound, standard gravity (NIST SP 811, 2008; from memory)
        ("flow", 2.0e-4, "12 L/min", "3.17 US gpm"),
        ("length", 1.0, "1 m", "3.28 ft"),
        ("size", 0.0254, "25.4 mm", "1 in"),
        ("mass", 100.0, "100 kg", "220 lb"),
        ("force", 1000.0, "1000 N", "225 lbf"),
        ("pressure", 1.0e5, "100 kPa", "14.5 psi"),
        ("volume", 0.1, "100 L", "26.4 US gal"),
        ("section", 6.4516e-4, "6.45 cm2", "1 sq in"),
        ("temperature", 20.0, "20 C", "68 F"),
        ("share", 0.285, "28.5 %", "28.5 %"),
        ("slope", 1.0 / 48.0, "2.08 %", "0.25 in/ft"),
    ],
)
def test_a_figure_is_written_in_the_readers_units(quantity, value, metric, us):
    assert Reader("metric").text(quantity, value) == metric
    assert Reader("us").text(quantity, value) == us


def test_money_keeps_its_cents_and_its_sign():
    assert money(123450, "EUR") == "EUR 1,234.50"
    assert money(-5, "EUR") == "EUR -0.05"
    assert money(0, "USD") == "USD 0.00"


def test_beds_above_a_return_stretch_are_all_that_drain_through_it(draining):
    above = tables.beds_above(draining)
    # two rows of two beds: the first bed's lateral carries both of its row, the riser all four
    assert above["return lateral_1_1"] == 2
    assert above["return lateral_1_2"] == 1
    assert above["return riser"] == 4


def test_a_bucket_is_one_that_the_reader_has():
    # 10 L in 60 s; 2.5 US gal = 9.46353 L in 56.8 s
    assert (Reader("metric").bucket, Reader("metric").bucket_time(60.0)) == ("10 L", "60.0 s")
    assert (Reader("us").bucket, Reader("us").bucket_time(60.0)) == ("2.5 US gal", "56.8 s")


def test_a_billed_quantity_is_written_in_the_readers_units_and_a_count_stays():
    assert Reader("us").quantity(3.048, "m") == "10 ft"
    assert Reader("us").quantity(12.0, "piece") == "12 piece"


def test_a_loss_coefficient_among_findings_is_not_taken_for_kelvin():
    assert Reader("us").si_text("K", 252.94) == "K 252.9"
    assert Reader("us").si_text("share", 0.5) == "50 %"
