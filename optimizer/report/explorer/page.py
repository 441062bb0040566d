"""The page on which one chooses among many designs: one file, offline, without a library."""

from __future__ import annotations

import base64
import hashlib
import json
from dataclasses import replace
from importlib.resources import files
from typing import Any

from markupsafe import Markup

from optimizer.records.design import Design
from optimizer.report import theme, words
from optimizer.report.charts.pump import LEVELS
from optimizer.report.explorer.design_facts import Facts
from optimizer.report.explorer.pool import Pool, brief
from optimizer.report.explorer.records import Explorer, Measure, Name, Point
from optimizer.report.page import environment
from optimizer.report.scales import Reader

SCRIPTS = (
    "numbers.js",
    "marks.js",
    "data.js",
    "points.js",
    "list.js",
    "plan.js",
    "plan_words.js",
    "windows.js",
    "pump.js",
    "bill.js",
    "schedules.js",
    "facts.js",
    "start.js",
)
"""The parts of the script, in the order in which they are joined."""

STYLES = ("page.css", "explorer/page.css")
"""The style of every page, and what this one has more."""

QUANTITIES = (
    *("flow", "length", "size", "area", "volume", "temperature", "slope", "speed", "mass"),
    *("power", "energy", "time", "frequency", "share"),
)
SYSTEMS = ("metric", "us")
SI_QUANTITIES = {"m": "length", "m3/s": "flow", "m3": "volume", "m2": "area", "kWh": "energy"}
"""Units of bill lines that are converted; all others are names."""


def render_explorer(explorer: Explorer) -> str:
    """Return the whole page as HTML. It fetches nothing and carries no clock time.

    Only the page's own style and script may run: both are named by their hash.

    Args:
        explorer: the study.

    Raises:
        ValueError: if no point has a design.
    """
    if all(point.design is None for point in explorer.points):
        raise ValueError("a page to choose from needs a design")
    script, style = _script(), _style()
    return (
        environment()
        .get_template("explorer/page.html.j2")
        .render(
            explorer=explorer,
            cautions={units: _cautions(explorer, units) for units in SYSTEMS},
            data=Markup(page_data(explorer)),
            script=Markup(script),
            style=Markup(style),
            script_hash=_hash(script),
            style_hash=_hash(style),
        )
    )


def page_data(explorer: Explorer) -> str:
    """Return the page's data as JSON that cannot end its element: no ``<``, ``>`` or ``&``."""
    text = json.dumps(_data(explorer), separators=(",", ":"), allow_nan=False)
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def _data(explorer: Explorer) -> dict[str, Any]:
    facts, designs = Facts(), Pool()
    points = [_point(point, facts, designs) for point in explorer.points]
    return {
        "currency": explorer.currency,
        "units": explorer.units,
        "systems": {units: _system(units) for units in SYSTEMS},
        "si": SI_QUANTITIES,
        "bands": list(words.BANDS.values()),
        "levels": list(LEVELS),
        "across": [_measure(each) for each in explorer.across],
        "up": _measure(explorer.up),
        "joined": explorer.joined,
        "chosen": explorer.chosen,
        "against": explorer.against,
        "points": points,
        "designs": designs.items,
        **facts.shared(),
    }


def _point(point: Point, facts: Facts, designs: Pool) -> dict[str, Any]:
    told: dict[str, Any] = {
        "id": point.id,
        "name": _name(point.name),
        "figures": {key: brief(value) for key, value in point.figures.items()},
        "says": point.says,
        "best": point.best,
        "between": [brief(end) for end in point.between] if point.between else None,
        "design": None,
    }
    if point.design is not None and point.check is not None:
        told["design"] = designs.place(facts.of(point.design, point.check))
    return told


def _name(name: Name) -> list[Any]:
    return [part if isinstance(part, str) else [brief(part[0]), part[1]] for part in name]


def _measure(measure: Measure) -> dict[str, str]:
    return {"key": measure.key, "words": measure.words, "quantity": measure.quantity}


def _system(units: str) -> dict[str, Any]:
    """Return the name, size and zero of every unit, so that the page converts as we do."""
    reader, found = Reader(units), {}
    for quantity in QUANTITIES:
        unit = reader.unit(quantity)
        found[quantity] = [unit.name, unit.size, unit.zero]
    return {"units": found, "bucket": reader.bucket, "bucket_m3": reader.bucket_m3}


def _cautions(explorer: Explorer, units: str) -> list[str]:
    """Return the cautions of all designs, each once, with the heaviest beds of any of them."""
    designs = [point.design for point in explorer.points if point.design is not None]
    heaviest = max(designs, key=_heaviest_kg).kinds
    said = (words.cautions(replace(each, units=units, kinds=heaviest)) for each in designs)
    return list(dict.fromkeys(caution for each in said for caution in each))


def _heaviest_kg(design: Design) -> float:
    return max((kind.wet_mass_kg for kind in design.kinds), default=0.0)


def _script() -> str:
    """Return the parts of the script as one, in a scope of its own."""
    parts = "\n".join(_text(f"js/{name}") for name in SCRIPTS)
    return f'"use strict";\n(() => {{\n{parts}\n}})();\n'


def _style() -> str:
    """Return the style, in the colours of the theme."""
    made = [environment().get_template(name).render(theme=theme) for name in STYLES]
    return "\n".join(made)


def _text(name: str) -> str:
    return files("optimizer.report.explorer").joinpath(name).read_text(encoding="utf-8")


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"sha256-{base64.b64encode(digest).decode()}"
