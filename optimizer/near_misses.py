"""What nearly decided otherwise: each step away from a site, designed again, and its price."""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, replace

from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput, Infeasible, SolverFailed
from optimizer.formulate.build import formulate
from optimizer.job import Job
from optimizer.milp.engine import ctrl_c_sets
from optimizer.milp.quick import Least, least_cost
from optimizer.otherwise import Step, steps_of
from optimizer.records.design import Design
from optimizer.records.near_miss import NearMiss
from optimizer.records.parts import Catalog
from optimizer.records.problem import PumpOption
from optimizer.search_settings import SearchSettings

PLACES_MOST = 60
"""Sites of more places are not designed again for each step: that would take minutes."""

ALLOWED_S = 120.0
"""All steps together; a site of up to ``PLACES_MOST`` places ends well within it."""

STEP_S = 30.0
"""No step takes longer than this, so that a hard one leaves time for the others."""

GAP = 1e-5
NO_TIME = "Not priced in the time allowed."
STOPPED = "Not priced: stopped."
FAILED = "Not priced: the solver failed."
NOT_TRIED = "Steps away from this design"
IN_A_RING = "Not priced: each step would need a ring of its own."
NO_DESIGN = "No design is possible then."
NOTHING_SAVED = "Asking less by one step saves nothing"


@dataclass(frozen=True)
class Priced:
    """A step with what it costs more than the design; negative where it saves.

    ``extra_cents`` is None where no design is possible or the search was cut short; ``note`` says
    which.
    """

    step: Step
    extra_cents: int | None
    note: str


def with_near_misses(design: Design, job: Job, search: SearchSettings | None = None) -> Design:
    """Return a design with what nearly decided otherwise, where that is quick enough to find out.

    Every step is a full design of a site that differs by that step, so its price is the true
    difference, to within the gap of both searches. Nothing is told of a design whose own search was
    stopped, or whose siphons are counted as independent (each step would need its own simulation).

    Args:
        design: a finished design.
        job: its site and catalog.
        search: how the design was searched for. Each step stops at its gap, at most ``GAP``; its
            time limit is for the design's own search and all steps together, which take at most
            ``ALLOWED_S`` of it. What is left out is said.
    """
    search = search or SearchSettings()
    stop, time_limit_s = search.stop, search.time_limit_s
    site, independent = job.site, (job.site.returns.bursts, job.site.returns.held)
    if design.record.status != "optimal" or independent != ("all", "worst") or stop.is_set():
        return design
    if design.ring is not None:
        return replace(design, near_misses=(NearMiss(NOT_TRIED, None, IN_A_RING),))
    if sum(row.beds_most for row in site.rows) > PLACES_MOST:
        note = f"Not priced: the site has more than {PLACES_MOST} places for beds."
        return replace(design, near_misses=(NearMiss(NOT_TRIED, None, note),))
    left_s = ALLOWED_S if time_limit_s is None else time_limit_s - design.record.seconds
    ends_at = time.perf_counter() + min(ALLOWED_S, left_s)
    found: list[Priced] = []
    with ctrl_c_sets(stop):
        for step in steps_of(site, job.catalog, design):
            left_s = min(STEP_S, ends_at - time.perf_counter())
            found.append(_priced(step, design, job.catalog, min(search.gap, GAP), left_s, stop))
    return replace(design, near_misses=tuple(_told(found)))


def _priced(
    step: Step, design: Design, catalog: Catalog, gap: float, left_s: float, stop: threading.Event
) -> Priced:
    untold = f"No: {step.none}." if step.site is None else ""
    untold = untold or (STOPPED if stop.is_set() else "") or (NO_TIME if left_s <= 0.0 else "")
    if untold or step.site is None:
        return Priced(step, None, untold)
    started = time.perf_counter()
    try:
        problem = formulate(step.site, catalog, candidate_network(step.site)).problem
    except BadInput:
        return Priced(step, None, NO_DESIGN)
    except Infeasible as refusal:
        return Priced(step, None, f"{NO_DESIGN} {refusal.clash}")
    left_s = max(0.0, left_s - (time.perf_counter() - started))
    try:
        known = design.record.cost_cents if step.eased else None  # the design is allowed then
        least = least_cost(problem, stop, gap=gap, time_limit_s=left_s, known_cents=known)
    except SolverFailed:
        return Priced(step, None, FAILED)
    if not least.settled:
        return Priced(step, None, STOPPED if stop.is_set() else NO_TIME)
    return _of_search(step, least, problem.pumps, design, catalog)


def _of_search(
    step: Step, least: Least, pumps: tuple[PumpOption, ...], design: Design, catalog: Catalog
) -> Priced:
    if least.cents is None:
        return Priced(step, None, NO_DESIGN)
    extra = least.cents - design.record.cost_cents
    if step.eased and extra >= 0:
        return Priced(step, 0, "")
    chosen = next(option for option in pumps if option.id == least.pump)
    if (chosen.pump, chosen.count) == (design.pump.id, design.pump.count):
        return Priced(step, extra, "With the same pump.")
    label = catalog.pumps[chosen.pump].label
    many = "" if chosen.count == 1 else f"{chosen.count} x "
    return Priced(step, extra, f"Then the best pump is {many}{label}.")


def _told(found: list[Priced]) -> list[NearMiss]:
    """Steps that ask as much or more in their order, then what saves most, then what saves none."""
    asked = [each for each in found if not each.step.eased]
    eased = [each for each in found if each.step.eased]
    saving = sorted(
        (each for each in eased if each.extra_cents), key=lambda each: each.extra_cents or 0
    )
    idle = [each.step.what for each in eased if each.extra_cents == 0]
    unknown = [each for each in eased if each.extra_cents is None]
    told = [NearMiss(p.step.what, p.extra_cents, p.note) for p in [*asked, *saving, *unknown]]
    if idle:
        told.append(NearMiss(NOTHING_SAVED, 0, f"{'; '.join(idle)}."))
    return told
