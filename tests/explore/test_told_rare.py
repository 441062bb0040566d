"""Studies told that went badly or were too much for one page or one table."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd
import pytest

from optimizer.explore import told_page
from optimizer.explore.fronts import floods_front
from optimizer.explore.results import Result, checked, table_of, write_result
from optimizer.explore.told import _draw_sentences
from optimizer.explore.told_front import PUMPS_SHOWN, told_prices, told_pumps
from optimizer.explore.told_page import changes_name, front_page, variants_page
from optimizer.simulate.check import check_design
from optimizer.simulate.steady_state import NotSolved
from tests.builders.make_design import make_design
from tests.explore.fake_study import designed, failed
from tests.explore.small import tiny_study


def test_more_pumps_than_are_shown_are_said_to_be_in_the_table():
    study = tiny_study(1)
    more = {"allowed": True, "gap_to_best": 0.0, "duty_flow_m3_s": 1e-3, "duty_head_m": 2.0}
    more |= {"share_of_curve": 0.5, "count": 1, "pump": "p", "label": "a pump"}
    rows = [{**study.base, **more} for _ in range(PUMPS_SHOWN + 1)]
    words = f"The {PUMPS_SHOWN} cheapest; the rest are in the table pumps."
    told, all_shown = told_pumps(study, rows), told_pumps(study, rows[1:])
    assert words in told.sentences and words not in all_shown.sentences
    assert len(told.shown) == PUMPS_SHOWN
    assert len(told.tables["pumps"]) == PUMPS_SHOWN + 1


def test_where_no_price_has_a_design_there_is_no_chart_and_no_page_but_a_sentence():
    told = told_prices(tiny_study(5), "energy_price", [], [])
    assert told.sentences == ["No design exists at any price."]
    assert told.charts == {}
    assert told.pages == {"prices_energy_price": None}


def test_draws_without_a_design_or_with_a_base_that_always_breaks_tell_no_cost_of_keeping():
    rows = [failed() | {"broken": "floods", "regret": None} for _ in range(3)]
    told = " ".join(_draw_sentences(rows, "EUR"))
    assert told.startswith("0 of 3 draws have a design.")
    assert "in 3 of 3 draws" in told
    assert "least cost" not in told and "keeping it" not in told
    # The twin: one draw that holds, at a regret of 4.
    kept = designed(10.0, broken="", regret=4.0)
    assert "keeping it costs 4.00 EUR more" in " ".join(_draw_sentences([*rows, kept], "EUR"))


def test_designs_that_fail_their_check_are_counted():
    rows = [designed(1.0, check="fails"), designed(2.0, check="passes"), failed()]
    assert checked(rows) == "1 designs fail their check."
    assert checked(rows[1:]) == "Every design passes its check."


def test_a_table_begins_with_its_changes_also_where_its_first_row_has_no_design():
    # Every row of a sensitivity has a change of its own.
    refused = {"key": "a", "floods": 9.0, **failed(), "ways_out": "fewer floods"}
    found = {"key": "b", "energy_price": 0.3, **designed(10.0, bed_count=4)}
    for rows in ([refused, found], [found, refused]):
        columns = list(table_of(rows))
        assert set(columns[:2]) == {"floods", "energy_price"}
        assert columns[2:4] == ["design", "outcome"]


def test_a_chart_or_page_that_there_is_nothing_for_is_no_file(tmp_path):
    table = pd.DataFrame({"a": [1]})
    result = Result(["No."], table, {"t": table}, {"c": None}, (), {"p": None})
    assert [path.name for path in write_result(result, None, tmp_path)] == ["t.csv"]
    assert [path.name for path in tmp_path.iterdir()] == ["t.csv"]


def test_a_change_that_is_a_word_is_told_as_that_word():
    words = "siphon coefficients it must work for "
    assert changes_name({"robustness": "whole"}) == (words, "whole")


def test_points_left_out_of_a_page_take_the_bounds_between_their_neighbours_along(monkeypatch):
    # Bounds hold up to the next goal asked for; with every second point gone they would mislead.
    study = tiny_study(1)
    front = floods_front(study, [0.6, 1.4, 2.2])
    whole = front_page(study, front, ())
    assert whole.left_out == 0 and any(point.between for point in whole.points)
    monkeypatch.setattr(told_page, "POINTS_MOST", 2)
    thinned = front_page(study, front, ())
    assert thinned.left_out == 1
    assert [point.between for point in thinned.points] == [None, None]


def test_a_stored_design_that_fails_its_check_says_how_many_promises_fail():
    sound = make_design()
    low = replace(sound, sump=replace(sound.sump, depth_m=sound.sump.power_cut_m - 0.01))
    both = {"sound": sound, "low": low}
    checks = {name: check_design(design) for name, design in both.items()}
    first, second = variants_page(both, checks, ()).points
    assert "promises hold in simulation" in first.says
    failures, findings = checks["low"].failures, checks["low"].findings
    assert f"{len(failures)} of {len(findings)} promises FAIL" in second.says


def test_a_point_whose_flows_cannot_be_simulated_says_so_and_is_not_drawn(monkeypatch):
    def unsolved(_):
        raise NotSolved("not found in 50 steps")

    study = tiny_study(1)
    front = floods_front(study, [0.6])
    monkeypatch.setattr(told_page, "check_design", unsolved)
    (point,) = [told_page._point(study, row, ("a goal",)) for row in front.rows]
    assert point.design is None
    assert point.says == "its flows could not be simulated: not found in 50 steps"
    assert front_page(study, front, ()) is None


@pytest.mark.parametrize("known", [True, False])
def test_a_named_point_is_called_by_what_was_asked_or_by_its_number(known):
    study = tiny_study(1)
    rows = study.rows([{"robustness": "nominal"}])
    rows = [row | {"broken": "", "regret": None} for row in rows]
    page = told_page.changes_page(study, rows, "changes", (), named=known)
    name = page.points[1].name
    assert name == (changes_name(rows[0]) if known else ("draw 1",))
