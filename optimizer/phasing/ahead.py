"""Looking ahead: an early step takes the sump, pump or pipe that the whole site will have.

What is looked ahead for is the *kind* of sump and of pump (more of the same may be added later) and
the size of riser and header, stretch by stretch.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from optimizer.candidates.built import pieces_along
from optimizer.candidates.network import candidate_network
from optimizer.formulate.level_of_choice import with_level_of_choice
from optimizer.job import Job
from optimizer.records.design import Design
from optimizer.records.problem import DesignProblem, StretchTable

SUMP, PUMP, HEADER = "sump", "pump", "header"
PARTS = (SUMP, PUMP, HEADER)
SHARED_KINDS = ("riser", "header")

Ahead = frozenset[str]
"""The parts that a step takes as the whole site has them."""


def like_whole(job: Job, whole: Design, ahead: Ahead) -> Job:
    """Return a job that may only have the whole site's kind of sump or pump, as asked.

    A sump or pump of another kind that stands is then no longer there to be kept. The sump's lowest
    level stays that of the whole choice of pumps, so that what is narrowed is the choice alone.
    """
    site = with_level_of_choice(job.site, job.catalog) if ahead & {SUMP, PUMP} else job.site
    purchase, standing = site.purchase, site.standing
    if SUMP in ahead:
        purchase = replace(purchase, sumps=(whole.sump.id,))
        if standing.sump != whole.sump.id:
            standing = replace(standing, sump=None, sump_count=0)
    if PUMP in ahead:
        purchase = replace(purchase, pumps=(whole.pump.id,))
        if standing.pump != whole.pump.id:
            standing = replace(standing, pump=None, pump_count=0)
    return replace(job, site=replace(site, purchase=purchase, standing=standing))


def sizes_of_whole(job: Job, whole: Design) -> dict[str, str]:
    """Return riser and header stretches of a step, outward, with their pipe in the whole site.

    A stretch that the whole site has cut into several takes the widest of them.
    """
    laid = [each for each in whole.stretches if each.kind in SHARED_KINDS]
    found = {}
    for stretch in candidate_network(job.site).stretches:
        pieces = pieces_along(stretch, laid) if stretch.kind in SHARED_KINDS else ()
        if pieces:
            found[stretch.id] = max(pieces, key=lambda piece: (piece.bore_m, piece.pipe)).pipe
    return found


def held_to(problem: DesignProblem, sizes: Mapping[str, str]) -> DesignProblem:
    """Return a problem whose stretches may be laid in the named sizes only.

    A stretch for which its size is no choice (nothing it may carry fits in it) keeps every choice.
    """
    stretches = tuple(
        _held(table, sizes[table.id]) if sizes.get(table.id) in table.builds else table
        for table in problem.stretches
    )
    return replace(problem, stretches=stretches)


def _held(table: StretchTable, size: str) -> StretchTable:
    return replace(
        table,
        builds=(size,),
        table={key: build for key, build in table.table.items() if key[1] == size},
        mixes={},
    )


def already_as(whole: Design, design: Design, ahead: Ahead, sizes: Mapping[str, str]) -> bool:
    """Return whether a design is already as the whole site in every part looked ahead for."""
    laid = {each.id: each.pipe for each in design.stretches}
    return (
        (SUMP not in ahead or design.sump.id == whole.sump.id)
        and (PUMP not in ahead or design.pump.id == whole.pump.id)
        and (HEADER not in ahead or all(laid.get(name) == size for name, size in sizes.items()))
    )
