"""Answers out of the ordinary: costs that fall, failed searches, parts that stand, lost points."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from optimizer.errors import SolverFailed
from optimizer.explore import point as points
from optimizer.explore.changes import changed
from optimizer.explore.cost_line import Line
from optimizer.explore.engine import Done, Serial
from optimizer.explore.fronts import _gaps, floods_front
from optimizer.explore.point import DESIGNED, REFUSED, Point
from optimizer.explore.price_lines import cheapest_pieces
from optimizer.explore.processes import LOST
from optimizer.explore.pump_study import window_margin
from optimizer.explore.store import Store
from optimizer.explore.sweep import Study, run_sweep
from optimizer.physics.band import Band
from tests.builders.make_design import make_design
from tests.explore.fake_study import FakeStudy, designed, failed
from tests.explore.small import EXACT_SEARCH, tiny_job
from tests.tolerances import FORMULA

# fronts


def test_where_the_least_cost_falls_as_the_goal_rises_no_bounds_are_told_between_goals():
    # 2 floods an hour are proven to cost 100 or more; 3 cost 90.
    costs = {1.0: 80.0, 2.0: 100.0, 3.0: 90.0}
    front = floods_front(FakeStudy(lambda point: designed(costs[point["floods"]])), list(costs))
    assert "falls somewhere" in front.note
    assert {row["least_until_next"] for row in front.rows} == {None}
    # The twin: with costs that rise, they are.
    rising = FakeStudy(lambda point: designed(10.0 * point["floods"]))
    front = floods_front(rising, list(costs))
    assert [row["least_until_next"] for row in front.rows[:-1]] == [10.0, 20.0]


def test_only_steps_between_designs_are_open_on_a_front_of_areas():
    # A ladder of areas 0 to 9 m2. From step 0 a design of 1 m2 leaves 2 to 4 open; a search that
    # failed at 5 settles nothing; past a refusal nothing can be had.
    ladder = [float(area) for area in range(10)]
    rows = {
        0: designed(10.0, growing_area_m2=1.0),
        5: failed(),
        7: {"outcome": REFUSED, "reason": "too large"},
        9: {"outcome": REFUSED, "reason": "too large"},
    }
    assert _gaps(rows, ladder) == [(2, 4)]
    assert _gaps({0: rows[0], 9: designed(10.0, growing_area_m2=9.0)}, ladder) == []


# prices

LINES = {"X": Line(100.0, 10.0), "Y": Line(120.0, 5.0), "Z": Line(125.0, 1.0)}


def priced(monkeypatch, at_four):
    """Pieces from price 0 to 10 with X best at 0, Y best at 10 and something told at 4."""
    monkeypatch.setattr(
        "optimizer.explore.price_lines.line_of", lambda _: lambda row, _: LINES[row["pump"]]
    )
    monkeypatch.setattr("optimizer.explore.price_lines.changed", lambda job, _: job)
    best = {0.0: "X", 4.0: at_four, 10.0: "Y"}

    def answer(point):
        pump = best.get(point["energy_price"], at_four)
        if pump is None:
            return failed()
        return designed(LINES[pump].at(point["energy_price"]), pump=pump)

    return cheapest_pieces(FakeStudy(answer), "energy_price", 0.0, 10.0)


def test_a_crossing_whose_search_fails_leaves_open_what_may_be_cheaper_there(monkeypatch):
    # X: 100 + 10 p and Y: 120 + 5 p cross at p = 4.
    pieces = priced(monkeypatch, None)
    assert [(piece.row["pump"], piece.low, piece.high) for piece in pieces] == [
        ("X", 0.0, 4.0),
        ("Y", 4.0, 10.0),
    ]
    assert max(piece.open for piece in pieces) == math.inf


def test_a_third_design_that_undercuts_a_crossing_has_a_piece_of_its_own(monkeypatch):
    # Z: 125 + p costs 129 at p = 4, where X and Y cost 140. X = Z at 25 / 9. Z stays below Y.
    pieces = priced(monkeypatch, "Z")
    assert [piece.row["pump"] for piece in pieces][:2] == ["X", "Z"]
    assert pieces[0].high == pytest.approx(25.0 / 9.0, rel=FORMULA)


# changes

MEASURED = Band(0.5, 0.4, 0.6, "measured (invented)")


@pytest.mark.parametrize("name", ["porosity", "start_froude"])
def test_a_coefficient_that_the_grower_measured_is_scaled_and_the_catalog_s_is_not(name):
    job = tiny_job(1)
    own = replace(job.site.coefficients, **{name: MEASURED})
    job = replace(job, site=replace(job.site, coefficients=own))
    other = changed(job, {name: 1.5})
    band = getattr(other.site.coefficients, name)
    assert band.nominal == pytest.approx(1.5 * MEASURED.nominal, rel=FORMULA)
    assert other.catalog == job.catalog


@pytest.mark.parametrize("part", ["pump", "sump"])
def test_a_part_that_stands_is_kept_where_it_is_the_one_allowed_and_only_there(part):
    job = tiny_job(1)
    table = getattr(job.catalog, f"{part}s")
    listed = getattr(job.site.purchase, f"{part}s") or tuple(table)
    mine = listed[0]
    other = next(name for name in table if name != mine)
    standing = replace(job.site.standing, **{part: mine, f"{part}_count": 1})
    job = replace(job, site=replace(job.site, standing=standing))
    kept, gone = (changed(job, {part: name}).site.standing for name in (mine, other))
    assert (getattr(kept, part), getattr(kept, f"{part}_count")) == (mine, 1)
    assert (getattr(gone, part), getattr(gone, f"{part}_count")) == (None, 0)


def test_a_kind_of_bed_that_is_not_built_does_not_narrow_the_window_margin():
    design = make_design()
    broad, slim = design.kinds
    tight = replace(slim, id="spare", inflow_m3_s=slim.windows["most"].high_m3_s)
    assert window_margin(replace(design, kinds=(broad, slim, tight))) == window_margin(design)


# points and engines


class Loses:
    """An engine whose every task is lost."""

    def run(self, work, shared, tasks):
        yield from (Done(index, None, 0.0, LOST) for index, _ in enumerate(tasks))

    def close(self):
        pass


def test_a_lost_point_is_told_and_designed_again_by_the_next_run():
    job, asked = tiny_job(1), [Point({"energy_price": 0.1})]
    with Store(None) as store:
        lost = run_sweep(job, asked, Loses(), store, EXACT_SEARCH)
        assert [(row["outcome"], row["reason"]) for row in lost.rows] == [("lost", LOST)]
        again = run_sweep(job, asked, Serial(), store, EXACT_SEARCH)
    assert again.rows[0]["outcome"] == DESIGNED


def test_a_base_that_was_not_found_says_why():
    study = Study(tiny_job(1), engine=Loses(), search=EXACT_SEARCH)
    with pytest.raises(SolverFailed, match=LOST):
        _ = study.base


def test_a_design_found_on_the_way_out_of_a_stopped_search_is_no_finished_point(monkeypatch):
    def stopping(job, search, stop):
        stop.set()
        return {"outcome": DESIGNED}, "{}"

    monkeypatch.setattr(points, "_answer", stopping)
    with pytest.raises(KeyboardInterrupt):
        points.design_point((tiny_job(1), EXACT_SEARCH), Point({}))


def test_a_store_in_a_folder_that_is_not_there_is_an_error_of_the_disk(tmp_path):
    with pytest.raises(OSError, match="unable to open"):
        Store(tmp_path / "none" / "points.sqlite")
