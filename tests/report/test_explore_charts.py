"""Charts of many designs: built from plain tables, drawn, and nothing where there is nothing."""

from __future__ import annotations

import json

import pandas as pd
import pytest

from optimizer.report.charts.front import OVER, front_chart
from optimizer.report.charts.prices import price_chart
from optimizer.report.charts.pumps import pumps_chart
from optimizer.report.charts.sensitivity import draws_chart, pairs_chart, tornado_chart
from optimizer.report.writer import chart_text, picture

NAME = '</script><b>pump "1"'


def front(over: str) -> pd.DataFrame:
    column = OVER[over][2]
    return pd.DataFrame(
        {
            column: [1.0, 2.0, 3.0],
            "cost": [100.0, 140.0, None],
            "cost_without_energy": [80.0, 70.0, None],
            "least_until_next": [100.0, None, None],
            "most_until_next": [140.0, None, None],
            "on_front": [True, True, False],
            "chosen_pump": ["a", NAME, None],
        }
    )


def tornado() -> pd.DataFrame:
    return pd.DataFrame(
        {
            "words": ["price of energy", "roughness"],
            "unit": ["per kWh", "times"],
            "low": [0.1, 0.5],
            "high": [0.4, 4.0],
            "base_cost": [100.0, 100.0],
            "cost_at_low": [80.0, 100.0],
            "cost_at_high": [130.0, None],
        }
    )


PAIRS = pd.DataFrame(
    {
        "a": [1.0, 1.0, 2.0, 2.0],
        "b": [0.5, 1.0, 0.5, 1.0],
        "cost": [10.0, 11.0, 12.0, None],
        "decisions_changed": ["", "pump", "", ""],
    }
)
DRAWS = pd.DataFrame(
    {"cost": [3.0, 1.0, 2.0], "kept_cost": [3.5, 1.0, 2.0], "broken": ["", "x", ""]}
)
PIECES = pd.DataFrame(
    {
        "from_price": [0.0, 0.5],
        "to_price": [0.5, 1.0],
        "cost_from": [10.0, 20.0],
        "cost_to": [20.0, 25.0],
        "chosen_pump": ["a", NAME],
    }
)
PUMPS = pd.DataFrame(
    {
        "label": [NAME, "b", "c"],
        "count": [1, 2, None],
        "cost": [100.0, 150.0, None],
        "gap_to_best": [0.0, 50.0, None],
        "allowed": [True, False, True],
        "capital": [60.0, 80.0, None],
        "replacements": [10.0, 20.0, None],
        "energy_worth": [30.0, 50.0, None],
    }
)
CHARTS = {
    **{over: lambda over=over: front_chart(front(over), over, "EUR", "us") for over in OVER},
    "tornado": lambda: tornado_chart(tornado(), "EUR"),
    "pairs": lambda: pairs_chart(PAIRS, ("a", "A"), ("b", "B"), "EUR"),
    "draws": lambda: draws_chart(DRAWS, "EUR"),
    "prices": lambda: price_chart(PIECES, "price", "EUR"),
    "pumps": lambda: pumps_chart(PUMPS, "EUR"),
}


@pytest.mark.parametrize("name", CHARTS)
def test_every_chart_is_drawn_and_says_what_it_shows(name):
    text = chart_text(CHARTS[name]())
    assert len(json.loads(text)["description"]) > 20
    assert picture(text, "svg").startswith(b"<svg")


def test_a_chart_of_nothing_is_none():
    empty = pd.DataFrame()
    assert front_chart(empty, "floods_per_hour", "EUR", "metric") is None
    assert pairs_chart(empty, ("a", "A"), ("b", "B"), "EUR") is None
    assert draws_chart(empty, "EUR") is None
    assert price_chart(empty, "price", "EUR") is None
    assert pumps_chart(empty, "EUR") is None
    nowhere = tornado().assign(cost_at_low=None, cost_at_high=None)
    assert tornado_chart(nowhere, "EUR") is None


def values(chart, of: str):
    """The rows of every data set of a chart that has a column."""
    sets = json.loads(chart_text(chart))["datasets"].values()
    return [row for rows in sets for row in rows if of in row]


def test_a_front_is_drawn_in_the_reader_s_units():
    # 1 m3 is 264.172 US gal.
    rows = values(front_chart(front("sump_volume_m3"), "sump_volume_m3", "EUR", "us"), "mark")
    assert rows[0]["x"] == pytest.approx(264.172, rel=1e-5)


def test_a_front_shades_where_the_cost_may_lie_and_only_there():
    rows = values(front_chart(front("floods_per_hour"), "floods_per_hour", "EUR", "us"), "least")
    assert [(r["x"], r["x_next"], r["least"], r["most"]) for r in rows] == [
        (1.0, 2.0, 100.0, 140.0)
    ]


def test_the_curve_of_the_kept_design_ends_below_one_where_it_breaks_a_promise():
    # One of three draws breaks a promise: its curve reaches two thirds.
    rows = values(draws_chart(DRAWS, "EUR"), "share")
    kept = [row["share"] for row in rows if row["which"] == "base design kept"]
    assert max(kept) == pytest.approx(2.0 / 3.0)


def test_a_pump_off_the_list_is_marked_and_one_that_cannot_do_is_left_out():
    rows = values(pumps_chart(PUMPS, "EUR"), "words")
    assert [row["words"] for row in rows] == ["100", "150 (+50), not on the list"]


def test_the_curve_of_the_best_designs_ends_below_one_where_draws_have_none():
    # One of four draws has no design: no more than three quarters cost no more than any amount.
    more = pd.concat([DRAWS, pd.DataFrame({"cost": [None], "kept_cost": [None], "broken": ["x"]})])
    rows = values(draws_chart(more, "EUR"), "share")
    best = [row["share"] for row in rows if row["which"] == "best design of each draw"]
    assert max(best) == pytest.approx(3.0 / 4.0)
