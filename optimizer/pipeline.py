"""The whole road: a site file in, a proven and checked design out."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput, Infeasible, Remedy
from optimizer.formulate.assemble import assemble
from optimizer.formulate.build import formulate
from optimizer.formulate.held import held_share
from optimizer.job import Job
from optimizer.milp.explain import time_to_explain_s
from optimizer.near_misses import with_near_misses
from optimizer.reading.catalog import read_catalog
from optimizer.reading.pipe_names import with_pipe_ids
from optimizer.reading.priced import with_prices
from optimizer.reading.review import review_file
from optimizer.reading.site import SiteFile, read_site
from optimizer.records.check import CheckReport
from optimizer.records.design import Design
from optimizer.records.problem import DesignProblem
from optimizer.ring_header import design_ring
from optimizer.search_settings import SearchSettings
from optimizer.simulate.day.staggered import StaggeredStart, staggered_start
from optimizer.simulate.whole_check import check_whole
from optimizer.ways_out import TRIES_S, more_remedies

Narrowing = Callable[[DesignProblem], DesignProblem]


@dataclass(frozen=True)
class Answer:
    """A design and what independent simulation says of it."""

    design: Design
    check: CheckReport


def read_job(path: str | Path) -> Job:
    """Read a site file and its catalog.

    Raises:
        BadInput: once, with every fault found in the site, the catalog folder it names, and between
            the two.
    """
    return job_of(read_site(path))


def job_of(file: SiteFile) -> Job:
    """Return the site of a file with its catalog.

    Raises:
        BadInput: as :func:`read_job`.
    """
    catalog = with_prices(read_catalog(file.catalog_folder), file.prices)
    problems = review_file(file, catalog)
    if problems:
        raise BadInput(problems)
    return Job(with_pipe_ids(file.site, catalog), catalog)


def design_job(job: Job, search: SearchSettings | None = None, *, nearly: bool = False) -> Answer:
    """Design a site and check the design, a simulated day and a power cut included.

    Args and errors are those of :func:`find_design`, a refusal with the changes that were tried and
    help; ``nearly`` asks for what nearly decided otherwise, on sites that are not too large.
    """
    search, started = search or SearchSettings(), time.perf_counter()
    try:
        return _designed_and_checked(job, search, nearly=nearly)
    except Infeasible as refusal:
        used_s = time.perf_counter() - started
        allowed_s = min(TRIES_S, time_to_explain_s(search.time_limit_s, used_s))
        raise more_remedies(job, refusal, search.stop, allowed_s) from None


def _designed_and_checked(job: Job, search: SearchSettings, *, nearly: bool) -> Answer:
    if job.site.header_ring is not None:
        network = candidate_network(job.site)
        design, check = design_ring(job.site, job.catalog, network, search)
        return Answer(with_near_misses(design, job, search) if nearly else design, check)
    design = find_design(job, search)
    if nearly:
        design = with_near_misses(design, job, search)
    return Answer(design, check_whole(design))


def find_design(
    job: Job, search: SearchSettings | None = None, *, narrow: Narrowing | None = None
) -> Design:
    """Design a site and leave the check to the caller.

    Args:
        job: site and catalog.
        search: how far and how long to search; to its defaults if left out.
        narrow: takes choices out of the problem's tables before the search; none if left out.

    Raises:
        BadInput: if a bed cannot be reached by pipe.
        Infeasible: if no design meets every requirement, or siphons are counted as independent
            and simulation does not bear that out.
        SolverFailed: if the solver stops without a design.
    """
    settings, network = search or SearchSettings(), candidate_network(job.site)
    if job.site.header_ring is not None:
        return design_ring(job.site, job.catalog, network, settings)[0]

    def designed(share: float) -> Design:
        made = formulate(job.site, job.catalog, network, share)
        if narrow is not None:
            made = replace(made, problem=narrow(made.problem))
        choice = settings.choice(made.problem)
        return assemble(job.site, job.catalog, network, made, choice)

    design = designed(1.0)
    if job.site.returns.held == "quantile":
        design = _settled(designed, held_share(design))
    demand_staggered_start(design)
    return replace(design, notes=tuple(f"{d.run}: {d.reason}" for d in network.dropped))


def _settled(designed: Callable[[float], Design], share: float) -> Design:
    """Design again until the held share counted on is no less than what the design needs."""
    design = designed(share)
    while (needed := held_share(design)) > share:
        share = needed
        design = designed(share)
    return design


def demand_staggered_start(design: Design) -> None:
    """Refuse to count siphons as independent unless a staggered start keeps them so.

    Raises:
        Infeasible: if they fall into step in simulation.
    """
    if (design.promise.bursts, design.promise.held) == ("all", "worst"):
        return
    start = staggered_start(design)
    if not start.holds:
        raise Infeasible(
            "Counting siphons as independent (binomial bursts or a quantile of held water) is not "
            f"borne out: even from a staggered start {_in_step(start)} of the time.",
            [Remedy("returns", 'set bursts = "all" and held = "worst"')],
        )


def _in_step(start: StaggeredStart) -> str:
    if start.worst_share_above > 1.0 - start.confidence:
        together = "more of them drain together in simulation than chance would have"
        return f"{together}, {start.worst_share_above:.1%}"
    return f"the {start.stretch} gets more in simulation than it carries, {start.share_over:.1%}"
