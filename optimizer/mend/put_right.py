"""The program with one thing that is to blame put right: it may not stay as it stands.

Where turning valves mends a system at no cost, the program alone would never buy what is to blame.
Made to change it, it says what that costs; then fewer valves, or none, need be turned.
"""

from __future__ import annotations

from dataclasses import replace

from optimizer.formulate.build import Formulation
from optimizer.mend.as_built import AsBuilt, kind_names
from optimizer.mend.by_bed import Framed
from optimizer.records.mending import Fault
from optimizer.records.problem import DesignProblem

SIPHON = (
    "standpipe too long",
    "standpipe too short",
    "standpipe too wide",
    "standpipe too narrow",
    "bell too low",
    "bell too narrow",
    "siphon does not suit",
)
STRETCH = ("stretch too narrow", "stretch narrowed")
PUMP = ("pump too weak", "pump worn")


def can_be_put_right(fault: Fault) -> bool:
    """Return whether a fault is of a thing that another may be bought for."""
    return fault.cause in (*SIPHON, *STRETCH, *PUMP)


def put_right(built: AsBuilt, framed: Framed, made: Formulation, fault: Fault) -> DesignProblem:
    """Return the program in which what is to blame for a fault is changed for the better.

    Args:
        built: the system as it stands.
        framed: the same as the program takes it.
        made: its problem.
        fault: the fault, of a sort that can be put right.
    """
    problem = made.problem
    if fault.cause in STRETCH:
        return _wider(built, framed, problem, fault.blamed)
    if fault.cause in PUMP:
        there = framed.site.standing.pump
        pumps = tuple(p for p in problem.pumps if p.pump != there)
        names = {p.id for p in pumps}
        duties = tuple(d for d in problem.pump_duties if d.pump in names)
        return replace(problem, pumps=pumps, pump_duties=duties)
    bed_type = kind_names(built.stands)[fault.blamed]
    kept = {c.option.id for c in made.candidates if c.stands and not c.change_cents}
    of = {o.id: o.bed_type for o in problem.options}
    plans = tuple(
        p for p in problem.plans if p.option not in kept or of[p.option or ""] != bed_type
    )
    names = {p.id for p in plans}
    drains = tuple(
        replace(d, bursts_m3_s={p: q for p, q in d.bursts_m3_s.items() if p in names})
        for d in problem.drains
    )
    return replace(problem, plans=plans, drains=drains)


def _wider(built: AsBuilt, framed: Framed, problem: DesignProblem, blamed: str) -> DesignProblem:
    """Return the program in which a stretch has a wider bore than now."""
    bore = next(s.bore_m for s in built.design.stretches if s.id == blamed)
    pipes = framed.catalog.pipes
    stretches = tuple(
        replace(s, table={key: b for key, b in s.table.items() if pipes[key[1]].bore_m > bore})
        if s.id == blamed
        else s
        for s in problem.stretches
    )
    return replace(problem, stretches=stretches)
