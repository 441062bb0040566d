"""What to do: the difference between a system as it stands and as it shall be."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from optimizer.mend.as_built import AsBuilt
from optimizer.mend.built_tank import TANK_WORDS
from optimizer.mend.state import Running
from optimizer.pack.lengths import Rule
from optimizer.records.design import Bed, BedKind, Design
from optimizer.records.mending import Change
from optimizer.report.scales import Reader, counted

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
    if not pump.standing:
        words = f"Put in {pump.count} x {pump.label} ({pump.id}) in place of what stands."
        yield Change("pump", "pump", words, math.nan)
    elif pump.count > pump.there:
        words = f"Put {pump.count - pump.there} x {pump.label} ({pump.id}) beside what stands."
        yield Change("pump", "pump", words, math.nan)
    elif pump.count < before.pump.count:
        yield Change("pump", "pump", f"Run {counted(pump.count, 'pump')} only.", math.nan)
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
            f"Lay the overflow of the {TANK_WORDS} anew in {tank.overflow_nominal} "
            f"({Reader(after.units).level(tank.overflow_length_m)}); it is {was.overflow_nominal}."
        )
        yield Change("overflow", TANK_WORDS, words, math.nan)


def _pipes(before: Design, after: Design) -> Iterator[Change]:
    reader, old = Reader(after.units), {s.id: s for s in before.stretches}
    for stretch in after.stretches:
        if not stretch.standing and stretch.id in old:
            was, long = old[stretch.id].nominal, reader.level(stretch.length_m)
            words = f"Lay {stretch.id} anew in {stretch.nominal} ({long}); it is {was}"
            narrowed = " and narrowed." if was == stretch.nominal else "."
            yield Change("supply", stretch.id, words + narrowed, math.nan)
    was_drain = {d.id: d for d in before.drains}
    for drain in after.drains:
        if not drain.standing and drain.id in was_drain:
            lay = was_drain[drain.id]
            falls, fell = (reader.text("slope", each.slope, 2) for each in (drain, lay))
            words = (
                f"Lay {drain.id} anew in {drain.nominal} at {falls} "
                f"({reader.level(drain.length_m)}); it is {lay.nominal} at {fell}."
            )
            yield Change("return", drain.id, words, math.nan)


def _beds(before: Design, after: Design) -> Iterator[Change]:
    kinds, rule = {kind.id: kind for kind in after.kinds}, Rule(after.units)
    for bed in after.beds:
        kind = kinds[bed.kind]
        if kind.standpipe_changed and bed.siphon_standing:
            yield _standpipe(before, bed, kind, rule)
        if not bed.siphon_standing:
            words = (
                f"Bed {bed.id}: put in {kind.kit_label} ({kind.kit}), its standpipe "
                f"{rule.nearest(kind.siphon.crest_level_m)} over the floor."
            )
            yield Change("siphon", bed.id, words, math.nan)
        if not bed.valve_standing:
            yield Change("valve", bed.id, f"Bed {bed.id}: put in a {bed.valve_label}.", math.nan)


def _standpipe(before: Design, bed: Bed, kind: BedKind, rule: Rule) -> Change:
    old_kind = next(b.kind for b in before.beds if b.id == bed.id)
    old = next(k for k in before.kinds if k.id == old_kind)
    was, top = (rule.nearest(k.siphon.crest_level_m) for k in (old, kind))
    parts, bell = kind.parts, old.parts.bell_height_m
    words = f"Bed {bed.id}: cut its standpipe to {top} over the floor; it is {was}."
    if kind.siphon.crest_level_m > old.siphon.crest_level_m:
        words = (
            f"Bed {bed.id}: fit a standpipe {top} over the floor, as wide as the one there, which "
            f"is {was}"
        )
        taller = f" and a bell {rule.nearest(parts.bell_height_m)} tall inside ({parts.bell})"
        words += f"{taller if parts.bell_height_m > bell else ''}."
    return Change("standpipe", bed.id, words, kind.siphon.crest_level_m)


def _water(before: Design, after: Design) -> Iterator[Change]:
    was, level = before.sump.highest_m, after.sump.highest_m
    if abs(level - was) > SEEN_LEVEL_M or before.sump.id != after.sump.id:
        how = "Fill the sump" if level > was else "Let water out of the sump"
        reader = Reader(after.units)
        words = (
            f"{how} until it stands at {reader.level(level)} over its floor with every bed drained "
            f"and the pump running; it stands at {reader.level(was)}."
        )
        yield Change("fill", "sump", words, level)


def _turns(before: Design, openings: Mapping[str, float], now: Running) -> Iterator[Change]:
    reader = Reader(before.units)
    kept = {bed.id for bed in now.design.beds if bed.valve_standing}
    for bed in before.beds:
        was, share = openings[bed.id], now.openings[bed.id]
        if bed.id in kept and share == was:
            continue
        inflow = now.bed(bed.id).inflow_m3_s[1]
        flow, seconds = reader.text("flow", inflow), reader.bucket_m3 / inflow
        way = "Open" if share > was else "Close"
        fine = ".0%" if abs(share - was) > SEEN_TURN else ".1%"
        words = (
            f"{way} the valve of bed {bed.id} from {was:{fine}} to {share:{fine}} open: "
            f"{flow}, a {reader.bucket} bucket in {seconds:.0f} s."
            if bed.id in kept
            else f"Set the valve of bed {bed.id} to {share:.0%} open: {flow}."
        )
        yield Change("turn", bed.id, words, share)
