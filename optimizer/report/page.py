"""One page for one design: self-contained, offline, answers first."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from optimizer.records.check import CheckReport
from optimizer.records.design import BedKind, Design
from optimizer.report import page_tables, theme, words
from optimizer.report.bundle import javascript_bundle
from optimizer.report.charts.costs import cost_chart
from optimizer.report.charts.cycle import cycle_chart
from optimizer.report.charts.plan import plan_chart
from optimizer.report.charts.pump import pump_head_chart, pump_watts_chart
from optimizer.report.charts.trade import trade_chart
from optimizer.report.charts.windows import windows_chart
from optimizer.report.page_tables import Table
from optimizer.report.scales import money

SUBJECTS_SHOWN = 60
"""Subjects whose findings all pass are listed up to this many; the rest are in findings.csv."""


@dataclass(frozen=True)
class Subject:
    """The findings about one subject."""

    name: str
    count: int
    failed: int
    table: Table


def render_page(design: Design, check: CheckReport) -> str:
    """Return the whole page as HTML. It fetches nothing and carries no clock time.

    Args:
        design: the design.
        check: what simulation says of it.
    """
    template = _environment().get_template("page.html.j2")
    return template.render(
        design=design,
        check=check,
        answers=_answers(design, check),
        words=words,
        tables=page_tables,
        subjects=_subjects(design, check),
        subjects_left=max(0, len(_names(check)) - SUBJECTS_SHOWN),
        kinds=[kind for kind in design.kinds if any(bed.kind == kind.id for bed in design.beds)],
        charts=_charts(design, check),
        theme=theme,
        bundle=_script(javascript_bundle()),
    )


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("optimizer.report", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _answers(design: Design, check: CheckReport) -> list[tuple[str, str]]:
    currency = design.currency
    capital, total = words.capital_cents(design), words.total_cents(design)
    return [
        ("What to buy", f"{words.beds_sentence(design)}. Pump: {words.pump_sentence(design)}."),
        (
            "What it costs",
            f"{money(capital, currency)} to buy; {money(total, currency)} with the present worth "
            f"of running it. {words.proof_sentence(design)}",
        ),
        (
            "What it draws",
            f"{words.watts_sentence(design, check)}: {words.energy_sentence(design)}.",
        ),
    ]


def chart_specs(design: Design, check: CheckReport) -> dict[str, theme.Chart]:
    """Return every chart by name; those of one bed kind end in its number, from 1."""
    charts: dict[str, theme.Chart | None] = {
        "plan": plan_chart(design),
        "plan_narrow": plan_chart(design, theme.NARROW_PX),
        "windows": windows_chart(design, check),
        "costs": cost_chart(design),
        "pump_head": pump_head_chart(design, check),
        "pump_watts": pump_watts_chart(design, check),
    }
    for number, kind in enumerate(_built_kinds(design), start=1):
        charts[f"trade_{number}"] = trade_chart(design, kind)
        if kind.siphon.floods_per_hour(kind.inflow_m3_s) > 0.0:
            charts[f"cycle_{number}"] = cycle_chart(design, kind)
    return {name: chart for name, chart in charts.items() if chart is not None}


def _built_kinds(design: Design) -> list[BedKind]:
    built = {bed.kind for bed in design.beds}
    return [kind for kind in design.kinds if kind.id in built]


def _charts(design: Design, check: CheckReport) -> dict[str, Markup]:
    return {
        name: _json(chart.to_dict(validate=False))
        for name, chart in chart_specs(design, check).items()
    }


def _json(value: object) -> Markup:
    """Return JSON that cannot end its script element: no ``<`` is left in it."""
    text = json.dumps(value, sort_keys=True, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c"))


def _script(text: str) -> Markup:
    return Markup(text.replace("</script", "<\\/script"))


def _names(check: CheckReport) -> list[str]:
    """Return subjects, those with failures first, otherwise in the order of the check."""
    failed = {finding.subject for finding in check.failures}
    every = dict.fromkeys(finding.subject for finding in check.findings)
    return sorted(every, key=lambda name: name not in failed)


def _subjects(design: Design, check: CheckReport) -> list[Subject]:
    failed = [finding.subject for finding in check.failures]
    count = max(SUBJECTS_SHOWN, len(set(failed)))
    return [
        Subject(name, len(table.rows), failed.count(name), table)
        for name in _names(check)[:count]
        for table in (page_tables.findings_table(check, name, design),)
    ]
