"""Changes to a site file that make an impossible site possible, each tried before it is told."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput, Infeasible, Remedy, SolverFailed
from optimizer.formulate.assemble import assemble
from optimizer.formulate.build import formulate
from optimizer.job import Job
from optimizer.milp.composed import solve_composed
from optimizer.milp.engine import ctrl_c_sets
from optimizer.milp.quick import least_cost
from optimizer.records.design import Design
from optimizer.records.parts import Catalog
from optimizer.records.site import Site

TRIES_S = 10.0
"""All tries together take no longer than this."""

PLACES_MOST = 200
"""Sites of more places get no tries: each would take longer than all of them may."""

PUMPS_IN_PARALLEL_TRIED = 6
SUMPS_TRIED = 12
VELOCITY_TRIED_M_S = 1.5
GAP = 1e-2  # any design will do; a cheap one is told
NOT_ALL_TRIED = "Not every other change was tried in the time allowed."


@dataclass(frozen=True)
class Way:
    """A change to the site file that may help.

    Attributes:
        requirement: what would give way, in the grower's words.
        altered: the site with the change at its widest; the same site where nothing changes.
        told: the change as an instruction, from the site and a design of the altered one.
    """

    requirement: str
    altered: Callable[[Site], Site]
    told: Callable[[Site, Design, Catalog], str]


def more_remedies(
    job: Job, refusal: Infeasible, stop: threading.Event, allowed_s: float
) -> Infeasible:
    """Return a refusal with every change that was tried and gave a design.

    Args:
        job: the site that was refused, with its catalog.
        refusal: why.
        stop: set it from any thread to end the tries.
        allowed_s: seconds for all tries together.
    """
    independent = (job.site.returns.bursts, job.site.returns.held) != ("all", "worst")
    if independent or job.site.header_ring is not None:
        return refusal  # simulation or the ring has the last word there, and no try asks it
    if sum(row.beds_most for row in job.site.rows) > PLACES_MOST:
        allowed_s = 0.0
    ends_at = time.perf_counter() + allowed_s
    found, skipped = list(refusal.remedies), False
    with ctrl_c_sets(stop):
        for way in WAYS:
            altered = way.altered(job.site)
            if altered == job.site:
                continue
            left_s = ends_at - time.perf_counter()
            if stop.is_set() or left_s <= 0.0:
                skipped = True
                break
            design = _designed(altered, job.catalog, stop, left_s)
            if design is not None:
                found.append(Remedy(way.requirement, way.told(job.site, design, job.catalog)))
    clash = f"{refusal.clash} {NOT_ALL_TRIED}" if skipped else refusal.clash
    return Infeasible(clash, found)


def _designed(
    site: Site, catalog: Catalog, stop: threading.Event, time_limit_s: float
) -> Design | None:
    """A design of a site, or None where none was found in the time given."""
    started = time.perf_counter()
    try:
        network = candidate_network(site)
        made = formulate(site, catalog, network)
    except (BadInput, Infeasible):
        return None
    left_s = max(0.1, time_limit_s - (time.perf_counter() - started))
    try:
        if least_cost(made.problem, stop, gap=GAP, time_limit_s=left_s).cents is None:
            return None
        choice = solve_composed(made.problem, gap=GAP, time_limit_s=left_s, stop=stop)
    except SolverFailed:
        return None
    return assemble(site, catalog, network, made, choice)


def _buying(**changes: Any) -> Callable[[Site], Site]:  # noqa: ANN401  # keys of several kinds
    """The site with keys of what may be bought changed."""

    def altered(site: Site) -> Site:
        return replace(site, purchase=replace(site.purchase, **changes))

    return altered


def _listed(names: list[str]) -> str:
    return "[" + ", ".join(f'"{name}"' for name in names) + "]"


def _other_pump(site: Site, design: Design, _: Catalog) -> str:
    names = _listed([*site.purchase.pumps, design.pump.id])
    return f"allow also the {design.pump.label}: pumps = {names} under [buy]."


def _more_pumps(_: Site, design: Design, __: Catalog) -> str:
    return f"let pumps run side by side: pumps_in_parallel_most = {design.pump.count} under [buy]."


def _other_sump(site: Site, design: Design, _: Catalog) -> str:
    names = _listed([*site.purchase.sumps, design.sump.id])
    return f"allow also the {design.sump.label}: sumps = {names} under [buy]."


def _more_sumps(_: Site, design: Design, __: Catalog) -> str:
    return f"let more tanks be joined: sumps_most = {design.sump.count} under [buy]."


def _sizes(ids: list[str], catalog: Catalog) -> str:
    pipes = sorted({catalog.pipes[name] for name in ids}, key=lambda pipe: pipe.bore_m)
    return _listed([pipe.nominal for pipe in pipes])


def _supply_sizes(site: Site, design: Design, catalog: Catalog) -> str:
    laid = [s.pipe for s in design.stretches if not s.standing]
    sizes = _sizes([*site.purchase.pipes, *laid], catalog)
    return f"allow other supply pipe: pipes = {sizes} under [buy]."


def _return_sizes(site: Site, design: Design, catalog: Catalog) -> str:
    sizes = _sizes([*site.returns.pipes, *(d.pipe for d in design.drains)], catalog)
    return f"allow other return pipe: pipes = {sizes} under [returns]."


def _every_kit(site: Site) -> Site:
    return replace(site, bed_types=tuple(replace(each, kits=()) for each in site.bed_types))


def _other_kits(site: Site, design: Design, _: Catalog) -> str:
    before = {each.id: each.kits for each in site.bed_types}
    lines = [
        f"kits = {_listed([*before[kind.id], kind.kit])} under the [[bed_type]] {kind.id}"
        for kind in design.kinds
        if before[kind.id] and kind.kit not in before[kind.id]
    ]
    return f"allow another siphon kit: {', '.join(lines)}."


def _velocity(site: Site) -> Site:
    limit = max(VELOCITY_TRIED_M_S, site.goals.velocity_limit_m_s)
    return replace(site, goals=replace(site.goals, velocity_limit_m_s=limit))


def _hours(site: Site, _: Design, __: Catalog) -> str:
    hours = site.goals.pump_hours_per_day
    return f'let a loud pump run as long as it must: hours_most = "{hours:g} h" under [noise].'


WAYS = (
    Way("pumps that may be bought", _buying(pumps=()), _other_pump),
    Way(
        "pumps that may run side by side",
        lambda site: _buying(
            pumps_in_parallel_most=max(
                PUMPS_IN_PARALLEL_TRIED, site.purchase.pumps_in_parallel_most
            )
        )(site),
        _more_pumps,
    ),
    Way("sumps that may be bought", _buying(sumps=()), _other_sump),
    Way(
        "how many sumps may be joined",
        lambda site: _buying(sumps_most=max(SUMPS_TRIED, site.purchase.sumps_most))(site),
        _more_sumps,
    ),
    Way(
        "water that runs back in a power cut",
        _buying(non_return_valve=True),
        lambda *_: "fit a non-return valve: non_return_valve = true under [buy].",
    ),
    Way(
        "return pipe that may be bought",
        lambda site: replace(site, returns=replace(site.returns, pipes=())),
        _return_sizes,
    ),
    Way("supply pipe that may be bought", _buying(pipes=()), _supply_sizes),
    Way("siphon kits that may be used", _every_kit, _other_kits),
    Way("the limit on noise", lambda site: replace(site, noise=None), _hours),
    Way(
        "the speed of the water",
        _velocity,
        lambda *_: (
            f'let water run faster: velocity_limit = "{VELOCITY_TRIED_M_S:g} m/s" under [goal].'
        ),
    ),
)
