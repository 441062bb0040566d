"""What each change is needed for: all is done but this one, and run again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from optimizer.mend.as_built import AsBuilt
from optimizer.mend.diagnose import things_that_fail
from optimizer.mend.state import Running
from optimizer.records.design import BuiltDrain, BuiltStretch, Design
from optimizer.records.mending import Change
from optimizer.simulate.steady_state import NotSolved


def with_needs(
    built: AsBuilt, openings: Mapping[str, float], now: Running, changes: tuple[Change, ...]
) -> tuple[Change, ...]:
    """Return changes with what fails if all is done but one, for each of them.

    Args:
        built: the system as it stands.
        openings: bed to the share its valve is open as it stands.
        now: the system with all changes made.
        changes: the changes.
    """
    return tuple(
        replace(change, needed_for=_failing_without(change, built, openings, now))
        for change in changes
    )


def _failing_without(
    change: Change, built: AsBuilt, openings: Mapping[str, float], now: Running
) -> tuple[str, ...]:
    design, left, refused = now.design, dict(now.openings), dict[str, str]()
    if change.kind == "turn":
        left[change.subject] = openings[change.subject]
    elif change.kind in ("supply", "return"):
        design = _with_old_pipe(design, built.design, change)
    elif change.kind in ("siphon", "standpipe"):
        design = _with_old_siphon(design, built.design, change.subject)
        refused = {b: why for b, why in built.refused.items() if b == change.subject}
    elif change.kind == "valve":
        design = _with_old_valve(design, built.design, change.subject)
        left[change.subject] = openings[change.subject]
    elif change.kind == "pump":
        design = replace(design, pump=built.design.pump)
    elif change.kind == "overflow":
        design = replace(design, tank=built.design.tank)
    elif change.kind in ("sump", "fill"):
        design = replace(design, sump=built.design.sump)
    try:
        return things_that_fail(design, left, refused)
    except (NotSolved, ValueError):  # nothing can be said of it: an opening that a valve lacks
        return ()


def _with_old_pipe(design: Design, before: Design, change: Change) -> Design:
    stretches: dict[str, BuiltStretch] = {s.id: s for s in before.stretches}
    drains: dict[str, BuiltDrain] = {d.id: d for d in before.drains}
    subject = change.subject
    return replace(
        design,
        stretches=tuple(stretches[s.id] if s.id == subject else s for s in design.stretches),
        drains=tuple(drains[d.id] if d.id == subject else d for d in design.drains),
    )


def _with_old_siphon(design: Design, before: Design, bed: str) -> Design:
    old_kind = next(b.kind for b in before.beds if b.id == bed)
    old = next(kind for kind in before.kinds if kind.id == old_kind)
    name = f"{old_kind} before"
    return replace(
        design,
        kinds=(*design.kinds, replace(old, id=name)),
        beds=tuple(replace(b, kind=name) if b.id == bed else b for b in design.beds),
    )


def _with_old_valve(design: Design, before: Design, bed: str) -> Design:
    old = next(b for b in before.beds if b.id == bed)
    kept = {
        name: getattr(old, name)
        for name in ("valve", "valve_label", "valve_bore_m", "valve_openings", "valve_losses")
    }
    beds = tuple(replace(b, **kept) if b.id == bed else b for b in design.beds)
    return replace(design, beds=beds)
