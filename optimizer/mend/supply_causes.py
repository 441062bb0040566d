"""Why a bed gets too little with its own valve wide open: other valves, a stretch or the pump."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from optimizer.mend.as_built import AsBuilt
from optimizer.mend.built_tank import TANK_WORDS
from optimizer.mend.state import Running, running
from optimizer.mend.turns import set_to_need
from optimizer.records.design import BuiltStretch, Design
from optimizer.simulate.edge_losses import pipes_of
from optimizer.simulate.operating_point import point_of_draws, valve_resistance_s2_m5

NARROWED_SHARE = 0.98
"""A clear bore below this share of its size's own bore counts as narrowed (assumption)."""

WORN_SHARE = 0.97
"""Heads below this share of the pump's curve as sold count as worn (assumption)."""


@dataclass(frozen=True)
class Blame:
    """A cause and the thing to blame for it."""

    cause: str
    blamed: str


def inflows_needed_m3_s(design: Design) -> dict[str, float]:
    """Return the least inflow each bed should be set to, every error counted."""
    kinds = {kind.id: kind for kind in design.kinds}
    return {bed.id: kinds[bed.kind].inflow_m3_s for bed in design.beds}


def spare_heads_m(design: Design, inflows: Mapping[str, float]) -> dict[str, float]:
    """Return the head left for each bed's fully open valve, if all got given inflows.

    Below 0 where the pump does not reach.
    """
    drops = {stretch.id: stretch for stretch in design.stretches}
    draws: dict[str, float] = {}
    for bed in design.beds:
        tail = drops[bed.drop].tail
        draws[tail] = draws.get(tail, 0.0) + inflows[bed.id]
    heads = point_of_draws(design, draws, design.sump.setting_m).heads_m
    pipes = pipes_of([drops[b.drop] for b in design.beds], design.promise.water_temperature_c)
    flows = np.array([inflows[bed.id] for bed in design.beds])
    lost = pipes.head_loss_m(flows).tolist()
    return {
        bed.id: heads[drops[bed.drop].tail]
        - bed.outlet_level_m
        - loss
        - valve_resistance_s2_m5(bed.valve_losses[-1], bed.valve_bore_m) * inflows[bed.id] ** 2
        for bed, loss in zip(design.beds, lost, strict=True)
    }


def supply_blame(built: AsBuilt, now: Running, bed: str) -> Blame:
    """Return what is to blame for a bed that gets too little.

    What was found narrowed or worn is tried first: put right alone, with every valve as it is, does
    the bed get enough? Then beds that get too much: set to what they need, does it? Then its own
    valve and those of all beds short of water, wide open. If none of it does, then the stretch that
    would win back most head by a wider size, if that is enough for every bed at the least it needs;
    else the pump is too weak.

    Args:
        built: the system.
        now: how it runs as it stands.
        bed: the bed.
    """
    for name, cleared in _cleared(built, bed):
        if _is_fed(running(cleared, now.openings), bed):
            return Blame("stretch narrowed", name)
    if _is_worn(built) and _is_fed(running(_with_pump(built), now.openings), bed):
        return Blame("pump worn", "pump")
    greedy = [each.bed for each in now.beds if not each.works and _is_fed(now, each.bed)]
    if greedy and _is_fed(set_to_need(built.design, now.openings, greedy, 0.0), bed):
        return Blame("other valves too open", _greediest(built, now, greedy))
    short = {each.bed: 1.0 for each in now.beds if not _is_fed(now, each.bed)}
    wide = running(built.design, {**now.openings, **short})
    if all(_is_fed(wide, each) for each in short):
        return Blame("valve too shut", bed)
    return _weak_part(built, bed)


def _weak_part(built: AsBuilt, bed: str) -> Blame:
    """Return the stretch that is too narrow for every bed at the least it needs, or the pump."""
    design, needed = built.design, inflows_needed_m3_s(built.design)
    for name, cleared in _cleared(built, bed):
        if _reaches(cleared, needed, bed):
            return Blame("stretch narrowed", name)
    worn = _is_worn(built)
    if worn and _reaches(_with_pump(built), needed, bed):
        return Blame("pump worn", "pump")
    widest = max(pipe.bore_m for pipe in built.catalog.pipes.values())
    wins = {
        stretch.id: spare_heads_m(_widened(design, stretch.id, widest), needed)[bed]
        for stretch in path_to(design, bed)
    }
    best = max(wins, key=wins.__getitem__)
    if wins[best] >= 0.0:
        return Blame("stretch too narrow", best)
    if design.tank is not None:
        return Blame("tank too low", TANK_WORDS)
    return Blame("pump worn" if worn else "pump too weak", "pump")


def _cleared(built: AsBuilt, bed: str) -> Iterator[tuple[str, Design]]:
    """Yield every narrowed stretch on the way to a bed, and the system with that one clear."""
    for stretch in path_to(built.design, bed):
        own = built.catalog.pipes[stretch.pipe].bore_m
        if stretch.bore_m < NARROWED_SHARE * own:
            yield stretch.id, _widened(built.design, stretch.id, own)


def _is_worn(built: AsBuilt) -> bool:
    return built.stands.pump_head_share < WORN_SHARE


def _is_fed(now: Running, bed: str) -> bool:
    """Return whether a bed gets at least what it needs, errors counted."""
    state = now.bed(bed)
    error = now.design.promise.valve_setting_error
    return state.inflow_m3_s[0] * (1.0 - error) >= state.needs_m3_s[0]


def path_to(design: Design, bed: str) -> list[BuiltStretch]:
    """Return the stretches that lead to a bed, from the pump on."""
    into = {stretch.head: stretch for stretch in design.stretches}
    found, node = [], bed
    while node in into:
        found.append(into[node])
        node = into[node].tail
    return found[::-1]


def _greediest(built: AsBuilt, now: Running, greedy: list[str]) -> str:
    """Return the bed that takes most beyond what it needs."""
    needed = inflows_needed_m3_s(built.design)
    return max(greedy, key=lambda name: now.bed(name).inflow_m3_s[1] - needed[name])


def _reaches(design: Design, needed: Mapping[str, float], bed: str) -> bool:
    return spare_heads_m(design, needed)[bed] >= 0.0


def _widened(design: Design, stretch: str, bore_m: float) -> Design:
    stretches = tuple(
        replace(s, bore_m=max(bore_m, s.bore_m)) if s.id == stretch else s for s in design.stretches
    )
    return replace(design, stretches=stretches)


def _with_pump(built: AsBuilt) -> Design:
    """Return the system with its pump as sold."""
    heads = built.catalog.pumps[built.stands.pump].heads_m
    return replace(built.design, pump=replace(built.design.pump, heads_m=heads))
