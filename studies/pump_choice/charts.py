"""The pictures of the study: one function a picture."""

from __future__ import annotations

from collections.abc import Mapping

import altair as alt
import pandas as pd

from optimizer.report import theme
from studies.pump_choice.findings import EVEN_PRICE, FROUDE_BY_HAND, TODAY, best_pumps, regrets
from studies.pump_choice.theory import share_of_band

WIDTH_PX = 680
COLOURS = (theme.WATER, theme.CLAY, theme.WATER_MID, theme.INK, theme.CLAY_PALE, theme.QUIET)
SHAPES = ("circle", "square", "triangle-up", "diamond", "cross", "triangle-down")


def pump_words(chosen: str) -> str:
    """Return a pump in words: ``2 x pump_100w_mid`` is two 100 W middle head pumps."""
    count, _, name = chosen.rpartition(" x ")
    watts, head = name.removeprefix("pump_").split("w_")
    heads = {"low": "low", "mid": "middle", "high": "high"}
    return f"{count or 1} x {int(watts)} W, {heads[head]} head"


def _scale(names: list[str], values: tuple) -> alt.Scale:
    return alt.Scale(domain=names, range=list(values[: len(names)]))


def _order(tables: Mapping[str, pd.DataFrame]) -> list[str]:
    """Return every pump that is cheapest somewhere, in a fixed order."""
    seen = {
        *tables["years"]["pump"],
        *tables["starts"]["pump"],
        *best_pumps(tables["worlds"])["pump"],
    }
    ranked = [f"{row.count} x {row.pump}" for row in tables["pumps"].itertuples(index=False)]
    ordered = [pump for pump in ranked if pump in seen]
    return [pump_words(pump) for pump in [*ordered, *sorted(seen - set(ordered))]]


def starts_chart(tables: Mapping[str, pd.DataFrame], names: list[str]) -> theme.Chart:
    """Which pump is cheapest, over the price of energy and the start Froude number."""
    shown = tables["starts"]
    gap = shown["start_froude"].drop_duplicates().sort_values().diff().min()
    half = 0.5 * (gap if pd.notna(gap) else 0.05)
    shown = shown.assign(
        low=shown["start_froude"] - half,
        high=shown["start_froude"] + half,
        words=shown["pump"].map(pump_words),
    )
    boxes = (
        alt.Chart(shown)
        .mark_rect(stroke=theme.PAPER, strokeWidth=0.3)
        .encode(
            alt.X("from_price:Q", title="price of energy, EUR per kWh"),
            alt.X2("to_price:Q"),
            alt.Y(
                "low:Q",
                title="start Froude number, times the catalog's",
                scale=alt.Scale(zero=False, nice=False),
            ),
            alt.Y2("high:Q"),
            alt.Color(
                "words:N", scale=_scale(names, COLOURS), legend=alt.Legend(title=None, columns=3)
            ),
        )
    )
    here = pd.DataFrame({"price": [TODAY], "factor": [1.0], "words": ["the site as it is"]})
    at = alt.Chart(here).encode(alt.X("price:Q"), alt.Y("factor:Q"))
    mark = at.mark_point(size=70, filled=True, color=theme.PAPER, stroke=theme.INK, opacity=1)
    word = at.mark_text(align="left", dx=9, color=theme.PAPER, fontWeight="bold").encode(
        alt.Text("words:N")
    )
    says = "Cheapest pump by price of energy and by how much flow siphons need to start."
    return theme.themed(alt.layer(boxes, mark, word), says, 320, WIDTH_PX)


def years_chart(tables: Mapping[str, pd.DataFrame], names: list[str]) -> theme.Chart:
    """Which pump is cheapest, over the price of energy and the planning years."""
    shown = tables["years"].assign(words=tables["years"]["pump"].map(pump_words))
    bars = (
        alt.Chart(shown)
        .mark_bar(height=22, stroke=theme.PAPER)
        .encode(
            alt.X("from_price:Q", title="price of energy, EUR per kWh"),
            alt.X2("to_price:Q"),
            alt.Y("planning_years:O", title="planning years"),
            alt.Color(
                "words:N", scale=_scale(names, COLOURS), legend=alt.Legend(title=None, columns=3)
            ),
        )
    )
    says = "Break-even prices of energy fall as the years over which energy counts grow."
    return theme.themed(bars, says, 170, WIDTH_PX)


def worlds_chart(tables: Mapping[str, pd.DataFrame], names: list[str]) -> theme.Chart:
    """The cheapest pump of every world: price of energy against the start Froude number."""
    best = best_pumps(tables["worlds"])
    shown = best.assign(
        words=best["pump"].map(pump_words), percent=100 * best["start_froude_share"]
    )
    marks = (
        alt.Chart(shown)
        .mark_point(size=75, filled=True, opacity=1)
        .encode(
            alt.X(
                "energy_price:Q", title="price of energy, EUR per kWh", scale=alt.Scale(zero=False)
            ),
            alt.Y("percent:Q", title="start Froude number: share of its band, %"),
            alt.Color(
                "words:N", scale=_scale(names, COLOURS), legend=alt.Legend(title=None, columns=3)
            ),
            alt.Shape("words:N", scale=_scale(names, SHAPES), legend=alt.Legend(title=None)),
        )
    )
    hand = pd.DataFrame({"percent": [100.0 * share_of_band(FROUDE_BY_HAND)]})
    level = (
        alt.Chart(hand).mark_rule(stroke=theme.QUIET, strokeDash=[5, 3]).encode(alt.Y("percent:Q"))
    )
    even = alt.Chart(pd.DataFrame({"energy_price": [EVEN_PRICE]}))
    price = even.mark_rule(stroke=theme.QUIET, strokeDash=[2, 3]).encode(alt.X("energy_price:Q"))
    says = "Cheapest pump in each drawn world; dashed: the bucket test's line, dotted: break-even."
    return theme.themed(alt.layer(level, price, marks), says, 280, WIDTH_PX)


def regret_chart(tables: Mapping[str, pd.DataFrame]) -> theme.Chart:
    """What each choice costs above the cheapest pump of that world, over all worlds."""
    shown = pd.DataFrame(
        [
            {"words": _choice_words(choice), "regret": value}
            for choice, values in regrets(tables["worlds"]).items()
            for value in values.dropna()
        ]
    )
    means = shown.groupby("words", as_index=False, sort=False)["regret"].mean()
    order = list(means.sort_values("regret")["words"])
    y = alt.Y("words:N", sort=order, title=None, axis=alt.Axis(labelLimit=240))
    x = alt.X("regret:Q", title="regret: EUR above the cheapest pump of that world")
    ticks = alt.Chart(shown).mark_tick(thickness=1.4, color=theme.WATER, height=16).encode(x, y)
    dots = alt.Chart(means).mark_point(
        shape="diamond", size=110, filled=True, color=theme.CLAY, opacity=1
    )
    says = "Regret of each choice in each world (lines) and its mean (diamonds)."
    return theme.themed(alt.layer(ticks, dots.encode(x, y)), says, 230, WIDTH_PX)


def _choice_words(choice: str) -> str:
    rules = {
        "by price": "chosen by price",
        "by price and bucket": "chosen by price and bucket test",
    }
    return rules.get(choice) or "now: " + pump_words(choice).removeprefix("1 x ")


def every_chart(tables: Mapping[str, pd.DataFrame]) -> dict[str, theme.Chart]:
    """Return every picture by the name of its file."""
    names = _order(tables)
    return {
        "starts": starts_chart(tables, names),
        "years": years_chart(tables, names),
        "worlds": worlds_chart(tables, names),
        "regret": regret_chart(tables),
    }
