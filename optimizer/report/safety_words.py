"""What more safety changes, in words: from one design of a site to the next safer one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from optimizer.records.design import BedKind, Design
from optimizer.report.scales import Reader

LEVELS = {
    "nominal": "nominal",
    "most": "95 % of draws",
    "whole": "whole band",
}


def level_words(level: str) -> str:
    """Return what a level of safety stands for."""
    return LEVELS.get(level, level)


def changes(before: Design, after: Design) -> list[str]:
    """Return what differs between two designs of one site, most telling first.

    Args:
        before: the less safe one.
        after: the safer one.
    """
    found = [*_kinds(before, after), *_plant(before, after), *_pipes(before, after)]
    return found or ["nothing: it is the same design"]


def _kinds(before: Design, after: Design) -> Iterator[str]:
    reader, old, new = Reader(after.units), _by_id(before), _by_id(after)
    counts = [Counter(bed.kind for bed in each.beds) for each in (before, after)]
    if counts[0] != counts[1]:
        yield f"beds: {_counts(after, counts[1])} instead of {_counts(before, counts[0])}"
    for name in [name for name in new if name in old]:
        if old[name].kit != new[name].kit:
            yield f"{new[name].label}: {new[name].kit_label} instead of {old[name].kit_label}"
        if old[name].inflow_m3_s != new[name].inflow_m3_s:
            flows = [reader.text("flow", each[name].inflow_m3_s) for each in (new, old)]
            yield f"{new[name].label}: set to {flows[0]} instead of {flows[1]}"


def _by_id(design: Design) -> Mapping[str, BedKind]:
    return {kind.id: kind for kind in design.kinds}


def _counts(design: Design, counts: Counter[str]) -> str:
    labels = {kind.id: kind.label for kind in design.kinds}
    return ", ".join(f"{n} x {labels[kind]}" for kind, n in sorted(counts.items()))


def _plant(before: Design, after: Design) -> Iterator[str]:
    pairs = (
        ("pump", before.pump, after.pump),
        ("sump", before.sump, after.sump),
    )
    for name, old, new in pairs:
        if (old.id, old.count) != (new.id, new.count):
            yield f"{name}: {new.count} x {new.label} instead of {old.count} x {old.label}"


def _pipes(before: Design, after: Design) -> Iterator[str]:
    yield from _changed(
        "supply pipes of another size",
        {s.id: s.pipe for s in before.stretches},
        {s.id: s.pipe for s in after.stretches},
    )
    yield from _changed(
        "valves of another size or kind",
        {b.id: b.valve for b in before.beds},
        {b.id: b.valve for b in after.beds},
    )
    yield from _changed(
        "return pipes of another size",
        {d.id: d.pipe for d in before.drains},
        {d.id: d.pipe for d in after.drains},
    )


def _changed(what: str, old: Mapping[str, str], new: Mapping[str, str]) -> Iterator[str]:
    shared = old.keys() & new.keys()
    other = sum(old[name] != new[name] for name in shared)
    if other:
        yield f"{other} of {len(shared)} {what}"
