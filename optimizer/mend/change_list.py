"""What to do: the difference between a system as it stands and as it shall be."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from optimizer.mend.as_built import AsBuilt
from optimizer.mend.state import Running
from optimizer.records.design import Bed, BedKind, Design
from optimizer.records.mending import Change

SEEN_TURN = 0.01
"""A turn by no more than this share is told to a tenth of a percent, not to a whole one."""

SEEN_LEVEL_M = 0.005
"""The sump's water is changed where its level moves by more than this."""


def changes_of(built: AsBuilt, openings: Mapping[str, float], now: Running) -> tuple[Change, ...]:
    """Return every change, what is bought first, then water, then valves.

    Args:
        built: the system as it stands.
        openings: bed to the share its valve is open as it stands.
        now: the system with the changes made.
    """
    return (
        *_plant(built.design, now.design),
        *_overflow(built.design, now.design),
        *_pipes(built.design, now.design),
        *_beds(built.design, now.design),
        *_water(built.design, now.design),
        *_turns(built.design, openings, now),
    )


def _plant(before: Design, after: Design) -> Iterator[Change]:
    pump, sump = after.pump, after.sump
    if not pump.standing or pump.count > pump.there:
        words = f"Put in {pump.count} x {pump.label} ({pump.id}) in place of what stands."
        yield Change("pump", "pump", words, math.nan)
    elif pump.count < before.pump.count:
        yield Change("pump", "pump", f"Run {pump.count} pump(s) only.", math.nan)
    if not sump.standing or sump.count > sump.there:
        words = (
            f"Have {sump.count} x {sump.label} ({sump.id}) as sump, where {before.sump.count} x "
        )
        yield Change("sump", "sump", f"{words}{before.sump.label} stand.", math.nan)
    elif sump.count < before.sump.count:
        yield Change("sump", "sump", f"Use {sump.count} of the tanks only.", math.nan)


def _overflow(before: Design, after: Design) -> Iterator[Change]:
    was, tank = before.tank, after.tank
    if was is not None and tank is not None and was.overflow_pipe != tank.overflow_pipe:
        words = (
            f"Lay the overflow of the tank over the beds anew in {tank.overflow_nominal} "
            f"({tank.overflow_length_m:.2f} m); it is {was.overflow_nominal}."
        )
        yield Change("overflow", "tank over the beds", words, math.nan)


def _pipes(before: Design, after: Design) -> Iterator[Change]:
    old = {s.id: s for s in before.stretches}
    for stretch in after.stretches:
        if not stretch.standing and stretch.id in old:
            was, metres = old[stretch.id].nominal, f"{stretch.length_m:.2f} m"
            words = f"Lay {stretch.id} anew in {stretch.nominal} ({metres}); it is {was}"
            narrowed = " and narrowed." if was == stretch.nominal else "."
            yield Change("supply", stretch.id, words + narrowed, math.nan)
    was_drain = {d.id: d for d in before.drains}
    for drain in after.drains:
        if not drain.standing and drain.id in was_drain:
            lay = was_drain[drain.id]
            words = (
                f"Lay {drain.id} anew in {drain.nominal} at {drain.slope:.1%} "
                f"({drain.length_m:.2f} m); it is {lay.nominal} at {lay.slope:.1%}."
            )
            yield Change("return", drain.id, words, math.nan)


def _beds(before: Design, after: Design) -> Iterator[Change]:
    kinds = {kind.id: kind for kind in after.kinds}
    for bed in after.beds:
        kind = kinds[bed.kind]
        if kind.standpipe_changed and bed.siphon_standing:
            yield _standpipe(before, bed, kind)
        if not bed.siphon_standing:
            words = (
                f"Bed {bed.id}: put in {kind.kit_label} ({kind.kit}), its standpipe "
                f"{kind.siphon.crest_level_m * 1000.0:.0f} mm over the floor."
            )
            yield Change("siphon", bed.id, words, math.nan)
        if not bed.valve_standing:
            yield Change("valve", bed.id, f"Bed {bed.id}: put in a {bed.valve_label}.", math.nan)


def _standpipe(before: Design, bed: Bed, kind: BedKind) -> Change:
    old_kind = next(b.kind for b in before.beds if b.id == bed.id)
    old = next(k for k in before.kinds if k.id == old_kind)
    was, top = (1000.0 * k.siphon.crest_level_m for k in (old, kind))
    parts, bell = kind.parts, old.parts.bell_height_m
    words = f"Bed {bed.id}: cut its standpipe to {top:.0f} mm over the floor; it is {was:.0f} mm."
    if top > was:
        words = (
            f"Bed {bed.id}: fit a standpipe {top:.0f} mm over the floor, as wide as the one there, "
            f"which is {was:.0f} mm"
        )
        taller = f" and a bell {1000.0 * parts.bell_height_m:.0f} mm tall inside ({parts.bell})"
        words += f"{taller if parts.bell_height_m > bell else ''}."
    return Change("standpipe", bed.id, words, kind.siphon.crest_level_m)


def _water(before: Design, after: Design) -> Iterator[Change]:
    was, level = before.sump.highest_m, after.sump.highest_m
    if abs(level - was) > SEEN_LEVEL_M or before.sump.id != after.sump.id:
        how = "Fill the sump" if level > was else "Let water out of the sump"
        words = (
            f"{how} until it stands at {level:.2f} m over its floor with every bed drained "
            f"and the pump running; it stands at {was:.2f} m."
        )
        yield Change("fill", "sump", words, level)


def _turns(before: Design, openings: Mapping[str, float], now: Running) -> Iterator[Change]:
    kept = {bed.id for bed in now.design.beds if bed.valve_standing}
    for bed in before.beds:
        was, share = openings[bed.id], now.openings[bed.id]
        if bed.id in kept and share == was:
            continue
        litres = now.bed(bed.id).inflow_m3_s[1] * 60_000.0
        way = "Open" if share > was else "Close"
        fine = ".0%" if abs(share - was) > SEEN_TURN else ".1%"
        words = (
            f"{way} the valve of bed {bed.id} from {was:{fine}} to {share:{fine}} open: "
            f"{litres:.1f} L/min, a 10 L bucket in {600.0 / litres:.0f} s."
            if bed.id in kept
            else f"Set the valve of bed {bed.id} to {share:.0%} open: {litres:.1f} L/min."
        )
        yield Change("turn", bed.id, words, share)
