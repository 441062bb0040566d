"""From a system that stands to its diagnosis and the changes that mend it."""

from __future__ import annotations

import threading
from collections.abc import Callable

from optimizer.mend.as_built import AsBuilt
from optimizer.mend.diagnose import state_of
from optimizer.mend.proposals import Mending
from optimizer.mend.readings import openings_of
from optimizer.records.mending import Diagnosis


def diagnose(
    built: AsBuilt,
    tell: Callable[[str], None] = lambda _: None,
    stop: threading.Event | None = None,
) -> Diagnosis:
    """Return how a system runs, what does not work and why, and how to mend it.

    Args:
        built: the system.
        tell: called with what is being tried.
        stop: set from outside to end with what is found.

    Raises:
        NotSolved: if no operating point was found.
    """
    openings, doubts = openings_of(built)
    state = state_of(built, openings)
    if state.works:
        return Diagnosis(state, (), doubts)
    mending = Mending(built, openings, tell, stop or threading.Event())
    return Diagnosis(state, mending.proposals(), doubts, mending.why_none)
