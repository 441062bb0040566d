"""Sweeps: the same on every engine, nothing designed twice, nothing lost to Ctrl-C."""

from __future__ import annotations

import pytest
from distributed import LocalCluster

from optimizer.errors import Infeasible, SolverFailed
from optimizer.explore.dask_engine import Dask
from optimizer.explore.engine import Serial
from optimizer.explore.point import FAILED, Point, Search, design_point, key_of, key_of_job
from optimizer.explore.processes import Processes, Thrifty
from optimizer.explore.store import Store
from optimizer.explore.sweep import Study, run_sweep
from tests.explore.small import EXACT_SEARCH, tiny_job, tiny_study

POINTS = [Point({"energy_price": price}) for price in (0.1, 0.2, 0.3)] + [Point({"floods": 30.0})]


def swept(engine):
    with Store(None) as store:
        sweep = run_sweep(tiny_job(1), POINTS, engine, store, EXACT_SEARCH)
        designs = [store.design(key) for key in sweep.keys]
    engine.close()
    return sweep.rows, designs


def test_answers_and_designs_are_the_same_serial_in_processes_and_on_dask():
    serial = swept(Serial())
    assert len(serial[0]) == len(POINTS)
    assert swept(Processes(2)) == serial
    assert swept(Thrifty(2, start_s=0.0)) == serial
    with LocalCluster(
        n_workers=1, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        assert swept(Dask(cluster.scheduler_address)) == serial


def test_a_second_run_designs_nothing_again(tmp_path):
    job = tiny_job(1)
    with Store(tmp_path / "points.sqlite") as store:
        first = run_sweep(job, POINTS[:2], Serial(), store, EXACT_SEARCH)
    with Store(tmp_path / "points.sqlite") as store:
        told = []
        again = run_sweep(job, POINTS, Serial(), store, EXACT_SEARCH, told.append)
        (runs,) = store.base.execute("select count(*) from run_log").fetchone()
    assert again.rows[:2] == first.rows
    assert runs == len(POINTS)
    assert [(each.done, each.points) for each in told] == [(3, 4), (4, 4)]


def test_equal_points_are_designed_once():
    with Store(None) as store:
        sweep = run_sweep(tiny_job(1), [POINTS[0]] * 3, Serial(), store, EXACT_SEARCH)
        (runs,) = store.base.execute("select count(*) from run_log").fetchone()
    assert (len(sweep.rows), runs) == (3, 1)


def test_ctrl_c_keeps_every_finished_point_and_says_that_some_are_missing():
    def press(told):
        if told.done == 2:
            raise KeyboardInterrupt

    with Store(None) as store:
        sweep = run_sweep(tiny_job(1), POINTS, Serial(), store, EXACT_SEARCH, press)
        kept = store.answers(sweep.keys)
    assert not sweep.complete
    assert len(sweep.rows) == len(kept) == 2


def test_a_study_that_is_stopped_hands_over_no_half_table():
    def press(_):
        raise KeyboardInterrupt

    study = Study(tiny_job(1), search=EXACT_SEARCH, progress=press)
    with pytest.raises(KeyboardInterrupt):
        study.rows([{"energy_price": 0.1}, {"energy_price": 0.2}])
    assert len(study.store.answers([key_of(key_of_job(study.job), EXACT_SEARCH, POINTS[0])])) == 1


def test_a_base_without_a_design_says_what_stands_in_the_way():
    with pytest.raises(Infeasible):
        _ = tiny_study(5).base


def test_time_left_falls_to_nothing_with_the_last_point():
    told = []
    with Store(None) as store:
        run_sweep(tiny_job(1), POINTS, Serial(), store, EXACT_SEARCH, told.append)
    assert told[-1].left_s == 0.0
    assert all(each.left_s > 0.0 for each in told[:-1])


def test_a_point_that_stops_before_a_first_design_is_told_as_failed(monkeypatch):
    def stops(*_, **__):
        raise SolverFailed("The time limit passed before a first design was found.")

    monkeypatch.setattr("optimizer.explore.point.find_design", stops)
    answer, design = design_point((tiny_job(1), EXACT_SEARCH), Point({}))
    assert (answer["outcome"], design) == (FAILED, None)
    assert "time limit" in answer["reason"]


def test_a_key_changes_with_the_job_the_search_and_the_changes_alone():
    job, other = key_of_job(tiny_job(1)), key_of_job(tiny_job(0))
    keys = {
        key_of(job, EXACT_SEARCH, POINTS[0]),
        key_of(other, EXACT_SEARCH, POINTS[0]),
        key_of(job, Search(gap=0.01), POINTS[0]),
        key_of(job, EXACT_SEARCH, POINTS[1]),
    }
    assert len(keys) == 4
    assert key_of(key_of_job(tiny_job(1)), EXACT_SEARCH, POINTS[0]) in keys


def test_a_checked_point_says_whether_its_check_passes():
    study = Study(tiny_job(0), search=Search(gap=0.0, check=True))
    assert study.base["check"] == "passes"
    assert tiny_study(0).base["check"] == "not run"
