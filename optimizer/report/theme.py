"""How every chart and page of Floodwright looks, decided once.

Blue stands for water and what the physics allows, clay for what a person sets or must look at.
The two differ in lightness as well as hue, and no meaning is carried by colour alone: marks differ
in shape, thickness or dash, and words stand beside them.
"""

from __future__ import annotations

from typing import Any

import altair as alt
from altair.utils.schemapi import debug_mode

INK = "#20303a"
QUIET = "#56666e"
LINE = "#d3dbdc"
PAPER = "#ffffff"
GROUND = "#f6f7f4"
WATER = "#17607d"
WATER_MID = "#76b0c4"
WATER_PALE = "#cfe4eb"
CLAY = "#a94a14"
CLAY_PALE = "#f3dccb"
FONT = "system-ui, 'Segoe UI', 'Liberation Sans', 'DejaVu Sans', Arial, sans-serif"
PICTURE_FONT = "Arial, 'Liberation Sans', Helvetica, sans-serif"
"""In picture files, where a font other than the one a text was measured in would cut its end off:
these are equally wide."""
TEXT_PX = 12
SMALL_PX = 11
WIDE_PX = 1040
CHART_PX = 720
NARROW_PX = 340

Chart = alt.Chart | alt.LayerChart | alt.FacetChart

unchecked = debug_mode(False)
"""Before what makes charts: their parts are not held against the schema one by one, which takes a
fifth of a page's time. The tests hold every finished chart against it."""


def config() -> dict[str, Any]:
    """Return the Vega-Lite configuration that every chart carries."""
    words = {"font": FONT, "color": INK}
    axis = {
        "labelFont": FONT,
        "titleFont": FONT,
        "labelFontSize": SMALL_PX,
        "titleFontSize": TEXT_PX,
        "titleFontWeight": "normal",
        "labelColor": QUIET,
        "titleColor": INK,
        "gridColor": LINE,
        "domainColor": QUIET,
        "tickColor": QUIET,
        "labelLimit": 190,
        "titlePadding": 8,
    }
    legend = {
        "labelFont": FONT,
        "titleFont": FONT,
        "labelFontSize": TEXT_PX,
        "titleFontSize": TEXT_PX,
        "labelColor": INK,
        "orient": "top",
        "titleFontWeight": "normal",
        "labelLimit": 260,
    }
    return {
        "background": PAPER,
        "font": FONT,
        "padding": 4,
        "text": {**words, "fontSize": TEXT_PX},
        "title": {**words, "fontSize": 14, "anchor": "start"},
        "axis": axis,
        "legend": legend,
        "view": {"stroke": None},
    }


def themed(chart: Chart, description: str, height_px: int, width_px: int = CHART_PX) -> Chart:
    """Give a chart our theme, its size and the sentence a screen reader speaks; return it.

    They are set on the chart itself: ``properties`` would copy every layer three times.
    """
    worn = {
        "width": width_px,
        "height": height_px,
        "description": description,
        "autosize": alt.AutoSizeParams(type="fit-x", contains="padding"),
        "config": alt.Config(**config()),
    }
    for name, value in worn.items():
        chart[name] = value
    return chart
