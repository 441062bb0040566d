"""Work that takes a second to load, as a design does, and a minute to do."""

from __future__ import annotations

import time

from tests.explore.work import sleep_long

time.sleep(1.0)


def load_and_sleep(shared, task):
    return sleep_long(shared, task)
