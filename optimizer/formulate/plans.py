"""Every way to build each row: how many beds, of which option, and what its pipes then carry."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from optimizer.formulate.bed_options import BedCandidate
from optimizer.records.network import CandidateNetwork, Position
from optimizer.records.problem import BranchPlan
from optimizer.records.site import Row, Site

VENT_GAP_M = 0.05
"""Air between a siphon's outlet and its collector's crown (A13, common practice, no source)."""


def flow_duty(flow_steps: int, beds: int) -> str:
    """Return the duty id of a lateral: its flow, and whether it ends at its last bed."""
    return f"{flow_steps} last" if beds == 1 else str(flow_steps)


def branch_plans(
    site: Site,
    network: CandidateNetwork,
    candidates: tuple[BedCandidate, ...],
    held_share: float = 1.0,
) -> tuple[BranchPlan, ...]:
    """Return the plans of every row: empty where allowed, then each option and number of beds.

    Args:
        site: the site.
        network: its candidate network.
        candidates: bed options.
        held_share: share of the water of all beds full that the sump must be able to give.
    """
    served = served_positions(network)
    beds_of = {row.id: [p for p in network.positions if p.row == row.id] for row in site.rows}
    plans: list[BranchPlan] = []
    for row in site.rows:
        if row.beds_least == 0 and row.standing_beds == 0:
            plans.append(BranchPlan(f"{row.id} empty", row.id, None, 0, 0, 0, 0.0, 0.0, {}))
        for candidate in candidates:
            if _fits(row, candidate):
                least = max(1, row.beds_least, row.standing_beds)
                for beds in range(least, _most_beds(row, candidate, site) + 1):
                    plan = _plan(row, candidate, beds_of[row.id][:beds], served, site)
                    plans.append(replace(plan, held_m3=held_share * plan.held_m3))
    return tuple(plans)


def served_positions(network: CandidateNetwork) -> Mapping[str, Mapping[str, tuple[int, ...]]]:
    """Return, per row and stretch that serves it alone, the indices of the positions beyond it."""
    below: dict[str, dict[str, list[int]]] = {}
    row_of: dict[str, str | None] = {s.id: s.row for s in network.stretches}
    into = {s.head: s for s in network.stretches}
    for position in network.positions:
        node = f"bed {position.id}"
        while node in into:
            stretch = into[node]
            if row_of[stretch.id] == position.row:
                by_stretch = below.setdefault(position.row, {})
                by_stretch.setdefault(stretch.id, []).append(position.index)
            node = stretch.tail
    return {
        row: {stretch: tuple(sorted(indices)) for stretch, indices in stretches.items()}
        for row, stretches in below.items()
    }


def _most_beds(row: Row, candidate: BedCandidate, site: Site) -> int:
    """Return the most beds of an option: no more than stand of a siphon that is not sold."""
    if candidate.stands and candidate.kind.kit in site.standing.not_sold:
        return min(row.beds_most, row.standing_beds)
    return row.beds_most


def siphons_bought(row: Row, candidate: BedCandidate, beds: int) -> int:
    """Return how many of so many beds in a row get a siphon that does not stand there yet."""
    return beds - min(beds, row.standing_beds) if candidate.stands else beds


def siphons_changed(row: Row, candidate: BedCandidate, beds: int) -> int:
    """Return how many of so many beds in a row have a siphon that is taken out."""
    return min(beds, row.standing_beds) if candidate.change_cents else 0


def _fits(row: Row, candidate: BedCandidate) -> bool:
    kind = candidate.option.bed_type
    if row.standing_beds and row.standing_type and kind != row.standing_type:
        return False
    return kind in row.bed_types


def _plan(
    row: Row,
    candidate: BedCandidate,
    built: Sequence[Position],
    served: Mapping[str, Mapping[str, tuple[int, ...]]],
    site: Site,
) -> BranchPlan:
    option, kind, beds = candidate.option, candidate.kind, len(built)
    loss = site.water_loss
    duties: dict[str, str] = {}
    for stretch, indices in served.get(row.id, {}).items():
        below = sum(1 for index in indices if index <= beds)
        if below and stretch.startswith("drop "):
            duties[stretch] = option.id
        elif below:
            duties[stretch] = flow_duty(below * option.inflow_steps, below)
    bought = beds - min(beds, row.standing_beds)
    cost = (
        bought * candidate.shell_cents
        + siphons_bought(row, candidate, beds) * (candidate.siphon_cents + candidate.vent_cents)
        + siphons_changed(row, candidate, beds) * candidate.change_cents
        + bought * candidate.labour_cents
    )
    return BranchPlan(
        id=f"{row.id}: {beds} x {option.id}",
        branch=row.id,
        option=option.id,
        beds=beds,
        flow_steps=beds * option.inflow_steps,
        cost_cents=cost,
        area_m2=beds * kind.area_m2,
        held_m3=beds * kind.held_m3,
        duties=duties,
        lost_m3=beds * kind.area_m2 * loss.evaporation_m_per_day * loss.top_up_days,
        drain_levels_m={
            p.take_off: drain_level_m(site, candidate, p.ground_level_m) for p in built
        },
    )


def drain_level_m(site: Site, candidate: BedCandidate, ground_level_m: float) -> float:
    """Return the highest crown of a collector under a bed, above the sump's floor."""
    kind = candidate.kind
    outlet = ground_level_m + kind.stand_height_m + kind.siphon.outlet_level_m
    return outlet - VENT_GAP_M - site.ground.sump_floor_level_m
