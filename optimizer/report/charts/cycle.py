"""One flood of one bed: level against time, by the closed forms of the physics."""

from __future__ import annotations

import altair as alt
import numpy as np
import pandas as pd

from optimizer.physics.bed import SiphonBed
from optimizer.physics.cycle_forms import drain_time_s
from optimizer.physics.siphon import rim_flow
from optimizer.records.design import BedKind, Design
from optimizer.report import theme
from optimizer.report.scales import Reader

POINTS = 40


def cycle_frame(siphon: SiphonBed, inflow_m3_s: float) -> pd.DataFrame:
    """Return one cycle: ``time_s``, ``level_m`` and ``phase`` (fills, primes, drains).

    The level rises straight to the crest, more slowly while part of the inflow runs over the rim,
    then falls as the primed siphon drains faster than the bed fills.

    Args:
        siphon: the bed.
        inflow_m3_s: inflow inside its start-stop window.

    Raises:
        ValueError: for an inflow at which the bed does not cycle.
    """
    if not siphon.floods_per_hour(inflow_m3_s) > 0.0:
        raise ValueError(f"the bed does not cycle at {inflow_m3_s} m3/s")
    low, crest = siphon.drain_level_m, siphon.crest_level_m
    to_crest = siphon.store_m2 * (crest - low) / inflow_m3_s
    rows = [(0.0, low, "fills"), (to_crest, crest, "fills")]
    rows += _priming(siphon, inflow_m3_s, to_crest)
    rows += _draining(siphon, inflow_m3_s, siphon.fill_s(inflow_m3_s))
    return pd.DataFrame(rows, columns=["time_s", "level_m", "phase"])


def _priming(siphon: SiphonBed, inflow: float, begin_s: float) -> list[tuple[float, float, str]]:
    """Return the rise over the rim, by steps of the trapezium rule scaled to its closed form."""
    heads = np.linspace(0.0, siphon.prime_level_m - siphon.crest_level_m, POINTS)
    rates = [
        siphon.store_m2 / (inflow - float(rim_flow(w, siphon.mouth_m, siphon.rim_discharge)))
        for w in heads
    ]
    pieces = np.diff(heads) * (np.asarray(rates)[:-1] + np.asarray(rates)[1:]) / 2.0
    times = np.concatenate(([0.0], np.cumsum(pieces)))
    times *= siphon.prime_s(inflow) / times[-1]
    rises = zip(times, heads, strict=True)
    return [(begin_s + float(t), siphon.crest_level_m + float(w), "primes") for t, w in rises]


def _draining(siphon: SiphonBed, inflow: float, begin_s: float) -> list[tuple[float, float, str]]:
    top, low = siphon.prime_level_m, siphon.drain_level_m
    high = siphon.discharge_m3_s(top)
    scale = 2.0 * siphon.store_m2 * (top - siphon.outlet_level_m) / high**2
    levels = [float(level) for level in np.linspace(top, low, POINTS)]
    return [
        (begin_s + drain_time_s(inflow, high, siphon.discharge_m3_s(level), scale), level, "drains")
        for level in levels
    ]


def cycle_chart(design: Design, kind: BedKind) -> theme.Chart | None:
    """Return level against time over one flood at the inflow set; None where it does not cycle."""
    reader, siphon, inflow = Reader(design.units), kind.siphon, kind.inflow_m3_s
    if not siphon.floods_per_hour(inflow) > 0.0:
        return None
    frame = cycle_frame(siphon, inflow)
    frame["minutes"] = frame["time_s"] / 60.0
    frame["level"] = frame["level_m"] / reader.unit("size").size
    top = 1.15 * reader.number("size", siphon.prime_level_m)
    last = float(frame["minutes"].iloc[-1])
    x = alt.X(
        "minutes:Q",
        title="minutes from the start of filling",
        axis=alt.Axis(grid=False),
        scale=alt.Scale(domain=[0, last], nice=False),
    )
    y = alt.Y(
        "level:Q",
        title=f"water above the bed's floor, {reader.name('size')}",
        scale=alt.Scale(domain=[0, top], nice=False),
    )
    phases = ["fills", "primes", "drains"]
    dashes = alt.Scale(domain=phases, range=[[1, 0], [2, 2], [7, 3]])
    hues = alt.Scale(domain=phases, range=[theme.WATER, theme.CLAY, theme.INK])
    line = (
        alt.Chart(frame)
        .mark_line(strokeWidth=2.5)
        .encode(
            x,
            y,
            alt.StrokeDash("phase:N", scale=dashes, legend=alt.Legend(title=None)),
            alt.Color("phase:N", scale=hues, legend=alt.Legend(title=None)),
            alt.Order("minutes:Q"),
        )
    )
    says = (
        f"{kind.label}: one flood fills in {reader.text('minutes', siphon.fill_s(inflow))}"
        f" and drains in {reader.text('minutes', siphon.drain_s(inflow))}."
    )
    return theme.themed(alt.layer(*_marks(siphon, reader, x, y, last / 2.0), line), says, 220)


def _marks(siphon: SiphonBed, reader: Reader, x: alt.X, y: alt.Y, mid: float) -> list[alt.Chart]:
    """Draw the slots' top and the standpipe's rim as level lines, words where no curve runs."""
    places = (
        ("top of the slots", siphon.drain_level_m, 0.75 * mid),
        ("standpipe rim", siphon.crest_level_m, 0.06 * mid),
    )
    size = reader.unit("size").size
    rows = [(f"{w}, {reader.text('size', h)}", h / size, m) for w, h, m in places]
    base = alt.Chart(pd.DataFrame(rows, columns=["words", "level", "minutes"])).encode(y)
    rule = base.mark_rule(stroke=theme.QUIET, strokeDash=[4, 4])
    words = base.mark_text(align="left", dy=-8, color=theme.QUIET)
    return [rule, words.encode(x, alt.Text("words:N"))]
