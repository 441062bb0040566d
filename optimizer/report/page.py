"""One page for one design: self-contained, offline, answers first."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from functools import cache

import altair as alt
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from optimizer.records.check import CheckReport
from optimizer.records.design import Design
from optimizer.records.safety import SafetyStep
from optimizer.report import page_tables, plant_tables, theme, words, words_returns, words_zones
from optimizer.report.bundle import javascript_bundle
from optimizer.report.charts.every import built_kinds, chart_specs
from optimizer.report.findings import failures_table, finding_groups
from optimizer.report.plan_sump import sump_tanks
from optimizer.report.safety_tables import safety_notes, safety_table
from optimizer.report.scales import Reader, counted, money
from optimizer.report.words_noise import noise_sentence
from optimizer.report.words_ring import ring_sentences
from optimizer.report.words_stock import stock_sentence


def render_page(design: Design, check: CheckReport, safety: Sequence[SafetyStep] = ()) -> str:
    """Return the whole page as HTML. It fetches nothing and carries no clock time.

    Args:
        design: the design.
        check: what simulation says of it.
        safety: the site designed more and less safely; the page then says what safety costs.
    """
    template = environment().get_template("page.html.j2")
    return template.render(
        design=design,
        check=check,
        answers=_answers(design, check),
        words=words,
        tables=page_tables,
        plant=plant_tables,
        returns=words_returns,
        zones=words_zones,
        reader=Reader(design.units),
        tanks=sump_tanks(design),
        stock=stock_sentence(design),
        noise=noise_sentence(design),
        failures=failures_table(design, check),
        groups=finding_groups(design, check),
        safety=safety_table(safety) if safety else None,
        safety_notes=safety_notes(safety),
        kinds=built_kinds(design),
        charts=_charts(design, check),
        theme=theme,
        bundle=script(javascript_bundle()),
    )


@cache
def environment() -> Environment:
    """Return where templates are found, and how they are filled."""
    made = Environment(
        loader=PackageLoader("optimizer.report", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["counted"] = counted
    return made


def _answers(design: Design, check: CheckReport) -> list[tuple[str, str]]:
    currency, surely = design.currency, words.surety_sentences(design, check)
    capital, total = words.capital_cents(design), words.total_cents(design)
    return [
        (
            "What to buy",
            f"{words.beds_sentence(design)}. Pump: {words.pump_sentence(design)}. "
            f"{words.sump_sentence(design)}.{_zoned(design)}",
        ),
        (
            "What it costs",
            f"{money(capital, currency)} to buy; {money(total, currency)} with the present worth "
            f"of running it. {words.proof_sentence(design)}",
        ),
        (
            "What it draws",
            f"{words.watts_sentence(design, check)}: {words.energy_sentence(design)}.",
        ),
        *([("The ring", " ".join(ring))] if (ring := ring_sentences(design)) else []),
        *([("How surely", " ".join(surely))] if surely else []),
    ]


def _zoned(design: Design) -> str:
    said = words_zones.zones_sentence(design)
    return f" {said}." if said else ""


def _charts(design: Design, check: CheckReport) -> dict[str, Markup]:
    return {name: spec_json(chart) for name, chart in chart_specs(design, check).items()}


@theme.unchecked
def spec_json(chart: theme.Chart) -> Markup:
    """Return a chart as JSON that cannot end its script element: no ``<`` is left in it."""
    with alt.data_transformers.enable("default", max_rows=None):
        spec = chart.to_dict(validate=False)
    text = json.dumps(spec, sort_keys=True, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c"))


def script(text: str) -> Markup:
    """Return a script that cannot end its own element."""
    return Markup(re.sub("</(?=script)", r"<\\/", text, flags=re.IGNORECASE))
