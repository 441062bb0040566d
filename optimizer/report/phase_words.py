"""Phases in sentences: what to buy ahead, what each step costs, how far each pump reaches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from rich.console import Group, RenderableType
from rich.table import Table as Grid
from rich.text import Text

from optimizer.records.design import CostLine
from optimizer.records.extension import Room, bought_cents
from optimizer.records.phasing import BuiltStep, Phasing
from optimizer.report import words
from optimizer.report.phase_tables import (
    NEVER,
    PARTS,
    first_step_with,
    machines,
    today_cents,
)
from optimizer.report.scales import Reader, counted, money, percent
from optimizer.report.text_table import Table, make_table

PLANS_SHOWN = 8
"""Plans that are printed; the table has all of them."""


def headline(found: Phasing) -> str:
    """Return what the best plan costs, in one sentence."""
    steps = found.best.steps
    return (
        f"{counted(len(steps[-1].design.beds), 'bed')} in {counted(len(steps), 'step')} for "
        f"{_money(found, found.best.worth_cents)} in today's money: all that is bought, energy and "
        "later pumps."
    )


def sentences(found: Phasing) -> list[str]:
    """Return the answer in sentences, what to do first."""
    return [
        headline(found),
        *_order(found),
        *_compared(found),
        f"Money of a later year counts {percent(found.discount_rate, 1)} less for each year "
        f"until then (discount_rate); energy and later pumps count until year "
        f"{found.planning_years:g} (planning_years).",
        *_checked(found),
    ]


def _order(found: Phasing) -> Iterator[str]:
    """Yield from which step on each part is best bought as the whole site has it."""
    plan = found.best
    if found.compared < found.ways:
        yield (
            f"Stopped: {found.compared} of {found.ways} ways to look ahead were compared; this is "
            "the best of them."
        )
    if found.layout:
        yield f"Laid out as is cheapest for the whole site built today: {found.layout}."
    ahead = [(part, first_step_with(plan, part)) for part in PARTS]
    for step in plan.steps:
        taken = [part for part, first in ahead if first == step.name]
        if taken:
            yield (
                f"Best order: at {step.name!r} take the {_listed(taken)} that the whole site will "
                "have, before it is needed."
            )
    left = [part for part, first in ahead if first == NEVER]
    if left:
        yield f"Buy the {_listed(left)} as each step needs, without looking ahead."
    for part, told in (("pump", _pump), ("sump", _sump)):
        chain = [told(step) for step in plan.steps]
        if len(set(chain)) > 1:
            yield f"The {part}, step by step: {', then '.join(dict.fromkeys(chain))}."


def _pump(step: BuiltStep) -> str:
    return machines(step.design.pump.count, step.design.pump.label)


def _sump(step: BuiltStep) -> str:
    return machines(step.design.sump.count, step.design.sump.label)


def _compared(found: Phasing) -> Iterator[str]:
    best, plain = found.best.worth_cents, found.step_by_step
    if not plain.looks_ahead:
        saved = plain.worth_cents - best
        yield (
            f"To look ahead saves {_money(found, saved)}: with nothing bought ahead it is "
            f"{_money(found, plain.worth_cents)}."
            if saved
            else "To buy anything ahead of need does not pay."
        )
    if found.bound_cents is not None:
        over = best / found.bound_cents - 1.0 if found.bound_cents > 0.0 else 0.0
        yield (
            f"No plan of these steps costs less than {_money(found, round(found.bound_cents))} "
            f"(proven); this one lies {100.0 * over:.1f} % above it."
        )
    if found.at_once_cents is not None:
        yield (
            "Built whole today, with every bed running from now on, it would be "
            f"{_money(found, found.at_once_cents)}."
        )


def _checked(found: Phasing) -> Iterator[str]:
    for step, check in zip(found.best.steps, found.checks, strict=True):
        if not check.passed:
            yield f"{step.name}: {words.verdict(check)}"
    if found.passed:
        count = sum(len(check.findings) for check in found.checks)
        yield f"Yes: at every step all promises hold in independent simulation ({count} in all)."


def reach_sentences(found: Phasing) -> list[str]:
    """Return, step by step, what fits on the pump that stands then and what one bed more needs."""
    pairs = zip(found.best.steps, found.rooms, strict=True)
    return [_reach(found, step, room) for step, room in pairs if room is not None]


def _reach(found: Phasing, step: BuiltStep, room: Room) -> str:
    stands = f"After {step.name!r}, on the pump that stands ({_pump(step)})"
    if room.fits is None or room.on_pump is None:
        return f"{stands}: it does not serve the beds of the whole site's layout. {room.why}"
    more = room.fits - room.beds_before
    fits = f"{stands}, {_beds(more)} fit{'' if more > 1 else 's'}"
    if more:
        fits += f" ({room.fits} in all: buy for {_money(found, bought_cents(room.on_pump))})"
    if room.fits_at_most is not None and room.fits_at_most > room.fits:
        fits += f"; up to {room.fits_at_most} in all are not proven too many"
    if room.fits == room.places:
        return f"{fits}: every place of the site."
    if room.beyond is None:
        return f"{fits}; one more cannot be had with any pump. {room.why}"
    pump = room.beyond.pump
    return (
        f"{fits}; one more needs {machines(pump.count, pump.label)}: buy for "
        f"{_money(found, bought_cents(room.beyond))}, all that is then new counted."
    )


def _beds(more: int) -> str:
    if not more:
        return "no bed more"
    return f"{counted(more, 'bed')} more"


def steps_table(found: Phasing) -> Table:
    """Return the steps of the best plan; pumps and tanks are told in sentences."""
    steps = found.best.steps
    rows = [
        (
            step.name,
            f"{step.year:g}",
            str(len(step.design.beds)),
            _listed(step.ahead) or "-",
            _figure(step.bought_cents),
            _figure(today_cents(step, step.bought_cents)),
            _figure(today_cents(step, step.running_cents)),
        )
        for step in steps
    ]
    bought = sum(today_cents(step, step.bought_cents) for step in steps)
    total = ("all", "", "", "", "", _figure(bought), _figure(found.best.worth_cents - bought))
    columns = "step|year|beds|as the whole has it|buy then|bought, today|running, today"
    figures = "year|beds|buy then|bought, today|running, today"
    caption = f"What each step costs, in {_currency(found)}; today: in today's money"
    return make_table(caption, columns, [*rows, total], figures)


def plans_table(found: Phasing, most: int | None = None) -> Table:
    """Return the plans, cheapest first: from which step on each part is as the whole has it."""
    rows = [
        (
            *(first_step_with(plan, part) for part in PARTS),
            _figure(plan.steps[0].bought_cents),
            _figure(plan.worth_cents),
            _figure(plan.worth_cents - found.best.worth_cents),
        )
        for plan in found.plans[:most]
    ]
    columns = "sump from|pump from|header from|buy first|today's money|over the best"
    caption = (
        f"Ways to look ahead, cheapest first, in {_currency(found)}: from which step on each part "
        "is bought as the whole site has it"
    )
    return make_table(caption, columns, rows, "buy first|today's money|over the best")


def bought_table(found: Phasing, step: BuiltStep) -> Table:
    """Return what one step buys."""
    reader = Reader(step.design.units)
    lines = [line for line in step.design.costs if line.group == "capital" and line.cents]
    if not bought_cents(step.design):
        lines = []
    rows = [(line.what, _quantity(reader, line), _figure(line.cents)) for line in lines]
    total = ("all", "", _figure(step.bought_cents))
    caption = f"What {step.name!r} buys, year {step.year:g}, in {_currency(found)}"
    return make_table(caption, "what|how many|price", [*rows, total], "how many|price")


def _quantity(reader: Reader, line: CostLine) -> str:
    return "" if line.unit == "site" else reader.quantity(line.quantity, line.unit)


def parts_table(step: BuiltStep) -> Table:
    """Return what becomes at a step of what stood before."""
    reader = Reader(step.design.units)
    rows = [
        (each.fate, each.what, each.before, each.after, reader.quantity(each.quantity, each.unit))
        for each in step.fates
    ]
    caption = f"What becomes of what stood before {step.name!r}"
    return make_table(caption, "fate|what|before|after|how many", rows, "how many")


def phasing_summary(found: Phasing, files: Sequence[Path] = ()) -> RenderableType:
    """Return the answer as something rich can print; nothing is printed here."""
    parts: list[RenderableType] = [Text(sentence) for sentence in sentences(found)]
    parts.append(_grid(steps_table(found)))
    parts += [Text(sentence) for sentence in reach_sentences(found)]
    parts.append(_grid(plans_table(found, PLANS_SHOWN)))
    if len(found.plans) > PLANS_SHOWN:
        parts.append(Text(f"{len(found.plans) - PLANS_SHOWN} more plans stand in plans.csv."))
    parts += [Text(f"Wrote {file}") for file in files]
    return Group(*parts)


def _grid(table: Table) -> Grid:
    grid = Grid(title=Text(table.caption), title_justify="left")
    for column in table.columns:
        figure = column in table.figures
        grid.add_column(column, justify="right" if figure else "left", no_wrap=figure)
    for row in table.rows:
        grid.add_row(*(Text(cell) for cell in row))
    return grid


def _currency(found: Phasing) -> str:
    return found.best.steps[0].design.currency


def _money(found: Phasing, cents: float) -> str:
    return money(cents, _currency(found))


def _figure(cents: float) -> str:
    return f"{cents / 100.0:,.2f}"


def _listed(parts: Sequence[str]) -> str:
    return " and ".join(parts)
