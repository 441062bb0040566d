"""What becomes of every part of a built system: read off the old design and the new one."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.records.design import Design
from optimizer.records.extension import FATES, NEW, REPLACED, STAYS, TAKEN_OUT, PartFate
from optimizer.records.site import Site

_Told = tuple[str, str, str, str, str]
"""Fate, what, before, after, unit."""

PIECE = "piece"
ORDER = ("pump", "sump", "bed", "siphon", "valve", "supply pipe", "return pipe")


def fates(old: Design, new: Design, site: Site) -> tuple[PartFate, ...]:
    """Return what becomes of every part, alike ones together.

    Args:
        old: the design that was built.
        new: its extension.
        site: the new site with what stands on it, stretch by stretch.
    """
    amounts: dict[_Told, float] = {}
    for told, quantity in (
        *_machine("pump", _pumps(old), _pumps(new)),
        *_machine("sump", (old.sump.label, old.sump.count), (new.sump.label, new.sump.count)),
        *_beds(old, new),
        *_supply(old, new, site),
        *_returns(old, new, site),
    ):
        amounts[told] = amounts.get(told, 0.0) + quantity
    made = [
        PartFate(fate, what, before, after, round(quantity, 6), unit)
        for (fate, what, before, after, unit), quantity in amounts.items()
        if quantity > 0.0
    ]
    return tuple(sorted(made, key=_place))


def _place(fate: PartFate) -> tuple[int, int, str, str]:
    return FATES.index(fate.fate), ORDER.index(fate.what), fate.before, fate.after


def _pumps(design: Design) -> tuple[str, int]:
    return design.pump.label, design.pump.count + design.pump.spares


def _machine(
    what: str, before: tuple[str, int], after: tuple[str, int]
) -> Iterator[tuple[_Told, float]]:
    (was, had), (now, has) = before, after
    if was != now:
        yield (REPLACED, what, f"{had} x {was}", f"{has} x {now}", PIECE), float(has)
        return
    yield (STAYS, what, was, now, PIECE), float(min(had, has))
    yield (NEW, what, "", now, PIECE), float(has - had)
    yield (TAKEN_OUT, what, was, "", PIECE), float(had - has)


def _beds(old: Design, new: Design) -> Iterator[tuple[_Told, float]]:
    before = {bed.id: bed for bed in old.beds}
    had = {kind.id: kind.kit_label for kind in old.kinds}
    has = {kind.id: kind.kit_label for kind in new.kinds}
    for bed in new.beds:
        was = before.get(bed.id)
        if was is None:
            yield (NEW, "bed", "", bed.kind, PIECE), 1.0
            yield (NEW, "siphon", "", has[bed.kind], PIECE), 1.0
            yield (NEW, "valve", "", bed.valve_label, PIECE), 1.0
            continue
        siphon = STAYS if bed.siphon_standing else REPLACED
        valve = STAYS if bed.valve_standing else REPLACED
        yield (STAYS, "bed", was.kind, bed.kind, PIECE), 1.0
        yield (siphon, "siphon", had[was.kind], has[bed.kind], PIECE), 1.0
        yield (valve, "valve", was.valve_label, bed.valve_label, PIECE), 1.0


def _supply(old: Design, new: Design, site: Site) -> Iterator[tuple[_Told, float]]:
    sizes = {each.pipe: each.nominal for each in old.stretches}
    stood = {each.stretch: sizes.get(each.pipe, each.pipe) for each in site.standing.stretches}
    for each in new.stretches:
        told = _laid("supply pipe", stood.get(each.id), each.nominal, stays=each.standing)
        yield told, each.length_m


def _returns(old: Design, new: Design, site: Site) -> Iterator[tuple[_Told, float]]:
    sizes = {each.pipe: each.nominal for each in old.drains}
    stood = {each.stretch: sizes.get(each.pipe, each.pipe) for each in site.standing.drains}
    for each in new.drains:
        told = _laid("return pipe", stood.get(each.id), each.nominal, stays=each.standing)
        yield told, each.length_m


def _laid(what: str, was: str | None, size: str, *, stays: bool) -> _Told:
    if stays:
        return STAYS, what, size, size, "m"
    return (NEW, what, "", size, "m") if was is None else (REPLACED, what, was, size, "m")
