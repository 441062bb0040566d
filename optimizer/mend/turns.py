"""Mending by valves and water alone: a sump filled right, valves set by a rule of thumb."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from optimizer.mend.as_built import filled_to, losses_at
from optimizer.mend.state import Running, needs_m3_s, running
from optimizer.physics.valve import opening_for_loss
from optimizer.records.design import Bed, Design
from optimizer.simulate.edge_losses import pipes_of
from optimizer.simulate.operating_point import operating_point, valve_resistance_s2_m5
from optimizer.simulate.sump_levels import sump_levels

ROUNDS = 60
"""Rounds in which valve losses are brought to the inflows wanted."""

SHARES = (0.0, 0.05, 0.1, 0.25)
"""How far from the least to the most that a bed may get its valve is set."""

SETTLED = 1e-3
"""Relative: a valve loss that moves no more in a round is set."""


def turned(design: Design, openings: Mapping[str, float]) -> Running | None:
    """Return the system running with as few valves turned as make every bed work; None if none do.

    Beds that do not work are set to the least they may get, or a little way from there to the most;
    where others then fail they are set too. Of the settings that do, the one with fewest valves
    turned is returned, and of these the one whose weakest bed has most margin. Where none does,
    every valve is set as low as it may be.

    Args:
        design: the system, its sump filled as it should be.
        openings: bed to the share its valve is open now.
    """
    now = running(design, openings)
    failing = [bed.bed for bed in now.beds if not bed.works]
    ways = [_growing(design, openings, failing, share) for share in SHARES]
    working = [way for way in ways if way is not None]
    if working:
        return min(working, key=lambda way: _turns_and_margin(way, openings))
    every = [bed.id for bed in design.beds]
    for share in (0.1, 0.0):
        found = set_to_need(design, openings, every, share)
        if all(bed.works for bed in found.beds):
            return found
    return None


def _turns_and_margin(way: Running, openings: Mapping[str, float]) -> tuple[int, float]:
    turns = sum(way.openings[name] != openings[name] for name in openings)
    return turns, -min(bed.margin for bed in way.beds)


def refilled(design: Design) -> Design | None:
    """Return a system filled so that its pump stays covered and nothing overflows; None if none is.

    Where the fill it has does both it stays. Else the sump stands as far above the least as below
    the most it may.
    """
    sump, levels = design.sump, sump_levels(design)
    least_m, most_m = design.pump.submergence_m, sump.depth_m - sump.freeboard_m
    if levels.lowest_m >= least_m and levels.power_cut_m <= most_m:
        return design
    low = levels.highest_m + least_m - levels.lowest_m
    high = levels.highest_m + most_m - levels.power_cut_m
    return filled_to(design, (low + high) / 2.0) if low <= high else None


def _growing(
    design: Design, openings: Mapping[str, float], failing: Iterable[str], share: float
) -> Running | None:
    """Set the failing beds, then those that fail for it, until all work or none are new."""
    beds = list(failing)
    while True:
        found = set_to_need(design, openings, beds, share)
        worse = [bed.bed for bed in found.beds if not bed.works]
        if not worse:
            return found
        new = [bed for bed in worse if bed not in beds]
        if not new:
            return None
        beds += new


def set_to_need(
    design: Design, openings: Mapping[str, float], beds: list[str], share: float
) -> Running:
    """Set some valves so that their beds get what they need, the others left as they are.

    Args:
        design: the system.
        openings: bed to the share its valve is open now.
        beds: the beds to set.
        share: how far from the least to the most that each may get it is set.
    """
    return running(design, set_inflows(design, openings, _wanted_m3_s(design, beds, share)))


def set_inflows(
    design: Design, openings: Mapping[str, float], wanted_m3_s: Mapping[str, float]
) -> dict[str, float]:
    """Return openings at which some beds get given inflows, the sump at the middle of its range.

    The other valves stay as they are. A bed that its open valve cannot feed so has it wide open.

    Args:
        design: the system.
        openings: bed to the share its valve is open now.
        wanted_m3_s: inflow of each bed whose valve is set.
    """
    of = {bed.id: bed for bed in design.beds}
    losses, level = losses_at(design, openings), max(0.0, design.sump.setting_m)
    asked = _drop_losses_m(design, wanted_m3_s)
    for _ in range(ROUNDS):
        point = operating_point(design, losses, level)
        off = 0.0
        for name, (node, lost_m, per_k_m) in asked.items():
            before = losses[name]
            left_m = point.heads_m[node] - of[name].outlet_level_m - lost_m
            losses[name] = held(of[name], (before + left_m / per_k_m) / 2.0)
            off = max(off, abs(losses[name] - before) / before)
        if off < SETTLED:
            break
    new = dict(openings)
    for name in wanted_m3_s:
        bed = of[name]
        new[name] = opening_for_loss(losses[name], bed.valve_openings, bed.valve_losses)
    return new


def _drop_losses_m(
    design: Design, wanted_m3_s: Mapping[str, float]
) -> dict[str, tuple[str, float, float]]:
    """Return, by bed, where its drop begins, what it loses at an inflow, and a valve per unit K."""
    drops = {stretch.id: stretch for stretch in design.stretches}
    found: dict[str, tuple[str, float, float]] = {}
    for bed in design.beds:
        if bed.id in wanted_m3_s:
            drop, flow = drops[bed.drop], wanted_m3_s[bed.id]
            pipe = pipes_of([drop], design.promise.water_temperature_c)
            lost = float(pipe.head_loss_m(np.array([flow]))[0])
            per_k = valve_resistance_s2_m5(1.0, bed.valve_bore_m) * flow**2
            found[bed.id] = (drop.tail, lost, per_k)
    return found


def held(bed: Bed, loss: float) -> float:
    """Return a loss K of a bed's valve, held to those its openings give."""
    return min(max(loss, bed.valve_losses[-1]), bed.valve_losses[0])


def _wanted_m3_s(design: Design, beds: Iterable[str], share: float) -> dict[str, float]:
    """Return the inflow each bed is set to: a share of the way from the least to the most."""
    kinds = {kind.id: kind for kind in design.kinds}
    kind_of = {bed.id: kinds[bed.kind] for bed in design.beds}
    error, drift = design.promise.valve_setting_error, design.promise.level_drift
    wanted: dict[str, float] = {}
    for name in beds:
        low, high = needs_m3_s(design, kind_of[name])
        least = low / (1.0 - error) / (1.0 - drift)
        most = high / (1.0 + error) / (1.0 + drift)
        wanted[name] = least + share * (most - least) if most > least else least
    return wanted
