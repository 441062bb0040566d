"""A diagnosis in words and as plain figures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from optimizer.records.mending import BedState, Change, Diagnosis, Fault, Proposal, SystemState
from optimizer.report.scales import Reader, counted, money

THE = ("pump", "sump", "tank over the beds")

LISTED = 5
"""Names said one by one; of more, only how many."""

CAUTION = (
    "Switch the pump off at the socket before you reach into the water. Mains power beside water "
    "wants a residual-current device and a licensed electrician; wet beds are heavy."
)


def answers(found: Diagnosis, reader: Reader) -> list[str]:
    """Return the answer first: does it work, what fails and why, the sump, the weakest bed."""
    state = found.state
    low, _, high, cut = (reader.level(level) for level in state.levels_m)
    said = ["Everything works."] if state.works else [_not_all(len(state.faults))]
    said += [f"  {fault.words}" for fault in state.faults]
    said += [f"  IN DOUBT: {doubt}" for doubt in found.doubts]
    weakest = next(bed for bed in state.beds if bed.bed == state.weakest)
    said += [
        f"Weakest bed: {state.weakest}, margin {_share(weakest.margin)}.",
        f"The sump runs between {low} and {high} over its floor; {cut} after a power cut. "
        f"The pump moves {reader.text('flow', state.pump_flow_m3_s)}.",
    ]
    return said


def _not_all(count: int) -> str:
    return f"NOT ALL WORKS: {counted(count, 'fault')}."


def bed_columns(reader: Reader) -> tuple[str, ...]:
    """Return the heads of the table of beds."""
    return ("bed", reader.name("flow"), "needs", "floods/h", "starts", "stops", "margin")


def bed_rows(state: SystemState, reader: Reader) -> list[tuple[str, ...]]:
    """Return the table of beds, a row for each."""
    return [_bed_row(bed, reader) for bed in state.beds]


def _bed_row(bed: BedState, reader: Reader) -> tuple[str, ...]:
    low, high = bed.needs_m3_s
    return (
        bed.bed,
        _span(bed.inflow_m3_s[0], bed.inflow_m3_s[2], reader),
        _span(low, high, reader) if 0.0 < low < high else "no inflow does",
        f"{bed.floods_per_hour:.2f}",
        "yes" if bed.starts else "NO",
        "yes" if bed.stops else "NO",
        _share(bed.margin),
    )


def _span(low_m3_s: float, high_m3_s: float, reader: Reader) -> str:
    """Return two flows without their unit; a gallon is nearly four litres and told finer."""
    digits = 2 if reader.units == "us" else 1
    low, high = (reader.number("flow", flow) for flow in (low_m3_s, high_m3_s))
    return f"{low:.{digits}f}-{high:.{digits}f}"


def _share(margin: float) -> str:
    shown = round(margin, 2) or 0.0  # no "-0%"
    return "none" if margin <= -1.0 else f"{shown:+.0%}"


def proposal_lines(found: Diagnosis, currency: str) -> list[str]:
    """Return the ways to mend it, least cost first."""
    if found.state.works:
        return []
    why = [found.why_none] if found.why_none else []
    if not found.proposals:
        return ["No change that may be bought was found to make everything work.", *why]
    lines = [
        "Ways to mend it, least cost first. Each was run and works, and leaves something as it is "
        "that every way before it changes."
    ]
    if len(found.proposals) == 1:
        lines = ["A way to mend it; it was run and works:"]
    for place, proposal in enumerate(found.proposals, 1):
        lines.append(
            f"{place}. {money(proposal.cost_cents, currency)}: {_proof(proposal, currency, place)}"
        )
        lines += [f"   - {change.words}{_needed(change)}" for change in proposal.changes]
        lines.append(f"   {_after(proposal)}")
    return [*lines, *why, CAUTION]


def _proof(proposal: Proposal, currency: str, place: int) -> str:
    """Return what is proven of a way: that none costs less, and that no fewer valves would do."""
    other = "no way" if place == 1 else "no other way"
    if proposal.puts_right:
        other = f"no way that changes {proposal.puts_right}"
    if proposal.bound_cents < proposal.cost_cents:
        said = f"{other} costs less than {money(max(0.0, proposal.bound_cents), currency)}"
    else:
        said = f"{other} costs less" if proposal.cost_cents else "nothing need be bought"
    turns = proposal.turns
    if not turns:
        return f"{said}, no valve need be turned."
    valves = "one valve is turned" if turns == 1 else f"{turns} valves are turned"
    least = proposal.turns_least
    fewer = ", fewer will not do" if turns <= least else f", at least {least} must be"
    return f"{said}; {valves}{fewer}."


def _needed(change: Change) -> str:
    names = change.needed_for
    if not names or names == (change.subject,):
        return ""
    return f" Without it {_listed(names)} fail{'s' if len(names) == 1 else ''}."


def _listed(names: Sequence[str]) -> str:
    said = [f"the {name}" if name in THE else name for name in names]
    shown = [*said[:LISTED], *([f"{len(names) - LISTED} more"] if len(names) > LISTED else [])]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"


def _after(proposal: Proposal) -> str:
    weakest = min(proposal.after.beds, key=lambda bed: bed.margin)
    return f"Then the weakest bed is {weakest.bed}, margin {_share(weakest.margin)}."


def as_plain(found: Diagnosis) -> dict[str, Any]:
    """Return a diagnosis as plain figures, SI with the unit in each key."""
    return {
        "works": found.state.works,
        **_state(found.state),
        "doubts": list(found.doubts),
        "proposals": [
            {
                "cost": each.cost_cents / 100.0,
                "proven_least": each.bound_cents / 100.0,
                "valves_turned": each.turns,
                "valves_turned_least": each.turns_least,
                "changes": [
                    {
                        "kind": change.kind,
                        "subject": change.subject,
                        "do": change.words,
                        "set_to": None if math.isnan(change.figure) else change.figure,
                        "needed_for": list(change.needed_for),
                    }
                    for change in each.changes
                ],
                "openings": each.openings,
                "after": _state(each.after),
            }
            for each in found.proposals
        ],
        "why_none": found.why_none,
    }


def _state(state: SystemState) -> dict[str, Any]:
    low, middle, high, cut = state.levels_m
    return {
        "beds": [
            {
                "bed": bed.bed,
                "inflow_m3_s": list(bed.inflow_m3_s),
                "needs_m3_s": [x if math.isfinite(x) else None for x in bed.needs_m3_s],
                "floods_per_hour": bed.floods_per_hour,
                "starts": bed.starts,
                "stops": bed.stops,
                "margin": bed.margin,
            }
            for bed in state.beds
        ],
        "faults": [_fault(fault) for fault in state.faults],
        "weakest": state.weakest,
        "sump_m": {"lowest": low, "middle": middle, "highest": high, "power_cut": cut},
        "pump_flow_m3_s": state.pump_flow_m3_s,
    }


def _fault(fault: Fault) -> dict[str, Any]:
    return {
        "subject": fault.subject,
        "cause": fault.cause,
        "blamed": fault.blamed,
        "margin": None if math.isnan(fault.margin) else fault.margin,
        "words": fault.words,
    }
