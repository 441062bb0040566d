"""Work that a worker process can import: harmless, slow or deadly."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path


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


def sleep_long(shared, task):
    time.sleep(60.0)
    return task
