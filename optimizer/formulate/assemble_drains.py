"""The return side of a chosen design: pipes with their inverts, and their lines on the bill."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from optimizer.formulate.bed_options import BedCandidate
from optimizer.formulate.drain_tables import (
    DrainRun,
    DrainWay,
    burst_m3_s,
    drain_prices,
    drain_runs,
    drain_ways,
    draining_share,
)
from optimizer.physics.part_full import capacity_m3_s
from optimizer.physics.simultaneity import least_simultaneous
from optimizer.records.choice import Choice
from optimizer.records.design import BuiltDrain, CostLine
from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog
from optimizer.records.shelf import CountedPart
from optimizer.records.site import Returns, Site

SUMP = "sump"


def built_drains(
    site: Site,
    catalog: Catalog,
    network: CandidateNetwork,
    choice: Choice,
    beds_of: Mapping[str, Sequence[BedCandidate]],
) -> tuple[BuiltDrain, ...]:
    """Return the return pipes as laid.

    Args:
        site: the site.
        catalog: the catalog.
        network: the candidate network.
        choice: what the program chose.
        beds_of: take-off node to the bed options built there.
    """
    ways = {way.id: way for way in drain_ways(site, catalog)}
    runs = [run for run in drain_runs(network) if run.id in choice.drains]
    above = _beds_above(runs, beds_of)
    floor = site.ground.sump_floor_level_m
    return tuple(
        _built(run, ways[choice.drains[run.id]], above[run.id], choice, site.returns, floor)
        for run in runs
    )


def drain_lines(
    site: Site, catalog: Catalog, network: CandidateNetwork, choice: Choice
) -> list[CostLine]:
    """Return the bill's lines for return pipe and its fittings, by size."""
    ways = {way.id: way for way in drain_ways(site, catalog)}
    prices = drain_prices(catalog)
    metres: dict[str, float] = {}
    counts: dict[str, int] = {}
    money: dict[str, tuple[int, int]] = {}
    laying = 0
    for run in drain_runs(network):
        if run.id not in choice.drains:
            continue
        pipe = ways[choice.drains[run.id]].pipe
        before = money.get(pipe.id, (0, 0))
        money[pipe.id] = (
            before[0] + prices.of_pipe(run, pipe),
            before[1] + prices.of_fittings(run, pipe),
        )
        laying += prices.of_laying(run)
        metres[pipe.id] = metres.get(pipe.id, 0.0) + run.length_m
        counts[pipe.id] = counts.get(pipe.id, 0) + sum(part.count for part in run.parts)
    lines: list[CostLine] = []
    for name in sorted(metres, key=lambda p: catalog.pipes[p].bore_m):
        size = catalog.pipes[name].nominal
        lines += [
            CostLine("capital", f"return pipe {size}", name, metres[name], "m", money[name][0]),
            CostLine(
                "capital", f"return fittings {size}", name, counts[name], "piece", money[name][1]
            ),
        ]
    if laying:
        total = sum(metres.values())
        lines.append(CostLine("capital", "laying return pipe", "labour", total, "m", laying))
    return lines


def bursts_counted_m3_s(beds: Sequence[BedCandidate], returns: Returns) -> float:
    """Return the flow that a stretch below these beds is sized for, by the site's rule."""
    bursts = sorted((burst_m3_s(bed) for bed in beds), reverse=True)
    if returns.bursts == "all":
        return sum(bursts)
    share = max(draining_share(bed) for bed in beds)
    return sum(bursts[: least_simultaneous(len(beds), share, returns.confidence)])


def _beds_above(
    runs: Sequence[DrainRun], beds_of: Mapping[str, Sequence[BedCandidate]]
) -> dict[str, list[BedCandidate]]:
    """Return, per run, the beds that drain through it; runs come sump end first."""
    at_node = {node: list(beds) for node, beds in beds_of.items()}
    above: dict[str, list[BedCandidate]] = {}
    for run in reversed(runs):
        above[run.id] = at_node.get(run.upper, [])
        at_node[run.lower] = at_node.get(run.lower, []) + above[run.id]
    return above


def _built(
    run: DrainRun,
    way: DrainWay,
    beds: Sequence[BedCandidate],
    choice: Choice,
    returns: Returns,
    floor_m: float,
) -> BuiltDrain:
    upper, lower = choice.inverts_m[run.upper], choice.inverts_m[run.lower]
    slope = (upper - lower) / run.length_m if run.length_m > 0.0 else way.slope
    pipe = way.pipe
    return BuiltDrain(
        id=run.id,
        row=run.stretch.row,
        tail=run.upper,
        head=run.lower,
        points=_route(run, upper + floor_m, lower + floor_m),
        length_m=run.length_m,
        pipe=pipe.id,
        nominal=pipe.nominal,
        bore_m=pipe.bore_m,
        slope=slope,
        upper_invert_m=upper + floor_m,
        lower_invert_m=lower + floor_m,
        bursts_m3_s=bursts_counted_m3_s(beds, returns),
        capacity_m3_s=float(
            capacity_m3_s(pipe.bore_m, way.slope, returns.manning_n, returns.fill_limit)
        ),
        fill_limit=returns.fill_limit,
        manning_n=returns.manning_n,
        parts=tuple(CountedPart(part.kind, part.count) for part in run.parts),
    )


def _route(run: DrainRun, upper_m: float, lower_m: float) -> tuple[tuple[float, float, float], ...]:
    """Return the route from upper to lower end; inner points get the upper invert's level."""
    plan = list(reversed(run.stretch.points))
    levels = [upper_m] * (len(plan) - 1) + [lower_m]
    return tuple((x, y, level) for (x, y, _), level in zip(plan, levels, strict=True))
