"""Pipe that stands, supply and return, as a design records it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from optimizer.formulate.drain_tables import drain_runs
from optimizer.formulate.plans import VENT_GAP_M
from optimizer.physics.part_full import capacity_m3_s
from optimizer.records.bed_inlet import INLET_OVER_RIM_M
from optimizer.records.design import Bed, BedKind, BuiltDrain, BuiltFitting, BuiltStretch
from optimizer.records.network import CandidateNetwork, Stretch
from optimizer.records.parts import Catalog, Pipe
from optimizer.records.site import Site
from optimizer.records.stands import Stands


def supply_pipes(
    site: Site,
    catalog: Catalog,
    network: CandidateNetwork,
    stands: Stands,
    kinds: Mapping[str, BedKind],
) -> tuple[BuiltStretch, ...]:
    """Return the supply pipes as they stand; ``kinds`` is by bed."""
    laid = {each.stretch: each for each in stands.stretches}
    drops = {f"drop {each.bed}": each for each in stands.beds}
    beds = {p.id: p for p in network.positions}
    found: list[BuiltStretch] = []
    for stretch in network.stretches:
        if stretch.kind == "drop":
            each = drops[stretch.id]
            kind, ground = kinds[each.bed], beds[each.bed].ground_level_m
            outlet = ground + kind.stand_height_m + kind.depth_m + INLET_OVER_RIM_M
            x, y, low = stretch.points[0]
            length = stretch.length_m + abs(outlet - low) + kind.width_m / 2.0
            routed = replace(stretch, points=((x, y, low), (x, y, outlet)), length_m=length)
            found.append(_stretch(routed, catalog.pipes[each.pipe], catalog, None))
        else:
            there = laid[stretch.id]
            found.append(_stretch(stretch, catalog.pipes[there.pipe], catalog, there.bore_m))
    return tuple(found)


def _stretch(stretch: Stretch, pipe: Pipe, catalog: Catalog, bore_m: float | None) -> BuiltStretch:
    fittings = tuple(
        BuiltFitting(name, count, catalog.losses[name].value) for name, count in stretch.fittings
    )
    bore = pipe.bore_m if bore_m is None else bore_m
    return BuiltStretch(
        id=stretch.id,
        kind=stretch.kind,
        row=stretch.row,
        tail=stretch.tail,
        head=stretch.head.removeprefix("bed "),
        points=stretch.points,
        length_m=stretch.length_m,
        pipe=pipe.id,
        nominal=pipe.nominal,
        bore_m=bore,
        roughness_m=pipe.roughness_m,
        rating_pa=pipe.rating_pa,
        fittings=fittings,
        loss_coefficient=sum(f.count * f.loss_coefficient for f in fittings),
        flow_m3_s=0.0,
        loss_m=0.0,
        volume_m3=math.pi / 4.0 * bore**2 * stretch.length_m,
        standing=True,
        material=pipe.material,
    )


def return_pipes(
    site: Site,
    catalog: Catalog,
    network: CandidateNetwork,
    stands: Stands,
    beds: Sequence[Bed],
) -> tuple[BuiltDrain, ...]:
    """Return the return pipes, each as high as siphons and the pipes above it let it lie."""
    laid = {each.stretch: each for each in stands.drains}
    outlets = {bed.drain: bed.siphon_outlet_level_m for bed in beds}
    inverts: dict[str, float] = {}
    found = []
    for run in reversed(drain_runs(network)):
        if run.id not in laid:
            continue
        each = laid[run.id]
        pipe = catalog.pipes[each.pipe]
        under = outlets.get(run.id, math.inf) - VENT_GAP_M - pipe.bore_m
        upper = min(under, inverts.get(run.upper, math.inf))
        lower = upper - each.slope * run.length_m
        inverts[run.lower] = min(lower, inverts.get(run.lower, math.inf))
        plan = [(x, y, upper) for x, y, _ in reversed(run.stretch.points)]
        capacity = capacity_m3_s(
            pipe.bore_m, each.slope, site.returns.manning_n, site.returns.fill_limit
        )
        found.append(
            BuiltDrain(
                id=run.id,
                row=run.stretch.row,
                tail=run.upper,
                head=run.lower,
                points=(*plan[:-1], (*plan[-1][:2], lower)),
                length_m=run.length_m,
                pipe=pipe.id,
                nominal=pipe.nominal,
                bore_m=pipe.bore_m,
                slope=each.slope,
                upper_invert_m=upper,
                lower_invert_m=lower,
                bursts_m3_s=0.0,
                capacity_m3_s=float(capacity),
                fill_limit=site.returns.fill_limit,
                manning_n=site.returns.manning_n,
                standing=True,
            )
        )
    return tuple(reversed(found))
