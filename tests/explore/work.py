"""Work that a worker process can import: harmless, slow or deadly."""

from __future__ import annotations

import os
import signal
import threading
import time
from multiprocessing.connection import Connection
from pathlib import Path

from optimizer.milp.engine import ctrl_c_sets


def add(shared, task):
    return shared + task


def die_on_seven(shared, task):
    if task == 7:
        os.kill(os.getpid(), signal.SIGKILL)
    return shared + task


def die_once(shared, task):
    """Die the first time task 3 is met; a file in the shared folder remembers it."""
    mark = Path(shared) / "died"
    if task == 3 and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return task


def die_halfway(shared, task):
    """Die of task 3 with half of its answer sent, as a worker does that is ended from outside."""
    if task == 3:
        Connection._send = _send_half_and_die
    return shared + task


def _send_half_and_die(pipe, message):
    os.write(pipe.fileno(), message[: len(message) // 2])
    os.kill(os.getpid(), signal.SIGKILL)


class Picky(Exception):
    """A fault that cannot be read again where it was sent to."""

    def __init__(self, first, second):
        super().__init__(f"{first} {second}")


def fail(shared, task):
    raise shared(task)


def fail_pickily(shared, task):
    raise Picky(shared, task)


def return_a_lock(shared, task):
    return threading.Lock()


def sleep_long(shared, task):
    time.sleep(60.0)
    return task


def sleep_on_seven(shared, task):
    """Take a second over task 7."""
    time.sleep(1.0 if task == 7 else 0.0)
    return shared + task


def stop_on_seven(shared, task):
    """Stand still at task 7, as a process does after Ctrl-Z."""
    if task == 7:
        os.kill(os.getpid(), signal.SIGSTOP)
    return shared + task


def press_ctrl_c(shared, task):
    """Press Ctrl-C while the work listens for it, and return whether it was heard."""
    stop = threading.Event()
    with ctrl_c_sets(stop):
        os.kill(os.getpid(), signal.SIGINT)
        time.sleep(0.1)
    return stop.is_set()


def holds_ctrl_c_back(shared, task):
    """Return whether Ctrl-C is held back from this process."""
    return signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, [])
