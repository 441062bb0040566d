"""The figures that the written answer quotes, each worked out from the tables."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import pandas as pd

from studies.bed_types.theory import hand_floods

AREA_M2 = 28.8
TOLD_GOALS = (1.0, 2.0, 4.0, 6.0, 8.0, 10.0)
Found = Iterator[tuple[str, float]]


def findings_frame(tables: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """Return one row a figure: finding, value."""
    costs, checked = tables["costs"], tables["checked"]
    rows = [
        *_of_goals(costs),
        *_of_least(costs),
        *_of_water(costs),
        *_of_leads(costs),
        *_of_prices(tables["prices"].dropna(subset=["cost"])),
        ("greatest gap to a proven bound", float((1.0 - costs["bound"] / costs["cost"]).max())),
        ("designs checked", float(len(checked))),
        ("designs that fail", float((checked["check"] != "passes").sum())),
    ]
    return pd.DataFrame(rows, columns=["finding", "value"])


def _of_goals(costs: pd.DataFrame) -> Found:
    for row in costs[costs["goal"].isin(TOLD_GOALS)].itertuples(index=False):
        name = f"{row.kind}, {row.goal:g} floods an hour"
        yield f"{name}: cost a m2", row.cost / AREA_M2
        yield f"{name}: energy a m2", row.energy / AREA_M2
        yield f"{name}: beds a m2", row.bed_parts / AREA_M2
        yield f"{name}: water pumped over moved", _pumped_over_moved(row)


def _pumped_over_moved(row: object) -> float:
    """Return the water pumped over what the floods asked for move, slots to crest."""
    return 60.0 * row.inflow_l_min / (row.goal * row.water_per_flood_l)


def _of_least(costs: pd.DataFrame) -> Found:
    """How seldom each bed can flood: its least inflow, and what the rule of three makes of it."""
    for kind, own in costs.groupby("kind", sort=False):
        first = own.iloc[0]
        same = own[own["cost"] <= first["cost"]]
        yield f"{kind}: least inflow, L/min", first["inflow_l_min"]
        yield f"{kind}: floods an hour at its least inflow", first["floods_there"]
        yield f"{kind}: the same by hand", hand_floods(first)
        yield f"{kind}: water a flood, L", first["water_per_flood_l"]
        yield f"{kind}: greatest goal at the cost of the least", float(same["goal"].max())


def _of_water(costs: pd.DataFrame) -> Found:
    above = costs[costs["goal"] >= 2.5]
    for kind, own in above.groupby("kind", sort=False):
        ratios = [_pumped_over_moved(row) for row in own.itertuples(index=False)]
        if ratios:
            yield f"{kind}: water pumped over moved, least from 2.5 an hour", min(ratios)
            yield f"{kind}: water pumped over moved, greatest from 2.5 an hour", max(ratios)


def cheapest_kinds(costs: pd.DataFrame) -> pd.Series:
    """Return the cheapest bed type by goal."""
    return costs.loc[costs.groupby("goal")["cost"].idxmin()].set_index("goal")["kind"]


def _of_leads(costs: pd.DataFrame) -> Found:
    for words, own in (("", costs), (", wide left out", costs[costs["kind"] != "wide"])):
        best = cheapest_kinds(own)
        for kind in dict.fromkeys(own["kind"]):
            won = [goal for goal, winner in best.items() if winner == kind]
            yield f"goals at which {kind} is cheapest{words}", float(len(won))
            if won:
                yield f"least goal at which {kind} is cheapest{words}", min(won)
                yield f"greatest goal at which {kind} is cheapest{words}", max(won)
    yield "goals asked for", float(costs["goal"].nunique())


def _of_prices(table: pd.DataFrame) -> Found:
    for price, rows in table.groupby("energy_price"):
        best = cheapest_kinds(rows)
        for kind in dict.fromkeys(table["kind"]):
            name = f"energy at {price:g}: goals from 1 to 12 at which {kind} is cheapest"
            yield name, float((best == kind).sum())
