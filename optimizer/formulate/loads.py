"""Everything that every stretch may be asked to carry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.formulate.bed_options import BedCandidate
from optimizer.formulate.shared_flows import reachable_flows
from optimizer.records.bed_inlet import INLET_OVER_RIM_M
from optimizer.records.network import CandidateNetwork, Position, Stretch
from optimizer.records.problem import BranchPlan, Duty
from optimizer.records.site import Site

STILL = "still"
"""The duty of pipe whose flow no table knows: what closes a ring."""


@dataclass(frozen=True)
class Load:
    """A duty of a stretch, the pipe length it then needs, and whether it ends at its last bed."""

    duty: Duty
    length_m: float
    last: bool


def outlet_level_m(candidate: BedCandidate, ground_level_m: float) -> float:
    """Return the level (site datum) at which water enters a bed on the ground at a level."""
    kind = candidate.kind
    return ground_level_m + kind.stand_height_m + kind.depth_m + INLET_OVER_RIM_M


def drop_length_m(stretch: Stretch, candidate: BedCandidate, outlet_m: float) -> float:
    """Return a drop's length: up from the lateral to its outlet, and half a bed's width inward."""
    return stretch.length_m + abs(outlet_m - stretch.points[-1][2]) + candidate.kind.width_m / 2.0


def loads_by_stretch(
    site: Site,
    network: CandidateNetwork,
    candidates: Sequence[BedCandidate],
    plans: Sequence[BranchPlan],
) -> dict[str, tuple[Load, ...]]:
    """Return the loads of every stretch, in a settled order."""
    carried: dict[str, set[str]] = {}
    for plan in plans:
        for stretch_id, duty in plan.duties.items():
            carried.setdefault(stretch_id, set()).add(duty)
    positions = {f"bed {p.id}": p for p in network.positions}
    rows = rows_below(network)
    options = [c.option for c in candidates]
    loads: dict[str, tuple[Load, ...]] = {}
    for stretch in network.supply:
        duties = carried.get(stretch.id, set())
        if stretch.kind == "drop":
            position = positions[stretch.head]
            loads[stretch.id] = _drop_loads(stretch, duties, candidates, position, site)
        elif stretch.row is not None:
            loads[stretch.id] = _own_loads(stretch, duties)
        else:
            flows = sorted(
                {
                    flow
                    for together in rows_at_once(rows[stretch.id], site)
                    for flow in reachable_flows(together, plans, options, site.goals.beds_least)
                }
            )
            loads[stretch.id] = tuple(
                Load(Duty(str(f), f), stretch.length_m, last=False) for f in flows
            )
    return loads


def closing_load(stretch: Stretch) -> Load:
    """Return the load of the pipe that closes a ring: its flow follows from the sizes."""
    return Load(Duty(STILL, 1), stretch.length_m, last=False)


def rows_at_once(rows: Sequence[str], site: Site) -> list[tuple[str, ...]]:
    """Return the rows of a stretch that have water together: all, or those of each zone."""
    if site.zones is None:
        return [tuple(rows)]
    groups = (tuple(row for row in rows if row in group) for group in site.zones.groups)
    return [group for group in groups if group]


def rows_below(network: CandidateNetwork) -> dict[str, tuple[str, ...]]:
    """Return the rows that each stretch serves, in order of their ids."""
    below: dict[str, set[str]] = {}
    for stretch in reversed(network.stretches):
        rows = below.setdefault(stretch.head, set())
        if stretch.row is not None:
            rows.add(stretch.row)
        below.setdefault(stretch.tail, set()).update(rows)
    return {s.id: tuple(sorted(below[s.head])) for s in network.stretches}


def _own_loads(stretch: Stretch, duties: set[str]) -> tuple[Load, ...]:
    """Return the loads of a lateral, or of the riser where the site has one row."""
    found: list[Load] = []
    for name in duties:
        flow, _, last = name.partition(" ")
        found.append(Load(Duty(name, int(flow)), stretch.length_m, last=bool(last)))
    return tuple(sorted(found, key=lambda load: (load.duty.flow_steps, load.duty.id)))


def _drop_loads(
    stretch: Stretch,
    duties: set[str],
    candidates: Sequence[BedCandidate],
    position: Position,
    site: Site,
) -> tuple[Load, ...]:
    found: list[Load] = []
    for candidate in candidates:
        if candidate.option.id in duties:
            level = outlet_level_m(candidate, position.ground_level_m)
            above_floor = level - site.ground.sump_floor_level_m
            duty = Duty(candidate.option.id, candidate.option.inflow_steps, above_floor)
            found.append(Load(duty, drop_length_m(stretch, candidate, level), last=False))
    return tuple(found)
