"""An extension in words and tables: what to buy, what stays, how far the pump reaches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pandas as pd
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from optimizer.records.design import Design
from optimizer.records.extension import FATES, Extension, PartFate, Room, bought_cents
from optimizer.report import words
from optimizer.report.scales import Reader, counted, money

COLUMNS = ("fate", "what", "before", "after", "quantity", "unit")


def fates_frame(fates: Sequence[PartFate]) -> pd.DataFrame:
    """Return what becomes of every part, one row a sort of part; lengths in m."""
    rows = [[getattr(each, name) for name in COLUMNS] for each in fates]
    return pd.DataFrame(rows, columns=list(COLUMNS))


def room_frame(room: Room) -> pd.DataFrame:
    """Return the two steps: the most beds on the standing pump, and one more; money in cents."""
    steps = (("most on the standing pump", room.on_pump), ("one bed more", room.beyond))
    rows = [
        {
            "step": name,
            "beds": len(design.beds),
            "bought_cents": bought_cents(design),
            "cost_cents": design.record.cost_cents,
            "bound_cents": design.record.bound_cents,
            "pump": f"{design.pump.count} x {design.pump.id}",
        }
        for name, design in steps
        if design is not None
    ]
    columns = ["step", "beds", "bought_cents", "cost_cents", "bound_cents", "pump"]
    return pd.DataFrame(rows, columns=columns)


def extension_dict(extension: Extension) -> dict[str, Any]:
    """Return what another program may read of an extension: money in cents, lengths in m."""
    design = extension.design
    room = extension.room
    return {
        "bought_cents": bought_cents(design),
        "cost_cents": design.record.cost_cents,
        "bound_cents": design.record.bound_cents,
        "status": design.record.status,
        "passed": extension.check.passed,
        "beds_before": len(extension.old.beds),
        "beds": len(design.beds),
        "parts": fates_frame(extension.fates).to_dict("records"),
        "room": None
        if room is None
        else {
            "beds_fit": room.fits,
            "beds_fit_at_most": room.fits_at_most,
            "places": room.places,
            "why": room.why,
            "steps": room_frame(room).to_dict("records"),
        },
    }


def extension_summary(extension: Extension, files: Sequence[Path] = ()) -> RenderableType:
    """Return the answer as something rich can print; nothing is printed here."""
    parts: list[RenderableType] = [Text(sentence) for sentence in sentences(extension)]
    table = Table("", "part", "before", "after", "how many", title_justify="left")
    for each in extension.fates:
        amount = Reader(extension.design.units).quantity(each.quantity, each.unit)
        cells = (each.fate, each.what, each.before, each.after, amount)
        table.add_row(*(Text(cell) for cell in cells))
    parts.append(table)
    parts += [Text(f"Wrote {file}") for file in files]
    return Group(*parts)


def sentences(extension: Extension) -> list[str]:
    """Return the answer in sentences, what to buy first."""
    design, old = extension.design, extension.old
    new = len(design.beds) - len(old.beds)
    buy = money(bought_cents(design), design.currency)
    told = [
        f"{counted(new, 'bed')} more, {len(design.beds)} in all: "
        f"buy for {buy} what does not stand yet.",
        f"With energy and later pumps it costs {money(design.record.cost_cents, design.currency)} "
        f"over the planning years. {words.proof_sentence(design)}",
        f"Counted: {_by_fate(extension.fates, Reader(design.units))}.",
        words.verdict(extension.check),
    ]
    return told + (list(_room(extension.room)) if extension.room else [])


def _by_fate(fates: Sequence[PartFate], reader: Reader) -> str:
    found = []
    for fate in FATES:
        pieces = sum(each.quantity for each in fates if each.fate == fate and each.unit != "m")
        metres = sum(each.quantity for each in fates if each.fate == fate and each.unit == "m")
        if pieces or metres:
            laid = f"{reader.number('length', metres):.1f} {reader.name('length')} of pipe"
            found.append(f"{fate}: {counted(round(pieces), 'piece')} and {laid}")
    return "; ".join(found)


def _room(room: Room) -> Iterator[str]:
    if room.fits is None or room.on_pump is None:
        yield f"The standing pump does not even serve what stands: {room.why}"
        return
    more = room.fits - room.beds_before
    yield (
        f"On the standing pump fit {counted(room.fits, 'bed')}, {more} more than stand: "
        f"buy for {_bought(room.on_pump)}."
        if more
        else "On the standing pump no bed more fits than stand."
    )
    if room.fits_at_most is not None and room.fits_at_most > room.fits:
        yield (
            f"Up to {room.fits_at_most} are not proven too many: the search for which rows to "
            "leave unbuilt was ended."
        )
    if room.fits == room.places:
        yield "That is every place on the site."
    elif room.beyond is None:
        yield f"One bed more cannot be had with any pump. {room.why}"
    else:
        pump = room.beyond.pump
        yield (
            f"One bed more ({room.fits + 1}) does not fit on it. {room.why} With {pump.count} x "
            f"{pump.label}: buy for {_bought(room.beyond)}, "
            f"{_step(room.on_pump, room.beyond)} over the years."
        )


def _bought(design: Design) -> str:
    return money(bought_cents(design), design.currency)


def _step(before: Design, after: Design) -> str:
    """Return what the next bed costs, running counted, as more or less."""
    step = after.record.cost_cents - before.record.cost_cents
    return f"{money(abs(step), after.currency)} {'more' if step >= 0 else 'less'}"
