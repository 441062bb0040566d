"""How often beds flooded, in words: neighbours together, shut beds apart."""

from __future__ import annotations

from itertools import pairwise

import pandas as pd

from optimizer.report.day_facts import DayFacts

GROUPS_SHOWN = 6


def floods_sentence(facts: DayFacts) -> str:
    """Return floods an hour of neighbouring beds of one kind, and of every bed that was shut."""
    shut: dict[str, float] = {}
    for bed, hour in facts.doings.valve_shut_h:
        shut[bed] = min(hour, shut.get(bed, hour))
    open_beds = facts.beds[~facts.beds["bed"].isin(shut)]
    said = [_group_words(group) for group in bed_groups(open_beds)]
    left = len(said) - GROUPS_SHOWN
    more = [f"and {left} groups of beds more"] if left > 0 else []
    rates = dict(zip(facts.beds["bed"], facts.beds["floods_per_hour"], strict=True))
    told = [_shut_words(bed, hour, float(rates[bed])) for bed, hour in shut.items()]
    return f"Times an hour: {'; '.join([*said[:GROUPS_SHOWN], *more, *told])}."


def _group_words(group: pd.DataFrame) -> str:
    first, last = group["bed"].iloc[0], group["bed"].iloc[-1]
    low, high = group["floods_per_hour"].min(), group["floods_per_hour"].max()
    span = f"{low:.2f}" if f"{low:.2f}" == f"{high:.2f}" else f"{low:.2f} to {high:.2f}"
    return f"{first if len(group) == 1 else f'{first} to {last}'} {span}"


def _shut_words(bed: str, hour: float, rate: float) -> str:
    if not rate:
        return f"{bed}, shut at hour {hour:g}, fewer than two floods in all"
    return f"{bed}, shut at hour {hour:g}, {rate:.2f} until then"


def bed_groups(beds: pd.DataFrame) -> list[pd.DataFrame]:
    """Return runs of neighbouring beds of one row and kind, as they stand in the frame."""
    here = list(zip(beds["row"], beds["kind"], strict=True))
    begins = [i for i, key in enumerate(here) if i == 0 or key != here[i - 1]]
    return [beds.iloc[a:b] for a, b in pairwise([*begins, len(beds)])]
