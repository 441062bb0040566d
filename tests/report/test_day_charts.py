"""What each chart of a day draws is what the simulation gave, read back from the chart itself."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import fields, is_dataclass, replace

import altair as alt
import numpy as np
import pandas as pd
import pytest

from optimizer.day_gather import SPAN_S
from optimizer.report.charts.day_every import OF_DAY, day_specs
from optimizer.report.charts.day_floods import floods_cells, floods_lines
from optimizer.report.charts.day_held import BY_CHANCE, SIMULATED, held_frame, sump_gives_m3
from optimizer.report.charts.day_levels import LANE_PX, lane_beds, lanes_frame
from optimizer.report.charts.day_marks import ROW_PX, doings_frame, strip_px
from optimizer.report.charts.day_order import POINTS_MOST, order_points
from optimizer.report.day_doings import Doings
from optimizer.simulate.day.drainings import beds_through, collector_peaks
from optimizer.simulate.day.in_step import order_frame
from optimizer.simulate.day.power_cut import power_cut
from optimizer.simulate.day.segment import Event
from tests.builders.make_design import make_design_of
from tests.report.make_day import BUSY, CLOGGED, QUIET, SHUT, day_design, facts_of, one_bed, run_of
from tests.tolerances import EXACT, FORMULA

FOOT_M = 0.3048


def drawn(name: str, doings: Doings = BUSY, units: str = "metric") -> dict:
    chart = OF_DAY[name](replace(day_design(), units=units), facts_of(doings))
    return chart.to_dict()


def rows(spec: dict, *columns: str) -> pd.DataFrame:
    """Return the one data set of a chart that has all these columns and no others."""
    found = [d for d in spec["datasets"].values() if set(d[0]) == set(columns)]
    assert len(found) == 1
    return pd.DataFrame(found[0])


def words_in(spec: dict) -> set[str]:
    return {str(v) for data in spec["datasets"].values() for row in data for v in row.values()}


def test_the_sump_chart_draws_every_kept_level_of_the_run():
    line, run = rows(drawn("sump"), "hours", "level"), run_of(BUSY)
    assert line["hours"].to_numpy() == pytest.approx(run.sample_s / 3600.0, rel=FORMULA)
    assert line["level"].to_numpy() == pytest.approx(run.sump_m, rel=FORMULA)


def test_the_sump_chart_of_a_us_site_is_in_feet_and_names_both_limits():
    spec = drawn("sump", units="us")
    line, run = rows(spec, "hours", "level"), run_of(BUSY)
    assert FOOT_M * line["level"].to_numpy() == pytest.approx(run.sump_m, rel=FORMULA)
    # The example's pump needs 0.1 m over its inlet: 0.33 ft.
    assert "pump must be covered, 0.33 ft" in words_in(spec)


def test_bed_lanes_follow_the_run_to_less_than_the_width_of_the_line():
    lanes, run = lanes_frame(facts_of(BUSY)), run_of(BUSY)
    levels = run.levels_frame()
    for bed in lane_beds(facts_of(BUSY)):
        mine, lane = levels[levels["subject"] == bed], lanes[lanes["bed"] == bed]
        between = np.interp(mine["time_s"] / 3600.0, lane["hours"], lane["level_m"])
        # A lane is 62 px high and its line 1.1 px wide.
        assert np.abs(between - mine["level_m"]).max() <= mine["level_m"].max() / LANE_PX
        assert len(lane) < len(mine)


def test_beds_that_were_touched_are_drawn_beside_one_of_each_kind():
    assert lane_beds(facts_of(QUIET)) == ["bed_1_1", "bed_2_1"]
    assert lane_beds(facts_of(BUSY)) == ["bed_1_1", SHUT, CLOGGED]


def test_a_missed_start_is_a_triangle_at_its_hour_and_a_missed_stop_a_square():
    missed = pd.DataFrame(
        {"time_s": [1800.0, 3600.0], "bed": ["bed_1_1"] * 2, "event": ["stalls", "never_breaks"]}
    )
    facts = replace(facts_of(QUIET), events=missed)
    spec = OF_DAY["beds"](day_design(), facts).to_dict()
    marks = rows(spec, "hours", "place", "what")
    assert list(zip(marks["hours"], marks["what"], strict=True)) == [
        (0.5, "start missed"),
        (1.0, "stop missed"),
    ]
    assert '"triangle-down", "square"' in str(spec).replace("'", '"')


def test_the_heat_map_counts_the_breaks_of_every_bed_in_every_hour():
    times, beds = run_of(BUSY).times_of(Event.BREAKS)
    cells = floods_cells(day_design(), facts_of(BUSY))
    assert len(cells) == 4 * 6
    for cell in cells.to_dict("records"):
        place = [bed.id for bed in day_design().beds].index(cell["line"])
        begin = 3600.0 * cell["span"]
        mine = (beds == place) & (times >= begin) & (times < begin + 3600.0)
        assert cell["floods"] == mine.sum()


def test_the_narrow_heat_map_adds_four_hours_and_leaves_out_what_is_not_whole():
    hourly = floods_cells(day_design(), facts_of(BUSY))
    wide = floods_cells(day_design(), facts_of(BUSY), 4)
    first = hourly[hourly["span"] < 4].groupby("line", sort=False)["floods"].sum()
    assert wide["span"].unique().tolist() == [0]
    assert wide.set_index("line")["floods"].tolist() == first.tolist()


def test_the_held_curve_is_the_share_of_kept_moments_that_hold_no_more():
    design, run = day_design(), run_of(BUSY)
    held = np.maximum(run.volumes_m3, 0.0).sum(axis=1)
    frame = held_frame(design, facts_of(BUSY))
    mine = frame[frame["curve"] == SIMULATED]
    assert mine["held_m3"].min() >= 0.0
    for row in mine.iloc[:: len(mine) // 20].to_dict("records"):
        counted = np.mean(held <= row["held_m3"])
        least = np.mean(held < row["held_m3"])
        assert least < row["share"] <= counted + FORMULA


def test_by_chance_no_more_is_held_than_all_beds_full_and_never_more_than_the_sump_gives():
    # The example's sump is sized for every bed full at once, so the curve ends left of its line.
    design = day_design()
    frame = held_frame(design, facts_of(QUIET))
    chance = frame[frame["curve"] == BY_CHANCE]
    full = sum(k.held_m3 for bed in design.beds for k in design.kinds if k.id == bed.kind)
    assert chance["share"].is_monotonic_increasing
    assert chance["held_m3"].max() == pytest.approx(full, rel=FORMULA)
    assert full <= sump_gives_m3(design)


def test_a_sump_too_small_for_its_beds_has_its_line_left_of_the_curves_end():
    design = day_design()
    small = replace(design, sump=replace(design.sump, area_m2=0.3 * design.sump.area_m2))
    frame = held_frame(small, facts_of(QUIET))
    assert sump_gives_m3(small) < frame["held_m3"].max()


def test_no_curve_by_chance_is_drawn_where_a_siphon_does_not_stop():
    design = day_design()
    kind = design.kinds[0]
    stuck = replace(kind, siphon=replace(kind.siphon, stop_ratio=0.1))
    spec = OF_DAY["held"](replace(design, kinds=(stuck, *design.kinds[1:])), facts_of(QUIET))
    assert BY_CHANCE not in str(spec.to_dict())


@pytest.mark.parametrize("doings", [BUSY, QUIET], ids=["busy", "quiet"])
def test_bursts_are_the_greatest_flow_that_a_second_by_second_sum_finds(doings):
    """Brute force: the straight lines of all drainings, added at every second and every priming."""
    facts, run, design = facts_of(doings), run_of(doings), day_design()
    mine = beds_through(design)[facts.collector.stretch]
    assert len(mine) == 4  # the stretch into the sump
    parts = list(lines_of(run, mine))
    primes = [begin for begin, *_ in parts]
    times = np.unique(np.concatenate([np.arange(0.0, run.scenario.end_s, 1.0), primes]))
    flow = sum(np.where((times >= a) & (times < b), f(times), 0.0) for a, b, f in parts)
    spans = (times // SPAN_S).astype(int)
    greatest = np.zeros(spans.max() + 1)
    np.maximum.at(greatest, spans, flow)
    # Only at primings does the sum rise, and those are among the times.
    least_step = 1e-9
    assert facts.collector.flows["flow_m3_s"].to_numpy() == pytest.approx(greatest, abs=least_step)


def lines_of(run, mine):
    """Yield begin, end and discharge of every draining of some beds, from the events alone."""
    for bed in mine:
        siphon = run.plant.siphons[bed]
        high = siphon.discharge_m3_s(siphon.prime_level_m)
        low = siphon.discharge_m3_s(siphon.drain_level_m)
        begin = 0.0 if run.siphoning[0, bed] else None
        here = run.bed == bed
        for time, code in zip(run.time_s[here], run.code[here], strict=True):
            if code == Event.PRIMES:
                begin = time
            elif code == Event.BREAKS:
                yield begin, time, straight(begin, time, high, low)
                begin = None
        if begin is not None:
            # Cut off by the run's end it has come to no known level: it may give all it can.
            yield begin, run.scenario.end_s, straight(begin, run.scenario.end_s, high, high)


def straight(begin, end, high, low):
    return lambda t: high + (low - high) * (t - begin) / max(end - begin, 1.0)


def test_the_highest_burst_drawn_is_the_peak_that_the_check_holds_against_capacity():
    facts, run = facts_of(BUSY), run_of(BUSY)
    peak = next(p for p in collector_peaks(run) if p.stretch == facts.collector.stretch)
    area = rows(drawn("bursts"), "hours", "flow")
    litres_a_minute = 60_000.0
    assert area["flow"].max() == pytest.approx(litres_a_minute * peak.peak_m3_s, rel=FORMULA)


def test_the_power_cut_chart_is_the_closed_form_rise():
    spec, cut = drawn("cut"), power_cut(day_design())
    line = rows(spec, "minutes", "level")
    assert (60.0 * line["minutes"]).to_numpy() == pytest.approx(cut.time_s, rel=FORMULA)
    assert line["level"].to_numpy() == pytest.approx(cut.level_m, rel=FORMULA)
    assert line["level"].max() <= cut.highest_m * (1.0 + FORMULA)


def test_the_order_drawn_is_the_order_of_the_kind_most_built():
    facts, run = facts_of(QUIET), run_of(QUIET)
    frame = order_frame(run)
    mine = frame[(frame["group"] == "broad") & (frame["beds"] == 2)]
    line = rows(drawn("order", QUIET), "run", "time_s", "order", "hours")
    this = line[line["run"] == "this run"]
    assert facts.starts.kind == "Broad bed"
    assert this["hours"].to_numpy() == pytest.approx(mine["time_s"].to_numpy() / 3600.0)
    assert this["order"].to_numpy() == pytest.approx(mine["order"].to_numpy(), rel=FORMULA)


def test_doings_are_numbered_by_time_and_neighbours_stand_in_rows_of_their_own():
    doings = Doings(
        24.0, "random", 0, ((5.0, 6.0), (20.0, 99.0)), (("a", 5.2),), (("b", 4.0, 0.3),)
    )
    frame = doings_frame(doings)
    assert frame["hours"].tolist() == [4.0, 5.0, 5.2, 20.0]
    assert frame["until"].tolist() == [4.0, 6.0, 5.2, 24.0]
    assert frame["mark"].tolist() == ["1", "2", "3", "4"]
    # A tag takes 1.9 h of 24: the three about hour 5 need three rows, the last finds the first.
    assert frame["row"].tolist() == [0, 1, 2, 0]
    assert strip_px(doings) == 3 * ROW_PX + 4
    assert strip_px(QUIET) == 0


def test_what_is_done_after_the_hours_drawn_is_not_marked():
    assert doings_frame(Doings(48.0, "random", 0, ((30.0, 31.0),))).empty


@pytest.mark.parametrize("name", ["sump", "beds", "bursts"])
def test_charts_over_the_day_mark_what_was_done(name):
    assert rows(drawn(name), "hours", "until", "mark", "row", "tag_h")["mark"].size >= 1
    quiet = drawn(name, QUIET)
    assert not any("mark" in data[0] for data in quiet["datasets"].values())


def test_there_is_no_chart_of_what_is_not_there():
    design, facts = one_bed()
    assert set(OF_DAY) - set(day_specs(design, facts)) == {"floods", "floods_narrow", "order"}
    none = replace(facts, collector=replace(facts.collector, stretch=""))
    assert "bursts" not in day_specs(design, none)


@pytest.mark.parametrize("name", OF_DAY)
def test_a_chart_is_the_same_twice_and_leaves_its_facts_alone(name):
    design, facts = day_design(), facts_of(BUSY)
    before = deepcopy(facts)
    first, second = (OF_DAY[name](design, facts).to_dict() for _ in range(2))
    assert first == second
    assert_same(before, facts)


def assert_same(before, after):
    for field in fields(before):
        a, b = getattr(before, field.name), getattr(after, field.name)
        if isinstance(a, pd.DataFrame):
            pd.testing.assert_frame_equal(a, b, check_exact=True, rtol=EXACT, atol=EXACT)
        elif isinstance(a, pd.Series):
            pd.testing.assert_series_equal(a, b, check_exact=True)
        elif is_dataclass(a):
            assert_same(a, b)
        else:
            assert a == b


@pytest.mark.parametrize("name", OF_DAY)
def test_every_chart_is_valid_for_the_schema_altair_writes_and_says_what_it_shows(name):
    spec = drawn(name)
    assert spec["$schema"] == alt.SCHEMA_URL
    alt.LayerChart.from_dict(spec)  # raises on a spec that breaks the schema
    assert spec["description"].endswith(".")


def test_many_beds_are_drawn_as_the_mean_of_their_row_and_many_rows_as_that_of_several():
    assert len(set(floods_lines(make_design_of(4, 12)).values())) == 48
    rows_of_13 = floods_lines(make_design_of(4, 13))
    assert len(set(rows_of_13.values())) == 4
    # 49 rows share at most 48 lines: two rows a line make 25, the last a row of its own.
    lines = list(dict.fromkeys(floods_lines(make_design_of(49, 1)).values()))
    assert len(lines) == 25
    assert lines[0].startswith("rows ") and lines[-1].startswith("row ")


def test_the_order_of_a_long_run_is_thinned_to_what_a_screen_shows():
    facts = facts_of(QUIET)
    times = 600.0 * np.arange(9000)
    long = pd.DataFrame({"run": "this run", "time_s": times, "order": 0.5})
    found = order_points(replace(facts, starts=replace(facts.starts, order=long)))
    assert POINTS_MOST / 2 <= len(found) <= POINTS_MOST
    assert set(found["time_s"]) <= set(times)
