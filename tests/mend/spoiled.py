"""Systems spoiled by hand, one thing in each, from an invented one where all works."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from optimizer.mend.as_built import AsBuilt, as_built
from optimizer.mend.run import read_standing
from optimizer.records.mending import Proposal
from optimizer.records.stands import DrainStands, Stands, StretchStands

SITE = Path(__file__).resolve().parents[2] / "studies" / "mend" / "site.toml"


@lru_cache(maxsize=1)
def healthy() -> AsBuilt:
    """The system of the study, as its file describes it."""
    return read_standing(SITE)


def with_stands(stands: Stands) -> AsBuilt:
    """The study's site with something else standing on it."""
    base = healthy()
    return as_built(base.site, base.catalog, base.network, stands)


def bed(stands: Stands, name: str, **changed: object) -> Stands:
    """One bed, or several named together, not as described."""
    names = name.split()
    beds = tuple(replace(b, **changed) if b.bed in names else b for b in stands.beds)
    return replace(stands, beds=beds)


def stretch(stands: Stands, name: str, **changed: object) -> Stands:
    """One stretch of supply pipe not as described."""
    assert name in {s.stretch for s in stands.stretches}
    laid = tuple(replace(s, **changed) if s.stretch == name else s for s in stands.stretches)
    return replace(stands, stretches=laid)


def drain(stands: Stands, name: str, **changed: object) -> Stands:
    """One stretch of return pipe not as described."""
    assert name in {d.stretch for d in stands.drains}
    laid = tuple(replace(d, **changed) if d.stretch == name else d for d in stands.drains)
    return replace(stands, drains=laid)


@dataclass(frozen=True)
class Spoiled:
    """One thing spoiled, and what a diagnosis must say of it."""

    name: str
    spoil: Callable[[Stands], Stands]
    subject: str
    cause: str
    blamed: str


TEN_WIDE = {"pipe": "sch40_1", "valve": "ball_sch40_1"}

SPOILED = (
    Spoiled("valve nearly shut", lambda s: bed(s, "A2", opening=0.25), "A2",
            "valve too shut", "A2"),
    Spoiled("valve of the last bed too shut", lambda s: bed(s, "B2", opening=0.4), "B2",
            "valve too shut", "B2"),
    Spoiled("two valves too shut", lambda s: bed(s, "A1 B1", opening=0.35), "B1",
            "valve too shut", "B1"),
    Spoiled("wide valve fully open", lambda s: bed(s, "A1", opening=1.0, **TEN_WIDE), "A1",
            "valve too open", "A1"),
    Spoiled("last bed starved by the first", lambda s: bed(s, "A1", opening=1.0, **TEN_WIDE), "B2",
            "other valves too open", "A1"),
    Spoiled("standpipe too long", lambda s: bed(s, "A3", crest_level_m=0.345), "A3",
            "standpipe too long", "A3"),
    Spoiled("standpipe as tall as the bed", lambda s: bed(s, "B1", crest_level_m=0.36), "B1",
            "standpipe too long", "B1"),
    Spoiled("standpipe too short", lambda s: bed(s, "A3", crest_level_m=0.06), "A3",
            "standpipe too short", "A3"),
    Spoiled("standpipe too wide", lambda s: bed(s, "B2", kit="kit_sch40_2_plain"), "B2",
            "standpipe too wide", "B2"),
    Spoiled("standpipe too narrow", lambda s: bed(s, "A2", kit="kit_sch40_1_2_plain"), "A2",
            "standpipe too narrow", "A2"),
    Spoiled("bell on the standpipe's rim", lambda s: bed(s, "A1", bell_height_m=0.302), "A1",
            "bell too low", "A1"),
    Spoiled("bell hardly wider than its standpipe", lambda s: bed(s, "B1", bell="sch40_1"), "B1",
            "bell too narrow", "B1"),
    Spoiled("riser narrowed by lime", lambda s: stretch(s, "riser to junction 1", bore_m=0.018),
            "A1", "stretch narrowed", "riser to junction 1"),
    Spoiled("lateral narrowed by roots", lambda s: stretch(s, "lateral to B2", bore_m=0.009),
            "B2", "stretch narrowed", "lateral to B2"),
    Spoiled("lateral too narrow", lambda s: stretch(s, "lateral to A2", pipe="sch40_1_2"), "A3",
            "stretch too narrow", "lateral to A2"),
    Spoiled("pump worn", lambda s: replace(s, pump_head_share=0.7), "B2", "pump worn", "pump"),
    Spoiled("pump too weak", lambda s: replace(s, pump="pump_040w_mid"), "B2", "pump too weak",
            "pump"),
    Spoiled("too little water", lambda s: replace(s, drained_level_m=0.35), "pump",
            "too little water", "sump"),
    Spoiled("too much water", lambda s: replace(s, drained_level_m=0.72), "sump",
            "too much water", "sump"),
    Spoiled("sump too small", lambda s: replace(s, sump="sump_0750", drained_level_m=0.5), "pump",
            "sump too small", "sump"),
    Spoiled("return pipe too small",
            lambda s: drain(s, "return riser to junction 1", pipe="sch40_1_1_2"),
            "return riser to junction 1", "return pipe too small", "return riser to junction 1"),
    Spoiled("return pipe too flat",
            lambda s: drain(s, "return riser to junction 1", slope=0.005),
            "return riser to junction 1", "return pipe too flat", "return riser to junction 1"),
    Spoiled("return pipe of a row too small",
            lambda s: drain(s, "return lateral to A1", pipe="sch40_1"),
            "return lateral to A1", "return pipe too small", "return lateral to A1"),
)  # fmt: skip


def applied(stands: Stands, proposal: Proposal) -> Stands:
    """What stands once a proposal is carried out, read off its parts one by one."""
    after = proposal.design
    kinds = {kind.id: kind for kind in after.kinds}
    drops = {s.id: s for s in after.stretches}
    beds = []
    for was in stands.beds:
        now = next(b for b in after.beds if b.id == was.bed)
        new = replace(
            was,
            opening=proposal.openings[was.bed],
            inflow_m3_s=None,
            pipe=drops[now.drop].pipe,
            valve=now.valve,
        )
        kind = kinds[now.kind]
        if now.siphon_standing and kind.standpipe_changed:
            new = replace(
                new,
                crest_level_m=kind.siphon.crest_level_m,
                bell_height_m=kind.parts.bell_height_m,
            )
        if not now.siphon_standing:
            new = replace(
                new, kit=kinds[now.kind].kit, crest_level_m=None, drain_level_m=None,
                drain_drop_m=None, bell=None, bell_height_m=None,
            )  # fmt: skip
        beds.append(new)
    old = {s.stretch: s for s in stands.stretches}
    laid = tuple(
        old[s.id] if s.standing else StretchStands(s.id, s.pipe)
        for s in after.stretches
        if s.kind != "drop"
    )
    fall = {d.stretch: d for d in stands.drains}
    drains = tuple(
        fall[d.id] if d.standing else DrainStands(d.id, d.pipe, d.slope) for d in after.drains
    )
    new_pump = not after.pump.standing
    return Stands(
        beds=tuple(beds),
        stretches=laid,
        drains=drains,
        pump=after.pump.id if new_pump else stands.pump,
        pump_count=after.pump.count,
        pump_head_share=1.0 if new_pump else stands.pump_head_share,
        sump=after.sump.id,
        sump_count=after.sump.count,
        drained_level_m=after.sump.highest_m,
    )
