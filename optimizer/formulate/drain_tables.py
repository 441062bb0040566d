"""Return pipes: the supply's ways walked backward, sizes and slopes, and what they must carry.

Return pipe runs beside the supply pipe, from every bed down to the sump. Each siphon ends in a
vented tee a little above its collector, so that no siphon draws through another.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

from optimizer.formulate.bed_options import BedCandidate
from optimizer.formulate.burst_counts import BurstCount, burst_m3_s, hunter_counts
from optimizer.formulate.drain_prices import DrainPrices, DrainRun, DrainWay, drain_prices
from optimizer.formulate.kept import Kept
from optimizer.formulate.loads import rows_below
from optimizer.formulate.plans import served_positions
from optimizer.formulate.side_conditions import PipeRivals
from optimizer.physics.part_full import capacity_m3_s
from optimizer.physics.slopes import least_slope
from optimizer.records.design import DRAIN_END
from optimizer.records.network import CandidateNetwork, Stretch
from optimizer.records.parts import Catalog
from optimizer.records.problem import BranchPlan
from optimizer.records.problem_drains import DrainBuild, DrainTable
from optimizer.records.shelf import CountedPart
from optimizer.records.site import Returns, Site

SLOPE_STEPS = (1.0, 2.0, 4.0)
"""Slopes offered, as multiples of the least slope of the size."""

SAME_SLOPE = 1e-9
"""Relative: a slope this near below the least is the least."""


def drain_runs(network: CandidateNetwork) -> tuple[DrainRun, ...]:
    """Return the return tree: every laid supply stretch walked backward, lengths in plan."""
    laid = [s for s in network.stretches if s.kind != "drop"]
    outlets = {s.tail for s in network.stretches if s.kind == "drop"}
    arriving: dict[str, int] = {}
    for stretch in laid:
        arriving[stretch.tail] = arriving.get(stretch.tail, 0) + 1
    return tuple(
        DrainRun(
            id=f"return {stretch.id}",
            stretch=stretch,
            upper=stretch.head,
            lower=DRAIN_END if stretch.tail == "pump" else stretch.tail,
            length_m=_plan_length_m(stretch),
            parts=_parts(stretch, arriving.get(stretch.head, 0) + int(stretch.head in outlets)),
        )
        for stretch in laid
    )


def drain_ways(site: Site, catalog: Catalog) -> list[DrainWay]:
    """Return every size and slope of return pipe the site allows, narrow to wide."""
    returns = site.returns
    series = returns.pipe_series or site.purchase.pipe_series
    pipes = [
        p
        for p in catalog.pipes.values()
        if p.series == series and (not returns.pipes or p.id in returns.pipes)
    ]
    return [
        DrainWay(f"{pipe.id} at {slope:.2%}", pipe, slope)
        for pipe in sorted(pipes, key=lambda p: p.bore_m)
        for slope in (step * least_slope(pipe.bore_m) for step in SLOPE_STEPS)
    ]


def ways_of_run(
    run: DrainRun, ways: Sequence[DrainWay], kept: Kept, catalog: Catalog
) -> list[DrainWay]:
    """Return the ways to lay one return stretch: as it lies, and every other one.

    Pipe that lies flatter than the code asks may not stay.

    Args:
        run: the stretch.
        ways: what :func:`drain_ways` offers.
        kept: what stands on the site.
        catalog: the parts.
    """
    there = kept.drain(run.id)
    if there is None:
        return list(ways)
    pipe = catalog.pipes[there.pipe]
    name = f"{pipe.id} as it lies, at {there.slope:.2%}"
    steep = there.slope >= least_slope(pipe.bore_m) * (1.0 - SAME_SLOPE)
    laid = [DrainWay(name, pipe, there.slope, standing=True)] if steep else []
    return [*laid, *(replace(way, instead=True) for way in ways)]


def drain_tables(
    site: Site,
    catalog: Catalog,
    network: CandidateNetwork,
    candidates: Sequence[BedCandidate],
    plans: Sequence[BranchPlan],
) -> tuple[DrainTable, ...]:
    """Return the table of every return stretch that some plan drains through."""
    ways, kept = drain_ways(site, catalog), Kept(site)
    counts = hunter_counts(site.returns, candidates)
    options = {c.option.id: c for c in candidates}
    served = served_positions(network)
    rows = rows_below(network)
    prices, rivals = drain_prices(catalog, kept), PipeRivals(site)
    tables: list[DrainTable] = []
    for run in drain_runs(network):
        sent: dict[str, float] = {}
        otherwise: list[dict[str, float]] = [{} for _ in counts]
        for plan in plans:
            beds = _beds_through(plan, run.stretch, served, rows)
            if plan.option is not None and beds:
                sent[plan.id] = beds * burst_m3_s(options[plan.option])
                for count, loads in zip(counts, otherwise, strict=True):
                    loads[plan.id] = count.counted_beds(plan.option, beds)
        if sent:
            own = ways_of_run(run, ways, kept, catalog)
            builds = [_build(run, way, counts, site.returns, prices) for way in own]
            useful = _undominated(builds, rivals)
            tables.append(DrainTable(run.id, run.upper, run.lower, useful, sent, tuple(otherwise)))
    return tuple(tables)


def _build(
    run: DrainRun,
    way: DrainWay,
    counts: Sequence[BurstCount],
    returns: Returns,
    prices: DrainPrices,
) -> DrainBuild:
    capacity = _capacity_m3_s(way.pipe.bore_m, way.slope, returns.manning_n, returns.fill_limit)
    return DrainBuild(
        id=way.id,
        cost_cents=prices.of_pipe(run, way)
        + prices.of_fittings(run, way)
        + prices.of_laying(run, way)
        + prices.of_taking_out(run, way),
        capacity_m3_s=capacity,
        fall_m=way.slope * run.length_m,
        crown_m=way.pipe.bore_m,
        pipe="" if way.standing else way.pipe.id,
        pipe_cents=prices.of_pipe(run, way),
        credited_beds=tuple(count.credited_beds(capacity) for count in counts),
    )


@lru_cache(maxsize=1024)
def _capacity_m3_s(bore_m: float, slope: float, manning_n: float, fill_limit: float) -> float:
    """Return what every stretch of the same pipe at the same slope carries."""
    return float(capacity_m3_s(bore_m, slope, manning_n, fill_limit))


def _undominated(builds: Sequence[DrainBuild], rivals: PipeRivals) -> tuple[DrainBuild, ...]:
    kept: list[DrainBuild] = []
    for build in sorted(builds, key=lambda b: (b.cost_cents, b.fall_m, -b.capacity_m3_s)):
        if build.capacity_m3_s > 0.0 and not any(
            k.fall_m <= build.fall_m
            and k.capacity_m3_s >= build.capacity_m3_s
            and k.crown_m <= build.crown_m
            and all(a >= b for a, b in zip(k.carried, build.carried, strict=True))
            and rivals.drain_surely_no_dearer(k, build)
            for k in kept
        ):
            kept.append(build)
    return tuple(kept)


def _plan_length_m(stretch: Stretch) -> float:
    return sum(math.dist(a[:2], b[:2]) for a, b in pairwise(stretch.points))


def _parts(stretch: Stretch, inlets: int) -> tuple[CountedPart, ...]:
    turns = {name: count for name, count in stretch.fittings if name.startswith("elbow")}
    if inlets > 1:
        turns["tee"] = inlets - 1
    else:
        turns["elbow_90"] = turns.get("elbow_90", 0) + 1
        turns["clean_out"] = 1
    return tuple(CountedPart(kind, count) for kind, count in sorted(turns.items()))


def _beds_through(
    plan: BranchPlan,
    stretch: Stretch,
    served: Mapping[str, Mapping[str, tuple[int, ...]]],
    rows: Mapping[str, tuple[str, ...]],
) -> int:
    """Return how many of a plan's beds drain through the return pipe beside a stretch."""
    if plan.branch not in rows[stretch.id]:
        return 0
    own = served[plan.branch].get(stretch.id)
    return plan.beds if own is None else sum(1 for index in own if index <= plan.beds)
