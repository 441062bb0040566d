"""Sensitivities and variants told: from rows to a result to be shown, written and drawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pandas as pd

from optimizer.explore.point import DESIGNED
from optimizer.explore.results import Result, amount, checked, table_of, titled
from optimizer.explore.sensitivity import Range, sample_summary, tornado
from optimizer.explore.sweep import Row, Study
from optimizer.explore.told_page import changes_page, variants_page
from optimizer.explore.variants import Variants, cost_rows, figure_rows, part_rows, plan_rows
from optimizer.records.check import CheckReport
from optimizer.report.charts.sensitivity import draws_chart, pairs_chart, tornado_chart
from optimizer.report.scales import rounded


def told_tornado(study: Study, rows: Sequence[Row], ranges: Sequence[Range]) -> Result:
    """Return single changes with their tornado."""
    currency = study.job.site.currency
    bars = tornado(study.base["cost"], rows, ranges)
    shown = pd.DataFrame(
        {
            "change": bar["words"],
            "from - to": f"{rounded(bar['low'])} - {rounded(bar['high'])} {bar['unit']}",
            f"{currency} at from": amount(bar["cost_at_low"]),
            f"{currency} at to": amount(bar["cost_at_high"]),
            "regret": amount(bar["regret_most"]),
            "choices that change": bar["decisions_changed"],
        }
        for bar in bars
    )
    frame = pd.DataFrame(bars)
    sentences = [
        f"The base design costs {study.base['cost']:,.2f} {currency}. Each line changes one thing.",
        "Regret is what keeping the base design costs above the best one; where the base design "
        "breaks a promise it must be rebuilt and has no regret.",
        *(
            f"{bar['words'].capitalize()}: it may break: {bar['broken']}."
            for bar in bars
            if bar["broken"]
        ),
        checked(rows),
    ]
    tables = {"sensitivity": table_of(rows), "tornado": frame}
    charts = {"tornado": tornado_chart(frame, currency)}
    pages = {"sensitivity": changes_page(study, rows, "one thing changed at a time", sentences[:2])}
    return Result(sentences, shown, tables, charts, rows, pages)


def told_pairs(study: Study, rows: Sequence[Row], first: Range, second: Range) -> Result:
    """Return a grid of pairs of changes."""
    currency, frame = study.job.site.currency, table_of(rows)
    names = tuple((each.name, titled(each.name)) for each in (first, second))
    shown = pd.DataFrame(
        {
            names[0][1]: rounded(row[first.name]),
            names[1][1]: rounded(row[second.name]),
            currency: amount(row.get("cost")),
            "regret of keeping": amount(row["regret"]),
            "choices that change": row["decisions_changed"],
        }
        for row in rows
    )
    sentences = [
        f"{len(rows)} pairs of values; framed in the chart where choices change.",
        checked(rows),
    ]
    charts = {"pairs": pairs_chart(frame, names[0], names[1], currency)}
    pages = {"pairs": changes_page(study, rows, "two things changed together", [])}
    return Result(sentences, shown, {"pairs": frame}, charts, rows, pages)


def told_draws(study: Study, rows: Sequence[Row], ranges: Sequence[Range]) -> Result:
    """Return draws in which everything changes at once."""
    currency, frame = study.job.site.currency, table_of(rows)
    summary = pd.DataFrame(sample_summary(rows, ranges))
    shown = pd.DataFrame(
        {
            "change": each["words"],
            "goes with cost": "" if pd.isna(each["with_cost"]) else f"{each['with_cost']:+.2f}",
            "goes with regret": (
                "" if pd.isna(each["with_regret"]) else f"{each['with_regret']:+.2f}"
            ),
        }
        for each in summary.to_dict("records")
    )
    tables = {"draws": frame, "draws_summary": summary}
    charts = {"draws": draws_chart(frame, currency)}
    sentences, title = _draw_sentences(rows, currency), "everything changed at once"
    pages = {"draws": changes_page(study, rows, title, sentences, named=False)}
    return Result(sentences, shown, tables, charts, rows, pages)


def _draw_sentences(rows: Sequence[Row], currency: str) -> list[str]:
    costs = sorted(row["cost"] for row in rows if row["outcome"] == DESIGNED)
    broken = sum(bool(row["broken"]) for row in rows)
    regrets = sorted(row["regret"] for row in rows if row["regret"] is not None)
    told = [f"{len(costs)} of {len(rows)} draws have a design."]
    if costs:
        told.append(f"The least cost runs from {costs[0]:,.2f} to {costs[-1]:,.2f} {currency}.")
    told.append(f"The base design breaks a promise in {broken} of {len(rows)} draws.")
    if regrets:
        middle = regrets[len(regrets) // 2]
        told.append(f"Where it holds, keeping it costs {middle:,.2f} {currency} more in the middle")
        told[-1] += f" and {regrets[-1]:,.2f} at most."
    told.append("Rank correlations run from -1 to 1; near 0 the change does not matter.")
    return told


def told_variants(variants: Variants, checks: Mapping[str, CheckReport]) -> Result:
    """Return designs side by side."""
    tables = {
        "compare_figures": pd.DataFrame(figure_rows(variants, checks)),
        "compare_costs": pd.DataFrame(cost_rows(variants)),
        "compare_parts": pd.DataFrame(part_rows(variants)),
        "compare_plan": pd.DataFrame(plan_rows(variants)),
    }
    shown = tables["compare_figures"].map(_plain)
    places = len(tables["compare_plan"])
    sentences = [f"{places} places or pipes differ between the designs."]
    pages = {"compare": variants_page(variants, checks, sentences)}
    return Result(sentences, shown, tables, pages=pages)


def _plain(value: object) -> str:
    return rounded(value, 5) if isinstance(value, float) else str(value)
