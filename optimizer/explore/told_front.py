"""Fronts, pumps and prices told: from rows to a result that can be shown, written and drawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from optimizer.explore.changes import change_of
from optimizer.explore.fronts import Front
from optimizer.explore.point import CHOSEN, DESIGNED
from optimizer.explore.price_lines import BreakEven, Piece
from optimizer.explore.results import Result, amount, checked, refusals, table_of, titled
from optimizer.explore.sweep import Row, Study
from optimizer.explore.told_page import front_page, prices_page, pumps_page
from optimizer.records.site import Site
from optimizer.report.charts.front import front_chart
from optimizer.report.charts.prices import price_chart
from optimizer.report.charts.pumps import pumps_chart
from optimizer.report.scales import Reader, rounded

FRONT_WORDS = {
    "floods_per_hour": ("front_floods", "floods an hour", "floods"),
    "growing_area_m2": ("front_area", "growing area", "growing_area_m2"),
    "sump_volume_m3": ("front_sump", "sump volume", "sump_volume_m3"),
    "energy_kwh_per_year": ("front_energy", "kWh a year", "energy_kwh_per_year"),
}
PUMPS_SHOWN = 12
QUANTITIES = {"growing_area_m2": "area", "sump_volume_m3": "volume"}


def told_front(study: Study, front: Front) -> Result:
    """Return a front with its table and chart."""
    site = study.job.site
    name, words, column = FRONT_WORDS[front.over]
    frame = table_of(front.rows)
    designed = [row for row in front.rows if row["outcome"] == DESIGNED]
    sentences = [
        f"{len(designed)} of {len(front.rows)} points have a design; "
        f"{sum(row['on_front'] for row in designed)} of them are not beaten in both cost and "
        f"{words}.",
        front.note,
        *refusals(front.rows, column),
        checked(front.rows),
    ]
    kept = designed if column == "floods" else [row for row in designed if row["on_front"]]
    shown = pd.DataFrame(_front_line(row, front.over, site) for row in kept)
    chart = front_chart(frame, front.over, site.currency, site.units)
    pages = {name: front_page(study, front, sentences[:2])}
    return Result(sentences, shown, {name: frame}, {name: chart}, front.rows, pages)


def _front_line(row: Row, over: str, site: Site) -> dict[str, str]:
    _, words, column = FRONT_WORDS[over]
    energy = over == "energy_kwh_per_year"
    value = row[column]
    return {
        words: (
            Reader(site.units).text(QUANTITIES[over], value)
            if over in QUANTITIES
            else rounded(value)
        ),
        f"{site.currency} but energy" if energy else site.currency: amount(
            row["cost_without_energy" if energy else "cost"]
        ),
        "pump": row["chosen_pump"],
        "sump": row["chosen_sump"],
        "beds": row["chosen_beds"],
    }


def told_pumps(study: Study, rows: Sequence[Row]) -> Result:
    """Return the study of every pump."""
    site = study.job.site
    reader, currency = Reader(site.units), site.currency
    able = [row for row in rows if row["outcome"] == DESIGNED]
    shown = pd.DataFrame(
        {
            "pump": row["chosen_pump"],
            "on list": "yes" if row["allowed"] else "no",
            currency: amount(row["cost"]),
            "above best": amount(row["gap_to_best"]),
            "flow": reader.text("flow", row["duty_flow_m3_s"]),
            "head": reader.text("length", row["duty_head_m"]),
            "of curve": f"{row['share_of_curve']:.0%}",
        }
        for row in able[:PUMPS_SHOWN]
    )
    sentences = [
        f"{len(able)} of {len(rows)} pumps can do it, alone or in parallel.",
        *refusals(rows, "pumps"),
        checked(rows),
    ]
    if len(able) > PUMPS_SHOWN:
        sentences.append(f"The {PUMPS_SHOWN} cheapest; the rest are in the table pumps.")
    frame = table_of(rows)
    charts = {"pumps": pumps_chart(frame, currency)}
    pages = {"pumps": pumps_page(study, rows, sentences[:1])}
    return Result(sentences, shown, {"pumps": frame}, charts, rows, pages)


def told_prices(
    study: Study, name: str, pieces: Sequence[Piece], met: Sequence[BreakEven]
) -> Result:
    """Return least cost against a price, and the prices at which designs give way."""
    currency, change = study.job.site.currency, change_of(name)
    priced = [_piece_row(piece) for piece in pieces]
    frame, sentences = table_of(priced), _price_sentences(pieces, met)
    shown = pd.DataFrame(
        {
            titled(name): rounded(each.price, 4),
            "below it": _choices(each.below, each.above),
            "above it": _choices(each.above, each.below),
            f"{currency} there": amount(each.cost),
            "left open": amount(each.open),
        }
        for each in met
    )
    stem = name.replace(" ", "_")
    tables = {f"prices_{stem}": frame, f"break_even_{stem}": pd.DataFrame(map(_even_row, met))}
    charts = {f"prices_{stem}": price_chart(frame, titled(name), currency)} if pieces else {}
    pages = {f"prices_{stem}": prices_page(study, priced, change.words, change.unit, sentences)}
    return Result(sentences, shown, tables, charts, [piece.row for piece in pieces], pages)


def _price_sentences(pieces: Sequence[Piece], met: Sequence[BreakEven]) -> list[str]:
    if not pieces:
        return ["No design exists at any price."]
    low, high = rounded(pieces[0].low), rounded(pieces[-1].high)
    told = [f"Break-even prices between {low} and {high}: {len(met) or 'no'}."]
    if not met:
        last = [piece for piece in pieces if piece.high == pieces[-1].high]
        cheapest = min(last, key=lambda piece: piece.line.at(piece.high))
        told.append(f"The cheapest throughout: {_choices(cheapest.row, {})}.")
    return told


def _even_row(each: BreakEven) -> Row:
    return {
        "price": each.price,
        "cost": each.cost,
        "open": each.open,
        "pump_below": each.below["chosen_pump"],
        "pump_above": each.above["chosen_pump"],
        "choices_below": _choices(each.below, each.above),
        "choices_above": _choices(each.above, each.below),
    }


def _choices(row: Mapping[str, Any], other: Mapping[str, Any]) -> str:
    """Return what a design chose otherwise than another."""
    own = [str(row[key]) for key in CHOSEN if row[key] != other.get(key)]
    return "; ".join(own) or "the same parts, laid otherwise"


def _piece_row(piece: Piece) -> Row:
    return piece.row | {
        "from_price": piece.low,
        "to_price": piece.high,
        "cost_from": piece.line.at(piece.low),
        "cost_to": piece.line.at(piece.high),
        "cost_without": piece.line.fixed,
        "cost_per_price": piece.line.per_price,
        "open": piece.open,
    }
