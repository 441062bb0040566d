"""From a system that stands to its diagnosis and the changes that mend it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput, Problem
from optimizer.mend.as_built import AsBuilt, as_built
from optimizer.mend.described import described
from optimizer.mend.diagnose import state_of
from optimizer.mend.from_design import stands_of
from optimizer.mend.proposals import MOST, Doing, Mending
from optimizer.mend.readings import openings_of
from optimizer.pipeline import job_of
from optimizer.reading.site import read_site
from optimizer.records.design_io import read_design
from optimizer.records.header_ring import refused
from optimizer.records.mending import Diagnosis


def read_standing(path: str | Path, design: str | Path | None = None) -> AsBuilt:
    """Read a system that stands: from a site file, or a stored design built as it says.

    Args:
        path: the site file.
        design: a design of that site, taken to stand as designed; what the site file says of
            what stands is then not read.

    Raises:
        BadInput: once, with every fault, and a question for everything that is missing.
    """
    file = read_site(path)
    job = job_of(file)
    stored = None if design is None else read_design(design)
    ring = job.site.header_ring or (stored and stored.ring)
    zones = job.site.zones if stored is None else stored.zones
    if problems := [*refused(ring, "mending what stands"), *_zones_refused(zones is not None)]:
        raise BadInput(problems)
    network = candidate_network(job.site)
    if stored is None:
        stands = described(file.described, job.site, job.catalog, network, file.lines)
    else:
        stands = stands_of(stored, network)
    return as_built(job.site, job.catalog, network, stands)


def _zones_refused(zoned: bool) -> list[Problem]:
    """Return why a system in zones is not diagnosed; empty for one without."""
    if not zoned:
        return []
    what = "mending what stands gives every bed water at all times; in zones it has it in turn."
    fix = "Take out [zones] only if no timed valve stands: a system in zones cannot be mended here."
    return [Problem("zones", what, fix)]


def diagnose(
    built: AsBuilt,
    tell: Callable[[Doing], None] = lambda _: None,
    stop: threading.Event | None = None,
    most: int = MOST,
) -> Diagnosis:
    """Return how a system runs, what does not work and why, and how to mend it.

    Args:
        built: the system.
        tell: called with what is being looked for.
        stop: set from outside to end with what is found.
        most: ways to mend it to look for.

    Raises:
        NotSolved: if no operating point was found.
    """
    openings, doubts = openings_of(built)
    state = state_of(built, openings)
    if state.works:
        return Diagnosis(state, (), doubts)
    mending = Mending(built, openings, state.faults, tell, stop or threading.Event(), most)
    return Diagnosis(state, mending.proposals(), doubts, mending.why_none)
