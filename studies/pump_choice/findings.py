"""The figures that the written answer quotes, each worked out from the tables."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import pandas as pd

from studies.pump_choice.experiments import ANY
from studies.pump_choice.theory import easy_froude, share_of_band

TODAY = 0.30
"""The site's own price of energy, per kWh."""

EVEN_PRICE = 0.231
"""Price of energy above which two small pumps beat a large one: found by the run, rounded."""

BY_RULE = ("pump_250w_mid", "pump_100w_mid", "pump_150w_mid")
"""Pumps of the rules: energy cheap, energy dear, siphons that start easily."""

FROUDE_BY_HAND = easy_froude()
"""Start Froude number below which a 1 in siphon does at this site, by hand (``theory.py``)."""

Found = Iterator[tuple[str, float]]


def findings_frame(tables: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """Return one row a figure: finding, value."""
    rows = [
        *_of_pumps(tables["pumps"]),
        *_of_pieces(tables["years"], "planning_years", "years"),
        *_of_pieces(tables["starts"], "start_froude", "start Froude"),
        *_of_pairs(tables["between"]),
        *_of_worlds(tables["worlds"]),
        ("start Froude number below which a 1 in siphon does, by hand", FROUDE_BY_HAND),
        ("the same, share of its band", share_of_band(FROUDE_BY_HAND)),
    ]
    return pd.DataFrame(rows, columns=["finding", "value"])


def _of_pumps(table: pd.DataFrame) -> Found:
    yield "pumps that can do", float(len(table))
    for row in table.head(5).itertuples(index=False):
        yield f"{row.count} x {row.pump}: cost", row.cost
        yield f"{row.count} x {row.pump}: watts", row.duty_watts
        yield f"{row.count} x {row.pump}: all but energy", row.cost - row.energy_worth


def _of_pieces(table: pd.DataFrame, by: str, words: str) -> Found:
    for value, own in table.groupby(by):
        last = own.iloc[0]
        for row in own.iloc[1:].itertuples(index=False):
            if row.pump != last["pump"]:
                yield (
                    f"{words} {value:g}: {last['pump']} gives way to {row.pump} at",
                    row.from_price,
                )
            last = own.loc[own["from_price"] == row.from_price].iloc[0]
        today = own[(own["from_price"] <= TODAY) & (own["to_price"] >= TODAY)].iloc[0]
        cost = today["without_energy"] + TODAY * today["per_price"]
        yield f"{words} {value:g}: cost at {TODAY:g} with {today['pump']}", cost


def _of_pairs(table: pd.DataFrame) -> Found:
    for row in table.itertuples(index=False):
        yield f"{row.cheaper_below} gives way to {row.cheaper_above} at", row.price


def best_pumps(worlds: pd.DataFrame) -> pd.DataFrame:
    """Return each world's cheapest pump, beside its price and shares."""
    return worlds[worlds["choice"] == ANY].dropna(subset=["cost"])


def _of_worlds(table: pd.DataFrame) -> Found:
    best = best_pumps(table)
    yield "worlds", float(table["world"].nunique())
    yield "worlds with a design", float(len(best))
    for pump, own in best.groupby("pump"):
        yield f"share of worlds in which {pump} is cheapest", len(own) / len(best)
    yield "least cost over worlds, mean", float(best["cost"].mean())
    for choice, regret in regrets(table).items():
        yield f"{choice}: worlds it can do", float(regret.notna().sum())
        yield f"{choice}: regret, mean", float(regret.mean())
        yield f"{choice}: regret, greatest", float(regret.max())


def regrets(table: pd.DataFrame) -> dict[str, pd.Series]:
    """Return the regret of every choice, by world: each rival bought now, and two rules.

    ``by price`` waits for the price of energy, ``by price and bucket`` also for a bucket test.
    """
    wide = table.pivot(index="world", columns="choice", values="regret")
    found = {choice: wide[choice] for choice in wide if choice != ANY}
    if set(BY_RULE) <= set(found):
        known = best_pumps(table).set_index("world")
        low, high, easy = (found[pump] for pump in BY_RULE)
        by_price = low.where(known["energy_price"] < EVEN_PRICE, high)
        starts_easily = known["start_froude_share"] < share_of_band(FROUDE_BY_HAND)
        found["by price"] = by_price
        found["by price and bucket"] = easy.where(starts_easily, by_price)
    return found
