"""Bill lines that cost nothing: what stands and is kept."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from optimizer.records.design import (
    Bed,
    BedKind,
    BuiltDrain,
    BuiltPump,
    BuiltStretch,
    BuiltSump,
    CostLine,
)

STANDING = "standing"
"""The bill's group of what stands and stays."""


def kept_lines(
    kinds: Sequence[BedKind],
    beds: Sequence[Bed],
    stretches: Sequence[BuiltStretch],
    drains: Sequence[BuiltDrain],
    pump: BuiltPump,
    sump: BuiltSump,
) -> tuple[CostLine, ...]:
    """Return a line for everything that stands and stays, each at no cost."""
    return tuple(
        CostLine(STANDING, f"kept: {what}", part, float(quantity), unit, 0)
        for what, part, quantity, unit in (
            *_bed_parts(kinds, beds),
            *_pipes("pipe", stretches),
            *_pipes("return pipe", drains),
            ("pump", pump.id, min(pump.there, pump.count), "piece"),
            ("sump", sump.id, min(sump.there, sump.count), "piece"),
        )
        if quantity > 0
    )


def _bed_parts(
    kinds: Sequence[BedKind], beds: Sequence[Bed]
) -> Iterator[tuple[str, str, float, str]]:
    for kind in kinds:
        own = [bed for bed in beds if bed.kind == kind.id]
        yield f"beds: {kind.id}", kind.container_id, sum(b.standing for b in own), "bed"
        yield f"siphons of {kind.id}", kind.kit, sum(b.siphon_standing for b in own), "piece"
    valves = Counter(bed.valve for bed in beds if bed.valve_standing)
    yield from (("valves", valve, count, "piece") for valve, count in sorted(valves.items()))


def _pipes(
    what: str, laid: Sequence[BuiltStretch] | Sequence[BuiltDrain]
) -> Iterator[tuple[str, str, float, str]]:
    metres: dict[tuple[str, str], float] = {}
    for each in laid:
        if each.standing:
            key = (each.nominal, each.pipe)
            metres[key] = metres.get(key, 0.0) + each.length_m
    yield from ((f"{what} {size}", pipe, length, "m") for (size, pipe), length in metres.items())
