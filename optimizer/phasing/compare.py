"""Build a site in the phases its file names: which parts to buy ahead, and what each step costs."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace

from optimizer.alternatives import design_layouts
from optimizer.candidates.built_layout import built_layout
from optimizer.candidates.layouts import is_one_layout, layouts_of
from optimizer.errors import Infeasible, SolverFailed
from optimizer.extension import standing_job
from optimizer.job import Job
from optimizer.milp.engine import ctrl_c_sets
from optimizer.phasing.bound import least_worth_cents
from optimizer.phasing.search import How, Planner, Tell, distinct, ways_ahead
from optimizer.phasing.steps import Step, steps_of, without_limits
from optimizer.reach import room_on_pump
from optimizer.records.design import Design
from optimizer.records.extension import Room
from optimizer.records.phasing import PhasePlan, Phasing, RefusedPlan
from optimizer.search_settings import SearchSettings
from optimizer.simulate.whole_check import check_whole


def plan_phases(
    job: Job,
    old: Design | None = None,
    *,
    gap: float = 1e-4,
    time_limit_s: float | None = None,
    seed: int = 0,
    room: bool = True,
    tell: Tell = lambda _: None,
    stop: threading.Event | None = None,
    source: str = "old design",
) -> Phasing:
    """Return every way to build a site in its phases, designed step by step, cheapest first.

    Ways differ in the step from which on sump, pump and header are as the whole site will have
    them. Each step is designed on what stands by then and proven least; the steps of the cheapest
    way are checked by simulation.

    Args:
        job: the site with its phases, and the catalog.
        old: what stands before the first phase; None where nothing does, or only what the site's
            ``[standing]`` names.
        gap: relative gap of every search.
        time_limit_s: time after which each search returns its best so far.
        seed: the solver's random seed.
        room: whether to search how many beds fit on the pump of each step, too.
        tell: is told what is being worked out.
        stop: set from outside, or by the first Ctrl-C, to stop with the best plan so far.
        source: what to call the old design in messages, such as its file's name.

    Raises:
        BadInput: if the site names no phases, or what stands has no place on it.
        Infeasible: if the plan that looks ahead in nothing has no design.
        SolverFailed: if the search is stopped before a first plan.
    """
    search = SearchSettings(gap, time_limit_s, seed, stop=stop or threading.Event())
    how = How(search, tell)
    with ctrl_c_sets(search.stop):
        return _planned(job, old, how, source, room=room)


def _planned(job: Job, old: Design | None, how: How, source: str, *, room: bool) -> Phasing:
    laid_out, layout = _one_layout(job, old, how, source)
    steps = steps_of(laid_out)
    how.tell("the whole site as it will be")
    last = without_limits(steps[-1].job)
    with _said_of("the whole site"):
        whole = how.design(last if old is None else standing_job(last, old))
    found = _Compared(steps, whole, old, how)
    best, checks = found.plans[0], []
    for step in best.steps:
        how.tell(f"checking {step.name}")
        checks.append(check_whole(step.design))
    rooms = [_room(steps, step.design, how) if room else None for step in best.steps[:-1]]
    bound, at_once = _limits(laid_out, steps, old, how)
    return Phasing(
        site=job.site.name,
        discount_rate=job.site.goals.discount_rate,
        planning_years=job.site.goals.planning_years,
        plans=tuple(found.plans),
        refused=tuple(found.refused),
        ways=found.ways,
        compared=found.compared,
        bound_cents=bound,
        at_once_cents=at_once,
        checks=tuple(checks),
        rooms=(*rooms, None),
        layout=layout,
    )


class _Compared:
    """The plans of every way that there was time for, cheapest first."""

    def __init__(self, steps: Sequence[Step], whole: Design, old: Design | None, how: How) -> None:
        ways = ways_ahead(len(steps))
        planner = Planner(steps, whole, old, how)
        plans: list[PhasePlan] = []
        self.refused: list[RefusedPlan] = []
        self.ways, self.compared = len(ways), 0
        for number, way in enumerate(ways, start=1):
            if how.is_stopped and plans:
                break
            told = replace(how, tell=_counting(how.tell, number, len(ways), plans))
            planner.how = told
            try:
                found = planner.plan(way)
            except SolverFailed:
                if plans:
                    break
                raise
            self.compared += 1
            if isinstance(found, PhasePlan):
                plans.append(found)
            else:
                self.refused.append(found)
            if isinstance(found, RefusedPlan) and planner.refusal is not None and not plans:
                with _said_of(found.step):
                    raise planner.refusal
        self.plans = sorted(distinct(plans), key=lambda plan: plan.worth_cents)


@contextmanager
def _said_of(step: str) -> Iterator[None]:
    """Let a refusal say which step it is about."""
    try:
        yield
    except Infeasible as refusal:
        raise Infeasible(f"{step}: {refusal.clash}", refusal.remedies) from None


def _counting(tell: Tell, number: int, ways: int, plans: Sequence[PhasePlan]) -> Tell:
    best = min((plan.worth_cents for plan in plans), default=None)
    sofar = "" if best is None else f", best so far {best / 100:,.2f}"
    return lambda words: tell(f"plan {number} of {ways}{sofar}: {words}")


def _room(steps: Sequence[Step], design: Design, how: How) -> Room | None:
    """Return how many of the whole site's places the pump of a design serves."""
    if how.is_stopped:
        return None
    how.tell(f"how far {design.pump.count} x {design.pump.label} reaches")
    stood = standing_job(steps[-1].job, design)
    try:
        return room_on_pump(stood, how.search)
    except SolverFailed:
        return None


def _limits(
    job: Job, steps: Sequence[Step], old: Design | None, how: How
) -> tuple[float | None, int | None]:
    """Return the bound over all plans, and the cost of the whole site built today."""
    if how.is_stopped:
        return None, None
    try:
        bound = least_worth_cents(steps, old, how)
        how.tell("the whole site built today")
        now = without_limits(replace(job, site=replace(job.site, phases=())))
        at_once = how.design(now if old is None else standing_job(now, old))
    except SolverFailed:
        return None, None
    return (None, None) if how.is_stopped else (bound, at_once.record.cost_cents)


def _one_layout(job: Job, old: Design | None, how: How, source: str) -> tuple[Job, str]:
    """Return the job in one layout: the one that stands, or the cheapest for the whole site."""
    if old is not None:
        standing_job(job, old, source)  # tells at once what has no place
        return replace(job, site=built_layout(job.site, old, source)), ""
    if is_one_layout(job.site):
        return job, ""
    how.tell("the layouts of the whole site")
    bare = replace(job, site=replace(job.site, phases=()))
    answer = design_layouts(bare, how.search)
    name = next(line.name for line in answer.design.layouts if line.chosen)
    site = next(layout.site for layout in layouts_of(bare.site) if layout.name == name)
    return replace(job, site=replace(site, phases=job.site.phases)), name
