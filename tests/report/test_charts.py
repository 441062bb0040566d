from __future__ import annotations

import json
import struct
from dataclasses import replace

import pandas as pd
import pytest
from scipy.integrate import solve_ivp

from optimizer.physics.siphon import rim_flow
from optimizer.records.design import CostLine, Window
from optimizer.report import theme
from optimizer.report.charts.costs import LINES_MOST, cost_chart, cost_frame, gathered
from optimizer.report.charts.cycle import cycle_frame
from optimizer.report.charts.every import chart_specs
from optimizer.report.charts.plan import plan_chart
from optimizer.report.charts.pump import duty_frame, pump_watts_chart
from optimizer.report.charts.trade import bands_frame, trade_frame
from optimizer.report.charts.windows import windows_chart, windows_frame
from optimizer.report.writer import PNG_SCALE, picture
from tests.report.make_check import make_check
from tests.tolerances import FORMULA, ODE


def _values(spec, column):
    return [row[column] for rows in spec["datasets"].values() for row in rows if column in row]


@pytest.fixture(scope="module")
def specs(design, check):
    return {name: chart.to_dict() for name, chart in chart_specs(design, check).items()}


def test_there_is_a_chart_for_every_question(specs):
    assert list(specs) == [
        "plan",
        "plan_narrow",
        "windows",
        "costs",
        "pump_head",
        "pump_watts",
        "trade_1",
        "cycle_1",
        "trade_2",
        "cycle_2",
    ]


# Words or figures that each chart must carry to answer its question.
CARRIES = {
    "plan": ("bed_1_1", "bed_2_2", "Broad bed, floor 0.62 m", "35 mm, 38.4 L/min"),
    "plan_narrow": ("bed_1_1", "Slim bed, floor 0.62 m"),
    "windows": ("nominal coefficients", "95 % of draws", "whole band", "inflow, L/min"),
    "costs": ("EUR 360.00", "Energy", "running, present worth"),
    "pump_head": ("lowest sump level", "highest sump level", "head, m"),
    "pump_watts": ("valve-setting level", "drawn from the mains, W"),
    "trade_1": ("starts", "stops", "goal: at least 2", "set to 12", "set to 12 L/min"),
    "cycle_2": ("fills", "primes", "drains", "top of the slots, 30 mm"),
}


@pytest.mark.parametrize("name", CARRIES)
def test_a_chart_carries_what_it_is_for_and_draws(specs, name):
    spec = specs[name]
    text = json.dumps(spec)
    for words in CARRIES[name]:
        assert json.dumps(words)[1:-1] in text, words
    assert spec["description"]
    assert {key: spec["config"][key] for key in theme.config() if key != "view"} == {
        key: value for key, value in theme.config().items() if key != "view"
    }
    png = picture(text, "png")
    width, height = struct.unpack(">II", png[16:24])
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    # The picture is as wide as asked for, padding of 4 on either side at most.
    assert abs(width - PNG_SCALE * spec["width"]) <= PNG_SCALE * 8
    assert height >= PNG_SCALE * spec["height"] * 0.9


def test_no_chart_fetches_anything(specs):
    for spec in specs.values():
        text = json.dumps({key: value for key, value in spec.items() if key != "$schema"})
        assert "http" not in text and '"url"' not in text


def test_the_plan_has_one_scale_both_ways(design):
    spec = plan_chart(design).to_dict()
    encoding = spec["layer"][0]["encoding"]
    (x0, x1), (y0, y1) = (encoding[axis]["scale"]["domain"] for axis in "xy")
    # metres to a pixel, to the rounding of the height to whole pixels
    assert (x1 - x0) / spec["width"] == pytest.approx((y1 - y0) / spec["height"], rel=1e-3)


def test_a_thicker_line_is_a_wider_pipe_on_one_scale_for_all_designs(design, big):
    domains = [
        layer["encoding"]["strokeWidth"]["scale"]["domain"]
        for one in (design, big)
        for layer in plan_chart(one).to_dict()["layer"]
        if "strokeWidth" in layer["encoding"]
    ]
    assert domains[0] == domains[1]


def test_the_whisker_spans_sump_levels_and_the_valve_setting_error(design, check):
    row = windows_frame(design, check).iloc[0]
    # set 12 L/min; 0.96 and 1.05 of it over the sump levels; 7 % either way
    assert row["least_m3_s"] == pytest.approx(2.0e-4 * 0.96 * 0.93, rel=FORMULA)
    assert row["greatest_m3_s"] == pytest.approx(2.0e-4 * 1.05 * 1.07, rel=FORMULA)


def test_many_beds_are_drawn_as_one_line_a_kind(big):
    frame = windows_frame(big, make_check(big))
    assert list(frame["line"]) == ["Broad bed (12 beds)", "Slim bed (12 beds)"]


def test_an_empty_window_is_said_in_words_and_has_no_bar(design, check):
    empty = {**design.kinds[0].windows, "whole": Window(2.0, 1.0)}
    kinds = (replace(design.kinds[0], windows=empty), design.kinds[1])
    spec = windows_chart(replace(design, kinds=kinds), check).to_dict()
    assert _values(spec, "words").count("whole band: no inflow is sure") == 2
    bars = [row for rows in spec["datasets"].values() for row in rows if "low" in row]
    whole = [row for row in bars if row["band"] == "whole band"]
    assert {row["line"] for row in whole} == {"bed_2_1", "bed_2_2"}


def test_the_cycle_ends_when_the_closed_forms_say(design):
    for kind in design.kinds:
        frame = cycle_frame(kind.siphon, kind.inflow_m3_s)
        filled = frame[frame["phase"] == "primes"]["time_s"].iloc[-1]
        assert filled == pytest.approx(kind.siphon.fill_s(kind.inflow_m3_s), rel=FORMULA)
        cycle = kind.siphon.cycle_s(kind.inflow_m3_s)
        assert frame["time_s"].iloc[-1] == pytest.approx(cycle, rel=FORMULA)
        assert (frame["time_s"].diff().dropna() >= 0.0).all()


def test_the_drawn_drain_curve_is_that_of_brute_force_integration(design):
    siphon, q = design.kinds[0].siphon, design.kinds[0].inflow_m3_s
    frame = cycle_frame(siphon, q)
    drains = frame[frame["phase"] == "drains"]
    begin = drains["time_s"].iloc[0]
    run = solve_ivp(
        lambda t, h: [(q - siphon.discharge_m3_s(float(h[0]))) / siphon.store_m2],
        (0.0, drains["time_s"].iloc[-1] - begin),
        [siphon.prime_level_m],
        t_eval=(drains["time_s"] - begin).clip(lower=0.0),
        rtol=1e-10,
        atol=1e-12,
    )
    assert run.y[0] == pytest.approx(drains["level_m"].to_numpy(), rel=ODE)


def test_the_drawn_priming_curve_lies_within_a_pixel_of_brute_force_integration(design):
    siphon, q = design.kinds[0].siphon, design.kinds[0].inflow_m3_s
    frame = cycle_frame(siphon, q)
    primes = frame[frame["phase"] == "primes"]
    begin = primes["time_s"].iloc[0]
    run = solve_ivp(
        lambda t, w: [
            (q - float(rim_flow(max(w[0], 0.0), siphon.mouth_m, siphon.rim_discharge)))
            / siphon.store_m2
        ],
        (0.0, primes["time_s"].iloc[-1] - begin),
        [0.0],
        t_eval=primes["time_s"] - begin,
        rtol=1e-9,
        atol=1e-12,
    )
    pixel_m = 1.15 * siphon.prime_level_m / 220.0  # the chart is 220 px high
    assert run.y[0] + siphon.crest_level_m == pytest.approx(primes["level_m"], abs=pixel_m)


def test_an_inflow_outside_the_window_has_no_cycle_to_draw(design):
    siphon = design.kinds[0].siphon
    with pytest.raises(ValueError, match="does not cycle"):
        cycle_frame(siphon, 0.9 * siphon.start_flow_m3_s)


def test_the_trade_runs_from_start_to_stop_and_peaks_where_the_bed_says(design):
    kind = design.kinds[0]
    frame = trade_frame(kind)
    assert frame["flow_m3_s"].iloc[-1] == pytest.approx(kind.siphon.stop_flow_m3_s, rel=FORMULA)
    assert frame["flow_m3_s"].iloc[0] > kind.siphon.start_flow_m3_s
    # flat at its top, the sampled peak differs from the true one by less than 0.1 %
    assert frame["floods_per_hour"].max() == pytest.approx(
        kind.siphon.greatest_floods()[1], rel=1e-3
    )


def test_the_bands_of_start_and_stop_hold_the_nominal_values(design):
    kind = design.kinds[0]
    starts, stops = bands_frame(kind).to_dict("records")
    assert starts["low_m3_s"] < kind.siphon.start_flow_m3_s < starts["high_m3_s"]
    assert stops["low_m3_s"] < kind.siphon.stop_flow_m3_s < stops["high_m3_s"]
    # the start flow is proportional to the Froude number, 0.20 and 0.45 around 0.30
    assert starts["high_m3_s"] / starts["low_m3_s"] == pytest.approx(0.45 / 0.20, rel=FORMULA)


def test_a_pump_without_known_watts_has_no_watts_chart(design, check):
    silent = replace(design, pump=replace(design.pump, watts=()))
    assert pump_watts_chart(silent, check) is None
    assert "pump_watts" not in chart_specs(silent, check)


def test_the_duty_points_are_those_of_the_check(check):
    frame = duty_frame(check)
    assert tuple(frame["watts"]) == check.pump_watts
    assert isinstance(frame, pd.DataFrame) and len(frame) == 3


def test_the_cost_bars_add_up_to_the_whole_cost(design):
    assert cost_frame(design)["cents"].sum() == sum(line.cents for line in design.costs)
    assert "EUR 1,220.77" in _values(cost_chart(design).to_dict(), "words")


def test_small_costs_are_gathered_and_none_is_lost(design):
    many = tuple(CostLine("capital", f"part {n}", "p", 1.0, "piece", 100 + n) for n in range(40))
    frame = gathered(cost_frame(replace(design, costs=many)))
    assert len(frame) == LINES_MOST + 1
    # 40 lines of 1.00 to 1.39: 40 x 100 + (0 + ... + 39) = 4780 cents
    assert frame["cents"].sum() == 4780
    assert frame["what"].iloc[-1] == "26 smaller lines"
