"""Engines: every task comes back once, whatever happens to the workers."""

import multiprocessing
import os
import signal
import threading

import pytest

from optimizer.explore.engine import LOST, Processes, Serial
from tests.explore.work import add, die_on_seven, die_once, sleep_long

TASKS = list(range(12))


def values(engine, work, shared, tasks=TASKS):
    done = list(engine.run(work, shared, tasks))
    assert sorted(each.index for each in done) == list(range(len(tasks)))
    return {tasks[each.index]: each.value for each in done}


def test_a_pool_gives_what_one_process_gives():
    assert values(Processes(2), add, 100) == values(Serial(), add, 100)


def test_serial_keeps_the_order_of_tasks():
    assert [each.index for each in Serial().run(add, 0, TASKS)] == TASKS


def test_a_task_that_kills_its_worker_is_lost_alone():
    # Twelve tasks; the worker that meets 7 is killed each time, all others come back.
    done = list(Processes(2).run(die_on_seven, 0, TASKS))
    lost = [each for each in done if each.lost]
    assert [(each.index, each.lost) for each in lost] == [(7, LOST)]
    assert sorted(each.value for each in done if not each.lost) == [t for t in TASKS if t != 7]


def test_a_worker_killed_from_outside_loses_nothing(tmp_path):
    # Task 3 dies the first time only, as a worker does that runs out of memory.
    assert values(Processes(2), die_once, str(tmp_path)) == {task: task for task in TASKS}


def test_no_task_gives_nothing():
    assert list(Processes(1).run(add, 0, [])) == []


def test_a_pool_without_workers_is_refused():
    with pytest.raises(ValueError, match="a worker or more"):
        Processes(0)


def test_ctrl_c_leaves_no_process_behind():
    # Workers sleep a minute; the signal comes while the parent waits for them.
    press = threading.Timer(1.0, os.kill, (os.getpid(), signal.SIGINT))
    press.start()
    with pytest.raises(KeyboardInterrupt):
        list(Processes(2).run(sleep_long, None, [1, 2, 3]))
    assert multiprocessing.active_children() == []
