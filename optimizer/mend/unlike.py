"""What a choice of the program changes, and what would leave each of these things as it stands."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.formulate.build import Formulation
from optimizer.mend.by_bed import Framed
from optimizer.records.choice import Choice
from optimizer.records.requirements import Stays


def changed(framed: Framed, made: Formulation, choice: Choice) -> tuple[Stays, ...]:
    """Return the things that a choice changes, each with the choices that would leave it alone.

    Valves turned and water filled in are no part of the program, and none of these.

    Args:
        framed: the system as the program takes it.
        made: the problem that was solved.
        choice: its answer.
    """
    return tuple(
        stays for stays, chosen in _things(framed, made, choice) if chosen not in stays.choices
    )


def _things(framed: Framed, made: Formulation, choice: Choice) -> Iterator[tuple[Stays, str]]:
    """Yield everything decided on, with what would leave it alone, and what was chosen."""
    problem, standing = made.problem, framed.site.standing
    kept = {c.option.id for c in made.candidates if c.stands and not c.change_cents}
    types = {o.id: o.bed_type for o in problem.options}
    option = {p.id: p.option for p in problem.plans}
    chosen = {types[name]: name for plan in choice.plans.values() if (name := option[plan])}
    for bed_type, name in chosen.items():
        own = tuple(o for o, of in types.items() if of == bed_type and o in kept)
        yield Stays("option", bed_type, own), name
    laid = {each.stretch: each for each in standing.stretches}
    for stretch, (_, build) in choice.builds.items():
        there = laid[stretch]
        way = there.pipe if there.valve is None else f"{there.pipe} + {there.valve}"
        yield Stays("stretch", stretch, (way,)), build
    for drain in problem.drains:
        own = tuple(b.id for b in drain.builds if not b.pipe)
        yield Stays("drain", drain.id, own), choice.drains[drain.id]
    pumps = tuple(
        p.id
        for p in problem.pumps
        if (p.pump, p.count <= standing.pump_count) == (standing.pump, True)
    )
    yield Stays("pump", "", pumps), choice.pump
    if made.lifts:
        yield from _lift_things(framed, made, choice)
    sumps = tuple(
        k.id
        for k in problem.sumps
        if (k.sump, k.count <= standing.sump_count) == (standing.sump, True)
    )
    yield Stays("sump", "", sumps), choice.sump


def _lift_things(framed: Framed, made: Formulation, choice: Choice) -> Iterator[tuple[Stays, str]]:
    """Yield the riser to a tank over the beds, and the tank's overflow: chosen with the pump."""
    lifts, overflow = made.lifts, framed.site.standing.overflow
    risers = tuple(name for name, lift in lifts.items() if lift.riser.standing)
    yield Stays("pump", "", risers), choice.pump
    overflows = tuple(name for name, lift in lifts.items() if lift.overflow.id == overflow)
    yield Stays("pump", "", overflows), choice.pump
