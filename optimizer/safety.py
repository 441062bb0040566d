"""What more safety costs: one site designed for nominal, most and whole robustness."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from dataclasses import replace

from optimizer.alternatives import design_layouts
from optimizer.errors import Infeasible, SolverFailed
from optimizer.job import Job
from optimizer.physics.window import ROBUSTNESS
from optimizer.records.safety import NoSafeDesign, SafeDesign, SafetyStep
from optimizer.search_settings import SearchSettings, Watcher

LEVELS = ROBUSTNESS
"""Levels of safety, least safe first."""


def cost_of_safety(
    job: Job,
    *,
    levels: Sequence[str] = LEVELS,
    gap: float = 1e-4,
    time_limit_s: float | None = None,
    seed: int = 0,
    progress: Watcher | None = None,
    stop: threading.Event | None = None,
) -> Iterator[SafetyStep]:
    """Design a site once for each level of safety, all else the same.

    Each step is yielded once it is done, so that what is finished is kept when a later one is
    stopped. The bands of a safer level hold those of a less safe one, so that its least cost is no
    lower as long as bands lie about their nominal values as the shipped ones do and pumps draw more
    at more flow; costs are known to ``gap``.

    Args:
        job: site and catalog; the site's own robustness is not read.
        levels: which levels, in which order.
        gap: relative gap between cost and bound at which to stop each search.
        time_limit_s: time after which each search returns the best design so far.
        seed: the solver's random seed.
        progress: called now and then with how the running search stands.
        stop: set from outside to stop: the running search ends with its best design so far, if it
            has one, and no other begins.

    Raises:
        BadInput: if a bed cannot be reached by pipe.
    """
    stop = stop or threading.Event()
    search = SearchSettings(gap, time_limit_s, seed, progress=progress, stop=stop)
    for level in levels:
        if stop.is_set():
            return
        site = replace(job.site, goals=replace(job.site.goals, robustness=level))
        try:
            answer = design_layouts(Job(site, job.catalog), search)
        except Infeasible as refusal:
            yield NoSafeDesign(level, refusal.clash, refusal.remedies)
        except SolverFailed as late:
            if not stop.is_set():
                yield NoSafeDesign(level, str(late))
        else:
            yield SafeDesign(level, answer.design, answer.check)
