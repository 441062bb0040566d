"""Extend what was built: keep what stands at no price, add beds, see how far the pump reaches.

The old design is money spent. Its pipes stretch by stretch, its siphons, valves, pump and sump
stand on the new site at no cost; any other choice in their place costs its full price, and what is
taken out is worth nothing. The program then chooses as for any site, with the same proof.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from optimizer.candidates.built import with_built
from optimizer.candidates.network import candidate_network
from optimizer.candidates.runs import positions_of
from optimizer.errors import BadInput, Infeasible, Problem
from optimizer.extension_fates import fates
from optimizer.pipeline import Job, Watcher, design_job, find_design
from optimizer.records.design import Design
from optimizer.records.extension import Extension, Room
from optimizer.records.header_ring import refused
from optimizer.records.site import Site

SAME_PLACE_M = 0.01
"""A bed is the same if it stands within a centimetre of where it stood."""


def extend_design(
    job: Job,
    old: Design,
    *,
    gap: float = 1e-4,
    time_limit_s: float | None = None,
    seed: int = 0,
    progress: Watcher | None = None,
    stop: threading.Event | None = None,
    room: bool = True,
) -> Extension:
    """Return the least-cost extension of a built system to a new site, proven and checked.

    Args:
        job: the new site and its catalog; its own ``[standing]`` parts are left aside for those of
            the old design, its pipe in stock is kept.
        old: the design that was built.
        gap: relative gap between cost and bound at which to stop.
        time_limit_s: time after which each search returns its best so far.
        seed: the solver's random seed.
        progress: called now and then with how the running search stands.
        stop: set from outside to stop early with the best extension so far.
        room: whether to search how many beds fit on the standing pump, too.

    Raises:
        BadInput: if a bed of the old design has no place on the new site, or a part of it is not in
            the catalog.
        Infeasible: if the site has no design even with everything replaced.
        SolverFailed: if the search stops without a design.
    """
    stood = standing_job(job, old)
    answer = design_job(
        stood, gap=gap, time_limit_s=time_limit_s, seed=seed, progress=progress, stop=stop
    )
    told = fates(old, answer.design, stood.site)
    found = None
    if room and not (stop and stop.is_set()):
        found = room_on_pump(
            stood, gap=gap, time_limit_s=time_limit_s, seed=seed, progress=progress, stop=stop
        )
    return Extension(old, answer.design, answer.check, told, found)


def standing_job(job: Job, old: Design) -> Job:
    """Return a job on whose site all of a design stands.

    Raises:
        BadInput: as :func:`extend_design`.
    """
    problems = [
        *refused(old.ring or job.site.header_ring, "extending a design"),
        *_unknown_parts(job, old),
        *_beds_without_place(job.site, old),
    ]
    if problems:
        raise BadInput(problems)
    bare = replace(job.site, standing=replace(job.site.standing, pipes=()))
    return replace(job, site=with_built(bare, candidate_network(bare), old))


def _unknown_parts(job: Job, old: Design) -> Iterator[Problem]:
    catalog = job.catalog
    named: list[tuple[str, Mapping[str, object], Iterable[str]]] = [
        ("pump", catalog.pumps, {old.pump.id}),
        ("sump", catalog.sumps, {old.sump.id}),
        ("pipe", catalog.pipes, _sizes(old)),
        ("valve", catalog.valves, {bed.valve for bed in old.beds}),
        ("siphon kit", catalog.kits, {kind.kit for kind in old.kinds}),
    ]
    for what, known, used in named:
        for part in sorted(set(used) - set(known)):
            fix = "Add it to the catalog folder that the site names, with its price."
            yield Problem("old design", f"its {what} {part!r} is not in the catalog.", fix)


def _sizes(design: Design) -> dict[str, str]:
    """Return every pipe of a design by catalog id, with its nominal size."""
    laid = [(s.pipe, s.nominal) for s in design.stretches]
    return dict(laid + [(drain.pipe, drain.nominal) for drain in design.drains])


def _beds_without_place(site: Site, old: Design) -> Iterator[Problem]:
    places = {position.id: position for position in positions_of(site)}
    types = {bed_type.id for bed_type in site.bed_types}
    for bed in old.beds:
        place = places.get(bed.id)
        fix = "Keep rows as they were, by name and start; lengthen them or add others."
        if place is None:
            yield Problem("old design", f"its bed {bed.id} has no place on the new site.", fix)
        elif max(abs(place.x_m - bed.x_m), abs(place.y_m - bed.y_m)) > SAME_PLACE_M:
            where = f"({bed.x_m:g}, {bed.y_m:g})"
            what = f"its bed {bed.id} stands at {where}, not at ({place.x_m:g}, {place.y_m:g})."
            yield Problem("old design", what, fix)
        elif bed.kind not in types:
            what = f"its bed {bed.id} is of type {bed.kind!r}, which the site does not list."
            yield Problem("old design", what, "Add that [[bed_type]], as it was.")


def room_on_pump(
    stood: Job,
    *,
    gap: float = 1e-4,
    time_limit_s: float | None = None,
    seed: int = 0,
    progress: Watcher | None = None,
    stop: threading.Event | None = None,
) -> Room:
    """Return how many beds fit on the standing pumps, and what the next one costs.

    What serves more beds serves fewer, so the number is found by halving; the program itself says
    of the number and of the next one whether there is a design.

    Args:
        stood: a job on whose site a design stands, as from :func:`standing_job`.
        gap: as for :func:`extend_design`; so are the others.
        time_limit_s: for each search.
        seed: the solver's random seed.
        progress: told of each search.
        stop: set from outside to stop.
    """

    def tried(site: Site) -> Design | str:
        try:
            return find_design(
                Job(site, stood.catalog),
                gap=gap,
                time_limit_s=time_limit_s,
                seed=seed,
                progress=progress,
                stop=stop,
            )
        except Infeasible as refusal:
            return refusal.clash

    site = stood.site
    before, places = sum(row.standing_beds for row in site.rows), len(positions_of(site))
    low, best = before, tried(on_standing_pump(with_beds(site, before)))
    if isinstance(best, str):
        return Room(before, places, None, None, None, best)
    high, why = places + 1, "every place is taken"
    while high - low > 1:
        middle = (low + high) // 2
        found = tried(on_standing_pump(with_beds(site, middle)))
        if isinstance(found, str):
            high, why = middle, found
        else:
            low, best = middle, found
    beyond = tried(with_beds(site, low + 1)) if low < places else ""
    return Room(before, places, low, best, None if isinstance(beyond, str) else beyond, why)


def with_beds(site: Site, beds: int) -> Site:
    """Return a site that asks for at least so many beds, wherever they cost least."""
    rows = tuple(replace(row, beds_least=row.standing_beds) for row in site.rows)
    return replace(site, rows=rows, goals=replace(site.goals, beds_least=beds))


def on_standing_pump(site: Site) -> Site:
    """Return a site that may run no other pumps than those that stand, and no more of them."""
    standing = site.standing
    purchase = replace(
        site.purchase,
        pumps=(standing.pump,) if standing.pump else (),
        pumps_in_parallel_most=max(1, standing.pump_count - int(site.purchase.spare_pump)),
    )
    return replace(site, purchase=purchase)
