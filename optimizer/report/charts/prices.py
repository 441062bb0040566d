"""Least cost against one price: a line for each design that is cheapest somewhere."""

from __future__ import annotations

import altair as alt
import pandas as pd

from optimizer.report import theme
from optimizer.report.scales import counted, rounded

HUES = (theme.WATER, theme.CLAY, theme.INK, theme.WATER_MID, theme.QUIET)
DASHES = ([1, 0], [6, 3], [2, 2], [8, 2, 2, 2], [1, 3])


def price_chart(frame: pd.DataFrame, title: str, currency: str) -> theme.Chart | None:
    """Return the least cost against a price, named by pump, with a mark at each break-even.

    Args:
        frame: one row a piece: ``from_price``, ``to_price``, ``cost_from``, ``cost_to``,
            ``chosen_pump``.
        title: the price in words, with its unit.
        currency: the site's currency.
    """
    if frame.empty:
        return None
    pumps = list(dict.fromkeys(frame["chosen_pump"]))
    hues = [HUES[n % len(HUES)] for n in range(len(pumps))]
    dashes = [DASHES[n % len(DASHES)] for n in range(len(pumps))]
    x = alt.X("price:Q", title=title, scale=alt.Scale(zero=False), axis=alt.Axis(grid=False))
    y = alt.Y("cost:Q", title=f"least cost, {currency}", scale=alt.Scale(zero=False))
    legend = alt.Legend(title="pump", columns=3)
    drawn = (
        alt.Chart(_ends(frame))
        .mark_line(strokeWidth=2.5)
        .encode(
            x,
            y,
            alt.Detail("piece:N"),
            alt.Color("pump:N", scale=alt.Scale(domain=pumps, range=hues), legend=legend),
            alt.StrokeDash("pump:N", scale=alt.Scale(domain=pumps, range=dashes), legend=legend),
        )
    )
    says = f"Least cost against {title}; cheapest somewhere: {counted(len(frame), 'design')}."
    return theme.themed(alt.layer(drawn, *_break_evens(frame, x, y)), says, 300)


def _ends(frame: pd.DataFrame) -> pd.DataFrame:
    """Return both ends of every piece: ``piece``, ``price``, ``cost``, ``pump``."""
    return pd.DataFrame(
        {
            "piece": number,
            "price": piece[f"{end}_price"],
            "cost": piece[f"cost_{end}"],
            "pump": piece["chosen_pump"],
        }
        for number, piece in enumerate(frame.to_dict("records"))
        for end in ("from", "to")
    )


def _break_evens(frame: pd.DataFrame, x: alt.X, y: alt.Y) -> list[alt.Chart]:
    """Mark where each piece but the first begins, with its price."""
    ends = frame[frame["from_price"] > frame["from_price"].min()]
    marks = pd.DataFrame(
        {
            "price": ends["from_price"],
            "cost": ends["cost_from"],
            "words": [rounded(price) for price in ends["from_price"]],
        }
    )
    base = alt.Chart(marks).encode(x, y)
    dots = base.mark_point(size=80, filled=True, fill=theme.PAPER, stroke=theme.INK, opacity=1)
    words = base.mark_text(align="left", dx=7, dy=12, color=theme.INK)
    return [dots, words.encode(alt.Text("words:N"))]
