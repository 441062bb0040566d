"""The return side of a chosen design: pipes with their inverts, and their lines on the bill."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from optimizer.formulate.bed_options import BedCandidate
from optimizer.formulate.burst_counts import burst_m3_s, draining_share
from optimizer.formulate.drain_prices import DrainRun, DrainWay, drain_prices
from optimizer.formulate.drain_tables import drain_runs, drain_ways, ways_of_run
from optimizer.formulate.kept import Kept
from optimizer.physics.part_full import capacity_m3_s
from optimizer.physics.simultaneity import least_simultaneous
from optimizer.records.choice import Choice
from optimizer.records.design import BuiltDrain, CostLine
from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog
from optimizer.records.site import Returns, Site


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
    chosen = _chosen(site, catalog, network, choice)
    runs = [run for run, _ in chosen]
    above = _beds_above(runs, beds_of)
    floor = site.ground.sump_floor_level_m
    return tuple(
        _built(run, way, above[run.id], choice, site.returns, floor) for run, way in chosen
    )


def _chosen(
    site: Site, catalog: Catalog, network: CandidateNetwork, choice: Choice
) -> list[tuple[DrainRun, DrainWay]]:
    """Return every stretch of return pipe that is laid, with the way it is."""
    ways, kept = drain_ways(site, catalog), Kept(site)
    return [
        (run, next(w for w in own if w.id == choice.drains[run.id]))
        for run in drain_runs(network)
        if run.id in choice.drains
        for own in [ways_of_run(run, ways, kept, catalog)]
    ]


def drain_lines(
    site: Site, catalog: Catalog, network: CandidateNetwork, choice: Choice
) -> list[CostLine]:
    """Return the bill's lines for return pipe and its fittings, by size."""
    prices = drain_prices(catalog, Kept(site))
    metres: dict[str, float] = {}
    counts: dict[str, int] = {}
    money: dict[str, tuple[int, int]] = {}
    laying, taking_out = 0, 0
    for run, way in _chosen(site, catalog, network, choice):
        if way.standing:
            continue
        pipe = way.pipe
        before = money.get(pipe.id, (0, 0))
        money[pipe.id] = (
            before[0] + prices.of_pipe(run, way),
            before[1] + prices.of_fittings(run, way),
        )
        laying += prices.of_laying(run, way)
        taking_out += prices.of_taking_out(run, way)
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
    if taking_out:
        what = "work of taking out return pipe"
        lines.append(CostLine("capital", what, "labour", 1.0, "piece", taking_out))
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
        parts=() if way.standing else run.parts,
        standing=way.standing,
    )


def _route(run: DrainRun, upper_m: float, lower_m: float) -> tuple[tuple[float, float, float], ...]:
    """Return the route from upper to lower end; inner points get the upper invert's level."""
    plan = list(reversed(run.stretch.points))
    levels = [upper_m] * (len(plan) - 1) + [lower_m]
    return tuple((x, y, level) for (x, y, _), level in zip(plan, levels, strict=True))
