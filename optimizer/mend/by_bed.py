"""The program's view of a system that stands: a branch for every bed, everything there kept free.

A row holds one bed type, and beds of one type share a siphon. In a system that stands one bed of a
row may have a siphon of its own, so each bed is a branch here, and beds whose siphons are alike are
one bed type.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from optimizer.mend.as_built import AsBuilt, kind_names, standing_siphon
from optimizer.mend.crests import crests_m
from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog, Pipe, Pump
from optimizer.records.site import BedType, Goals, Purchase, Site, Standing
from optimizer.records.standing import (
    StandingDrain,
    StandingSiphon,
    StandingStretch,
)

AS_IT_IS = "as it is"
"""Ends the id of a part of the catalog that is not as it was sold: worn or narrowed."""


@dataclass(frozen=True)
class Framed:
    """A site, its catalog and its network as the program takes them."""

    site: Site
    catalog: Catalog
    network: CandidateNetwork


def framed(built: AsBuilt) -> Framed:
    """Return a system as the program takes it.

    Money to buy with alone counts: energy is free here, so that no change is made to save it.

    Args:
        built: the system.
    """
    catalog = _with_own_parts(built)
    return Framed(_site(built), catalog, _network(built))


def _site(built: AsBuilt) -> Site:
    site, names = built.site, kind_names(built.stands)
    types = {bed_type.id: bed_type for bed_type in site.bed_types}
    of_bed = {each.bed: each for each in built.stands.beds}
    bed_types: dict[str, BedType] = {}
    siphons: dict[str, StandingSiphon] = {}
    for bed, name in names.items():
        base = types[of_bed[bed].bed_type]
        bed_types.setdefault(name, replace(base, id=name, like=base.id))
        there = standing_siphon(of_bed[bed], name)
        siphons.setdefault(name, replace(there, crests_m=crests_m(built, there, base)))
    rows = {row.id: row for row in site.rows}
    branches = tuple(
        replace(
            rows[p.row],
            id=p.id,
            start=(p.x_m, p.y_m),
            positions=1,
            level_m=p.ground_level_m,
            bed_types=(names[p.id],),
            beds_least=1,
            beds_most=1,
            named=True,
            standing_beds=1,
            standing_type=names[p.id],
        )
        for p in built.network.positions
    )
    goals = replace(site.goals, beds_least=len(branches), growing_area_least_m2=0.0, budget=None)
    return replace(
        site,
        bed_types=tuple(bed_types.values()),
        rows=branches,
        goals=_for_nothing_but_parts(goals),
        purchase=_purchase(built),
        standing=_standing(built, tuple(siphons.values())),
        noise=None,
    )


def _for_nothing_but_parts(goals: Goals) -> Goals:
    return replace(goals, energy_price_per_kwh=0.0, planning_years=1.0)


def _purchase(built: AsBuilt) -> Purchase:
    """Return what may be bought; as many pumps and tanks side by side as stand are allowed."""
    purchase, stands = built.site.purchase, built.stands
    catalog = built.catalog
    return replace(
        purchase,
        pumps=purchase.pumps or tuple(sorted(catalog.pumps)),
        sumps=purchase.sumps or tuple(sorted(catalog.sumps)),
        pumps_in_parallel_most=max(purchase.pumps_in_parallel_most, stands.pump_count),
        sumps_most=max(purchase.sumps_most, stands.sump_count),
        spare_pump=False,
        pipe_sizes_most=None,
        two_sizes_on_a_stretch=False,
    )


def _standing(built: AsBuilt, siphons: tuple[StandingSiphon, ...]) -> Standing:
    stands = built.stands
    return replace(
        built.site.standing,
        pump=_pump_id(built),
        pump_count=stands.pump_count,
        sump=stands.sump,
        sump_count=stands.sump_count,
        pipes=(),
        stretches=(
            *(StandingStretch(s.stretch, _pipe_id(built, s.stretch)) for s in stands.stretches),
            *(StandingStretch(f"drop {b.bed}", b.pipe, b.valve) for b in stands.beds),
        ),
        drains=tuple(StandingDrain(d.stretch, d.pipe, d.slope) for d in stands.drains),
        siphons=siphons,
        tank=built.design.tank is not None,
        overflow=stands.overflow,
        not_sold=(_pump_id(built),) if _pump_id(built) != stands.pump else (),
    )


def _pump_id(built: AsBuilt) -> str:
    worn = built.stands.pump_head_share != 1.0
    return f"{built.stands.pump} {AS_IT_IS}" if worn else built.stands.pump


def _pipe_id(built: AsBuilt, stretch: str) -> str:
    each = next(s for s in built.stands.stretches if s.stretch == stretch)
    return each.pipe if each.bore_m is None else f"{stretch} {AS_IT_IS}"


def _with_own_parts(built: AsBuilt) -> Catalog:
    """Return the catalog with the worn pump and every narrowed stretch as parts of their own."""
    catalog, stands = built.catalog, built.stands
    pipes: dict[str, Pipe] = dict(catalog.pipes)
    pumps: dict[str, Pump] = dict(catalog.pumps)
    for each in stands.stretches:
        if each.bore_m is not None:
            name = _pipe_id(built, each.stretch)
            sold = catalog.pipes[each.pipe]
            pipes[name] = replace(sold, id=name, series=AS_IT_IS, bore_m=each.bore_m)
    if _pump_id(built) != stands.pump:
        sold_pump = catalog.pumps[stands.pump]
        heads = tuple(stands.pump_head_share * head for head in sold_pump.heads_m)
        name = _pump_id(built)
        pumps[name] = replace(sold_pump, id=name, heads_m=heads)
    services = {k: s for k, s in catalog.services.items() if s.per != "site"}
    return replace(catalog, pipes=pipes, pumps=pumps, services=services)


def _network(built: AsBuilt) -> CandidateNetwork:
    """Return the network with every drop a branch of its own and all other pipe shared."""
    network = built.network
    beds = {f"bed {p.id}": p.id for p in network.positions}
    return replace(
        network,
        positions=tuple(replace(p, row=p.id, index=1) for p in network.positions),
        stretches=tuple(replace(s, row=beds.get(s.head)) for s in network.stretches),
    )
