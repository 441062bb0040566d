"""Extend what was built: keep what stands at no price, add beds, see how far the pump reaches.

The old design is money spent. Its pipes stretch by stretch, its siphons, valves, pump and sump
stand on the new site at no cost; any other choice in their place costs its full price, and what is
taken out is worth nothing. The program then chooses as for any site, with the same proof.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import replace

from optimizer.candidates.built import with_built
from optimizer.candidates.built_layout import built_layout
from optimizer.candidates.network import candidate_network
from optimizer.candidates.runs import positions_of
from optimizer.errors import BadInput, Problem, SolverFailed
from optimizer.extension_fates import fates
from optimizer.job import Job
from optimizer.pipeline import design_job
from optimizer.reach import room_on_pump
from optimizer.records.design import Design
from optimizer.records.extension import Extension
from optimizer.records.header_ring import refused
from optimizer.records.site import Site
from optimizer.report.scales import Reader
from optimizer.search_settings import SearchSettings, Watcher

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
    source: str = "old design",
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
        source: what to call the old design in messages, such as its file's name.

    Raises:
        BadInput: if a bed of the old design has no place on the new site, or a part of it is not in
            the catalog.
        Infeasible: if the site has no design even with everything replaced.
        SolverFailed: if the search stops without a design.
    """
    stood = standing_job(job, old, source)
    search = SearchSettings(
        gap, time_limit_s, seed, progress=progress, stop=stop or threading.Event()
    )
    answer = design_job(stood, search)
    told = fates(old, answer.design, stood.site)
    found = None
    if room and not search.stop.is_set():
        with suppress(SolverFailed):  # stopped: the extension itself is there
            found = room_on_pump(stood, search)
    return Extension(old, answer.design, answer.check, told, found)


def standing_job(job: Job, old: Design, source: str = "old design") -> Job:
    """Return a job on whose site all of a design stands.

    Where the site leaves several layouts open, it is the one in which the design was built.

    Args:
        job: the new site and its catalog.
        old: the design that was built.
        source: what to call it in messages, such as its file's name.

    Raises:
        BadInput: as :func:`extend_design`, and if no layout, or more than one, is the one built.
    """
    problems = [
        *refused(old.ring or job.site.header_ring, "extending a design"),
        *_unknown_parts(job, old, source),
        *_beds_without_place(job.site, old, source),
    ]
    if problems:
        raise BadInput(problems)
    bare = replace(job.site, standing=replace(job.site.standing, pipes=()))
    bare = built_layout(bare, old, source)
    return replace(job, site=with_built(bare, candidate_network(bare), old))


def _unknown_parts(job: Job, old: Design, source: str) -> Iterator[Problem]:
    catalog = job.catalog
    named: list[tuple[str, Mapping[str, object], set[str]]] = [
        ("pump", catalog.pumps, {old.pump.id}),
        ("sump", catalog.sumps, {old.sump.id}),
        ("pipe", catalog.pipes, {s.pipe for s in old.stretches} | {d.pipe for d in old.drains}),
        ("valve", catalog.valves, {bed.valve for bed in old.beds}),
        ("siphon kit", catalog.kits, {kind.kit for kind in old.kinds}),
    ]
    for what, known, used in named:
        for part in sorted(used - set(known)):
            fix = "Add it to the catalog folder that the new site file names, with its price."
            yield Problem(f"{source}, {what}", f"{part!r} is not in the catalog.", fix)


def _beds_without_place(site: Site, old: Design, source: str) -> Iterator[Problem]:
    places = {position.id: position for position in positions_of(site)}
    types = {bed_type.id for bed_type in site.bed_types}
    reader = Reader(site.units)
    fix = "In the new site file keep rows as they were, by name and start; lengthen or add rows."
    for bed in old.beds:
        place, where = places.get(bed.id), f"{source}, bed {bed.id}"
        if place is None:
            yield Problem(where, "it has no place on the new site.", fix)
        elif max(abs(place.x_m - bed.x_m), abs(place.y_m - bed.y_m)) > SAME_PLACE_M:
            was, now = (
                f"({reader.level(x_m)}, {reader.level(y_m)})"
                for x_m, y_m in ((bed.x_m, bed.y_m), (place.x_m, place.y_m))
            )
            yield Problem(where, f"it stands at {was}, not at {now} as the new site says.", fix)
        elif bed.kind not in types:
            what = f"it is of type {bed.kind!r}, which the new site does not list."
            yield Problem(where, what, f"Add the [[bed_type]] {bed.kind!r} to it, as it was.")
