"""What ways to spoil the example design have in common: one part of it replaced."""

from __future__ import annotations

import dataclasses

from optimizer.records.design import BedKind, BuiltDrain, Design
from tests.builders.make_design import make_design

Spoiled = tuple[Design, set[tuple[str, str]]]
BROAD_BEDS = ("bed_1_1", "bed_1_2")
SLIM_BEDS = ("bed_2_1", "bed_2_2")
ALL_BEDS = BROAD_BEDS + SLIM_BEDS
KINDS = ("broad", "slim")
LEVELS = ("lowest", "setting", "highest")
LOSS = "head loss as counted"
OPENING = "valve open as far as gives its inflow"
SUMP, PUMP = "sump_example", "pump_example"


def changed(what: str, **fields: object) -> Design:
    """The example design with fields of its promise, pump or sump replaced."""
    design = make_design()
    return dataclasses.replace(
        design, **{what: dataclasses.replace(getattr(design, what), **fields)}
    )


def with_broad(**fields: object) -> Design:
    """The example design with fields of its kind "broad" replaced."""
    design = make_design()
    return with_kind(design, dataclasses.replace(design.kinds[0], **fields))


def with_kind(design: Design, kind: BedKind) -> Design:
    return dataclasses.replace(design, kinds=(kind, *design.kinds[1:]))


def with_bed(design: Design, name: str, **fields: object) -> Design:
    beds = tuple(dataclasses.replace(b, **fields) if b.id == name else b for b in design.beds)
    return dataclasses.replace(design, beds=beds)


def with_stretch(name: str, **fields: object) -> Design:
    design = make_design()
    stretches = tuple(
        dataclasses.replace(s, **fields) if s.id == name else s for s in design.stretches
    )
    return dataclasses.replace(design, stretches=stretches)


def drain_of(name: str) -> BuiltDrain:
    return next(d for d in make_design().drains if d.id == name)


def with_drain(name: str, **fields: object) -> Design:
    design = make_design()
    drains = tuple(dataclasses.replace(d, **fields) if d.id == name else d for d in design.drains)
    return dataclasses.replace(design, drains=drains)


def drains_lifted(lift_m: float) -> Design:
    """The example design with all its return pipe laid so much higher."""
    design = make_design()
    drains = tuple(
        dataclasses.replace(
            d, upper_invert_m=d.upper_invert_m + lift_m, lower_invert_m=d.lower_invert_m + lift_m
        )
        for d in design.drains
    )
    return dataclasses.replace(design, drains=drains)
