"""A design in which every name that a site can carry is hostile."""

from __future__ import annotations

from dataclasses import replace

from optimizer.records.design import Design
from optimizer.records.near_miss import NearMiss


def evil_of(design: Design, evil: str) -> Design:
    """The design with every name replaced, the same bed everywhere it is named."""
    kinds = tuple(replace(k, label=evil, kit_label=evil, medium=evil) for k in design.kinds)
    first = design.beds[0]
    beds = (replace(first, id=evil, valve_label=evil), *design.beds[1:])
    pipes = tuple(
        replace(s, head=evil, nominal=evil) if s.head == first.id else replace(s, nominal=evil)
        for s in design.stretches
    )
    return replace(
        design,
        site=evil,
        currency=evil,
        kinds=kinds,
        beds=beds,
        stretches=pipes,
        pump=replace(design.pump, label=evil),
        costs=tuple(replace(line, what=evil) for line in design.costs),
        near_misses=(NearMiss(evil, 1, evil),),
        notes=(evil,),
    )
