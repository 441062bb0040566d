"""Engines: every task comes back once, whatever happens to the workers."""

import multiprocessing
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from optimizer.explore import worker
from optimizer.explore.engine import Serial
from optimizer.explore.processes import LOST, Processes
from tests.explore.work import (
    add,
    die_halfway,
    die_on_seven,
    die_once,
    fail,
    fail_pickily,
    holds_ctrl_c_back,
    press_ctrl_c,
    return_a_lock,
    sleep_long,
    sleep_on_seven,
    stop_on_seven,
)

ROOT = Path(__file__).resolve().parents[2]
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


def test_a_worker_killed_halfway_through_an_answer_is_not_waited_for():
    # Half a message stands in the pipe. Where anyone else held the worker's end of it, its reader
    # would wait for the rest for ever.
    done = list(Processes(2).run(die_halfway, 100, TASKS))
    assert {each.index: each.value for each in done if not each.lost} == {
        task: 100 + task for task in TASKS if task != 3
    }
    assert [(each.index, each.lost) for each in done if each.lost] == [(3, LOST)]


def test_workers_killed_between_two_runs_lose_nothing():
    engine = Processes(2)
    assert values(engine, add, 100) == values(Serial(), add, 100)
    for each in engine._team:
        os.kill(each._process.pid, signal.SIGKILL)
    assert values(engine, add, 100) == values(Serial(), add, 100)
    engine.close()


def test_a_worker_that_died_with_nothing_to_do_is_not_blamed_on_the_next_task():
    # Two workers are dead before the only task comes: given to one and then to the other it would
    # be told as lost, and no worker ever began it.
    engine = Processes(2)
    assert values(engine, add, 100) == values(Serial(), add, 100)
    for each in engine._team:
        os.kill(each._process.pid, signal.SIGKILL)
        each._process.join()
    assert values(engine, add, 100, [1]) == {1: 101}
    engine.close()


def test_a_run_given_up_halfway_leaves_no_answer_to_the_next_one():
    # The second worker is still at task 7 of the first run when the second run begins; its answer,
    # 107, would be taken for that of another task.
    engine = Processes(2)
    first = engine.run(sleep_on_seven, 100, [1, 7])
    assert next(first).value == 101
    assert values(engine, sleep_on_seven, 100, [2, 3, 4]) == {2: 102, 3: 103, 4: 104}
    engine.close()


def test_a_stopped_worker_is_ended_and_not_waited_for():
    # It cannot act on a request to end; only the system can end it.
    engine = Processes(2)
    running = engine.run(stop_on_seven, 100, [7, 1])
    assert next(running).value == 101
    running.close()
    assert multiprocessing.active_children() == []


def test_closing_ends_a_worker_at_its_task_and_writes_nothing(capfd):
    engine = Processes(2)
    running = engine.run(sleep_on_seven, 100, [1, 7])
    assert next(running).value == 101
    engine.close()
    assert multiprocessing.active_children() == []
    assert capfd.readouterr() == ("", "")


def test_ctrl_c_is_left_to_the_parent_also_where_the_work_listens_for_it():
    # A design listens for Ctrl-C while it is sought. In a worker it must not: the key reaches every
    # process of the terminal, and what a worker then made of it would be told on the terminal.
    assert values(Processes(1), press_ctrl_c, None, [1]) == {1: False}


def test_ctrl_c_never_reaches_a_worker_nor_what_it_is_started_from():
    # Both inherit what is held back; here it is held back no longer than it takes to start them.
    assert values(Processes(1), holds_ctrl_c_back, None, [1]) == {1: True}
    assert not holds_ctrl_c_back(None, 1)


@pytest.mark.parametrize(
    ("work", "shared", "fault", "said"),
    [
        (fail, KeyError, KeyError, "5"),
        (fail_pickily, "no", RuntimeError, "Picky: no 5"),
        (return_a_lock, 0, TypeError, "lock"),
    ],
)
def test_what_the_work_raises_is_raised_here_and_ends_the_workers(work, shared, fault, said):
    with pytest.raises(fault, match=said):
        list(Processes(1).run(work, shared, [5]))
    assert multiprocessing.active_children() == []


def test_a_fault_says_where_in_the_worker_it_came_from():
    with pytest.raises(KeyError) as caught:
        list(Processes(1).run(fail, KeyError, [5]))
    assert any("work.py" in note for note in caught.value.__notes__)


def test_where_no_bare_process_can_be_kept_each_worker_begins_from_nothing(monkeypatch):
    monkeypatch.setattr(worker.multiprocessing, "get_all_start_methods", lambda: ["spawn"])
    assert worker._context(b"").get_start_method() == "spawn"


def test_workers_are_kept_from_one_run_to_the_next_with_the_same_work():
    engine = Processes(1)
    assert values(engine, add, 1, [1]) == {1: 2}
    team = list(engine._team)
    assert values(engine, add, 1, [1]) == {1: 2}
    assert engine._team == team
    # The twin: other work has other workers.
    assert values(engine, add, 2, [1]) == {1: 3}
    assert engine._team != team
    engine.close()


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


PRESSED_AT_ONCE = """
import os, signal, threading
from optimizer.explore.processes import Processes
from tests.explore.slow_to_load import load_and_sleep

threading.Timer(0.7, os.killpg, (0, signal.SIGINT)).start()
try:
    list(Processes(2).run(load_and_sleep, bytes(1_000_000), [1, 2]))
except KeyboardInterrupt:
    print("stopped")
"""


def test_ctrl_c_while_workers_are_still_loading_writes_nothing_on_the_terminal():
    # As from a keyboard, every process of the terminal gets it, also those that are being started.
    command = [sys.executable, "-c", PRESSED_AT_ONCE]
    told = subprocess.run(
        command,
        cwd=ROOT,
        start_new_session=True,
        capture_output=True,
        text=True,
        check=False,
        timeout=120.0,
    )
    assert (told.stdout, told.stderr) == ("stopped\n", "")
