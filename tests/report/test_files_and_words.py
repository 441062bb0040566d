from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from rich.console import Console

from optimizer.records.check import CheckReport
from optimizer.report import bundle, tables, words
from optimizer.report.summary import files_text, summary, valve_groups
from optimizer.report.words_returns import (
    bursts_rule,
    least_gap_m,
    sizing_sentence,
    vent_sentence,
)
from optimizer.report.writer import save_charts, write_report
from tests.builders.make_design import make_design_of
from tests.report.make_check import make_check
from tests.tolerances import FORMULA

FILES = ["page.html", "beds.csv", "parts.csv", "costs.csv", "findings.csv", "pipes.csv"]
FILES.append("returns.csv")


def _printed(design, check, files=(), width=100):
    console = Console(file=io.StringIO(), width=width, color_system=None)
    console.print(summary(design, check, files))
    return console.file.getvalue()


@pytest.fixture(scope="module")
def written(design, check, tmp_path_factory):
    return write_report(design, check, tmp_path_factory.mktemp("report") / "new" / "folder")


def test_a_report_is_a_page_and_six_tables(design, check, written):
    assert [path.name for path in written] == FILES
    assert sorted(path.name for path in written[0].parent.iterdir()) == sorted(FILES)
    beds = pd.read_csv(written[1])
    pd.testing.assert_frame_equal(beds[["bed"]], tables.beds_frame(design, check)[["bed"]])
    assert list(beds.columns) == list(tables.COLUMNS["beds"])


def test_the_same_design_gives_the_same_files_to_the_byte(design, check, written, tmp_path):
    again = write_report(design, check, tmp_path)
    assert [p.read_bytes() for p in written] == [p.read_bytes() for p in again]


def test_charts_become_pictures_only_in_the_formats_asked_for(design, check, tmp_path):
    written = save_charts(design, check, tmp_path, formats=("svg",))
    names = [path.name for path in written]
    assert {"plan.svg", "windows.svg", "trade_2.svg", "cycle_2.svg"} <= set(names)
    assert all(name.endswith(".svg") for name in names)
    plan = (tmp_path / "plan.svg").read_text()
    assert plan.startswith("<svg") and "bed_2_2" in plan
    with pytest.raises(ValueError, match="svg or png, not gif"):
        save_charts(design, check, tmp_path, formats=("gif",))


def test_the_bundle_is_made_once_and_kept(monkeypatch, tmp_path):
    made = []
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(
        bundle.vl_convert, "javascript_bundle", lambda *a, **k: made.append(1) or "code"
    )
    first, second = bundle.javascript_bundle(), bundle.javascript_bundle()
    assert first == second and first.startswith("code")
    assert len(made) == 1


def test_a_half_written_or_unwritable_cache_is_done_without(monkeypatch, tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    monkeypatch.setattr(bundle.vl_convert, "javascript_bundle", lambda *a, **k: "code")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    assert bundle.javascript_bundle().startswith("code")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    whole = bundle.javascript_bundle()
    (kept,) = bundle.cache_folder().iterdir()
    kept.write_text(whole[: len(whole) // 2])
    assert bundle.javascript_bundle() == whole


def test_the_terminal_answers_the_four_questions_first(design, check, tmp_path):
    lines = _printed(design, check, [tmp_path / "page.html"], width=200)
    order = ["Will it work?", "What to buy", "What it costs", "What it draws", "bed kind", "Files"]
    places = [lines.index(word) for word in order]
    assert places == sorted(places)
    assert "EUR 674.00 to buy" in lines
    assert "50.0 s" in lines and "12 L/min" in lines
    assert "page.html" in lines


def test_the_terminal_lists_failures_and_never_reads_markup_in_names(design):
    evil = replace(design, kinds=tuple(replace(k, label="[red]x[/]") for k in design.kinds))
    printed = _printed(evil, make_check(evil, failing="bed_1_2"))
    assert "[red]x[/]" in printed
    failures = printed[printed.index("fails") :]
    assert "bed_1_2" in failures


def test_the_verdict_counts_what_it_rests_on(design, check):
    assert words.verdict(check) == "Yes: all 10 promises hold in independent simulation."
    empty = CheckReport((), (), (0.0,) * 3, (0.0,) * 3, (0.0,) * 3)
    assert words.verdict(empty).startswith("Not checked")


def test_a_stopped_search_states_its_gap_and_is_never_called_least_cost(design):
    record = replace(design.record, status="stopped", cost_cents=200_00, bound_cents=150_00.0)
    said = words.proof_sentence(replace(design, record=record))
    # (200 - 150) / 200 = 25 %
    assert "25.0 %" in said and "EUR 150.00" in said and "stopped early" in said
    assert "least cost" not in said


def test_every_band_says_what_each_of_its_ends_would_give(design):
    said = words.assumptions(design)
    assert len(said) == 4 * len(design.kinds)
    froude = said[0]
    # q = Fr sqrt(g d) pi d^2/4 at d 26.64 mm: 0.20 gives 3.42 L/min, 0.45 gives 7.69 L/min
    assert (froude.nominal, froude.band) == ("0.3", "0.2 to 0.45")
    assert froude.ends == "starts above 3.42 L/min or 7.69 L/min"
    assert all(each.provenance for each in said)


def test_a_design_without_return_pipe_says_so_and_one_with_it_does_not(design, draining):
    missed = "This design has no return pipe: how the beds drain back is left to you."
    assert missed in words.cautions(design)
    assert missed not in words.cautions(draining)


def test_the_burst_rule_is_said_as_the_site_chose_it(draining):
    assert "as if every siphon above it fired at the same moment" in sizing_sentence(draining)
    assert (bursts_rule(draining, 6), bursts_rule(draining, 1)) == ("all 6 beds", "its one bed")
    hunter = replace(draining, promise=replace(draining.promise, bursts="binomial"))
    assert "Hunter" in sizing_sentence(hunter) and "99 %" in sizing_sentence(hunter)
    assert bursts_rule(hunter, 6) == "Hunter, of 6 beds"


def test_the_vent_rule_names_the_least_clear_air_in_the_design(draining):
    # outlets at 0.62 - 0.15 = 0.47 m; the furthest invert 0.2 + 0.02 x (4 + 3.2) = 0.344 m
    assert least_gap_m(draining) == pytest.approx(0.47 - 0.344 - 0.09, rel=FORMULA)
    assert "36 mm or more" in vent_sentence(draining)


def test_neighbours_with_nearly_one_opening_share_a_line(design, check):
    beds = tables.beds_frame(make_design_of(1, 6), make_check(make_design_of(1, 6)))
    beds["valve_opening"] = [0.34, 0.36, 0.38, 0.50, 0.51, 0.30]
    # 0.38 to 0.50 and 0.51 to 0.30 are steps of more than 0.10
    ranges = [(g["bed"].iloc[0], g["bed"].iloc[-1]) for g in valve_groups(beds)]
    assert ranges == [("bed_1_1", "bed_1_3"), ("bed_1_4", "bed_1_5"), ("bed_1_6", "bed_1_6")]


def test_beds_of_two_rows_or_kinds_never_share_a_line(design, check):
    groups = valve_groups(tables.beds_frame(design, check))
    assert [set(group["row"]) for group in groups] == [{"1"}, {"2"}]
    assert sum(len(group) for group in groups) == len(design.beds)


def test_the_files_are_named_page_first_and_in_one_line_a_sort():
    names = ["design.json", "page.html", "beds.csv", "pipes.csv", *(f"{n}.svg" for n in range(9))]
    lines = files_text([Path("out") / name for name in names]).splitlines()
    assert [line.split(":")[0].strip() for line in lines] == [
        "Files in out",
        "page.html",
        "design.json",
        "tables",
        "pictures",
    ]
    assert lines[-2].endswith("beds.csv, pipes.csv") and "and 8 more" in lines[-1]
