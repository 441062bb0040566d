"""Water held by all beds at once: by chance, as simulated, and what the sump can give."""

from __future__ import annotations

import altair as alt
import numpy as np
import pandas as pd

from optimizer.physics.held_volume import held_distribution
from optimizer.records.design import Design
from optimizer.report import theme
from optimizer.report.day_facts import DayFacts
from optimizer.report.scales import Reader

POINTS = 120
BY_CHANCE, SIMULATED = "by chance", "in the simulated day"
LOOKS = {BY_CHANCE: ([1, 0], theme.WATER), SIMULATED: ([6, 3], theme.INK)}
"""Dash and colour of each curve."""


def sump_gives_m3(design: Design) -> float:
    """Return the water that beds can hold before the sump, not topped up, uncovers the pump."""
    sump = design.sump
    area = sump.area_m2 * sump.count
    return area * (sump.highest_m - design.pump.submergence_m) - sump.lost_m3


def held_frame(design: Design, facts: DayFacts) -> pd.DataFrame:
    """Return ``curve``, ``held_m3``, ``share``: share of time in which no more is held.

    The curve by chance is the safe one: the least share its error bound allows. It is left out
    where some bed does not cycle at the inflow it was set to.
    """
    held = np.sort(facts.held_m3.to_numpy(dtype=np.float64))
    picked = np.unique(np.linspace(0, held.size - 1, min(POINTS, held.size)).astype(int))
    rows = {"curve": SIMULATED, "held_m3": held[picked], "share": (picked + 1.0) / held.size}
    return pd.concat([_by_chance(design), pd.DataFrame(rows)], ignore_index=True)


def _by_chance(design: Design) -> pd.DataFrame:
    columns = ["curve", "held_m3", "share"]
    counts = {kind.id: sum(bed.kind == kind.id for bed in design.beds) for kind in design.kinds}
    kinds = [(k.siphon, k.inflow_m3_s, counts[k.id]) for k in design.kinds if counts[k.id]]
    if not all(siphon.floods_per_hour(inflow) > 0.0 for siphon, inflow, _ in kinds):
        return pd.DataFrame(columns=columns)
    found = held_distribution(kinds)
    volumes = np.linspace(0.0, found.worst_m3, POINTS)
    least, _ = found.chance_at_most(volumes)
    return pd.DataFrame({"curve": BY_CHANCE, "held_m3": volumes, "share": least})


def held_chart(design: Design, facts: DayFacts) -> theme.Chart:
    """Return both curves and the sump's line."""
    reader, frame = Reader(design.units), held_frame(design, facts)
    size = reader.unit("volume").size
    frame["held"], frame["percent"] = frame["held_m3"] / size, 100.0 * frame["share"]
    gives = sump_gives_m3(design)
    last = 1.03 * max(float(frame["held_m3"].max()), gives) / size
    x = alt.X(
        "held:Q",
        title=f"water held by all beds together, {reader.name('volume')}",
        scale=alt.Scale(domain=[0, last], nice=False),
        axis=alt.Axis(grid=False, tickCount=6, labelOverlap="greedy", labelSeparation=6),
    )
    y = alt.Y("percent:Q", title="share of time with no more, %", scale=alt.Scale(domain=[0, 100]))
    curves = [name for name in LOOKS if (frame["curve"] == name).any()]
    legend = alt.Legend(title=None)
    dashes = alt.Scale(domain=curves, range=[LOOKS[name][0] for name in curves])
    hues = alt.Scale(domain=curves, range=[LOOKS[name][1] for name in curves])
    line = alt.Chart(frame).mark_line(strokeWidth=2.2)
    line = line.encode(
        x,
        y,
        alt.StrokeDash("curve:N", scale=dashes, legend=legend),
        alt.Color("curve:N", scale=hues, legend=legend),
        alt.Order("percent:Q"),
    )
    words = f"sump can give {reader.text('volume', gives)}"
    mark = alt.Chart(pd.DataFrame({"held": [gives / size], "words": [words]})).encode(x)
    rule = mark.mark_rule(stroke=theme.CLAY, strokeWidth=2.0, strokeDash=[6, 4])
    label = mark.mark_text(align="right", dx=-6, color=theme.CLAY)
    label = label.encode(alt.Text("words:N"), y=alt.value(110))
    says = "Share of time in which all beds hold no more than a volume, and what the sump can give."
    return theme.themed(alt.layer(line, rule, label), says, 240)
