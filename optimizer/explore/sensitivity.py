"""How far the answer leans on what is not well known: prices, friction, medium, siphons, years.

For every change the least cost is found anew, and the base design is kept and looked at again: what
it then costs, and which of its promises it breaks. Its regret is what keeping it costs more than
the best design would; a design that breaks a promise has none, it has to be rebuilt.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from optimizer.errors import FloodwrightError
from optimizer.explore.changes import CHANGES, Value, change_of, changed
from optimizer.explore.point import CHOSEN, DESIGNED
from optimizer.explore.reprice import repriced
from optimizer.explore.sweep import Row, Study
from optimizer.explore.under import broken_promises, broken_words
from optimizer.records.design import Design

FACTORS = (
    "energy_price",
    "small_pipe_prices",
    "middle_pipe_prices",
    "large_pipe_prices",
    "pump_prices",
    "planning_years",
    "discount_rate",
    "pipe_roughness",
    "water_temperature",
    "porosity",
    "start_froude",
    "stop_ratio",
    "turn_loss",
)
"""What a sensitivity changes unless told otherwise."""

VARIABLE = tuple(name for name in CHANGES if name not in ("robustness", "pump", "sump"))
"""Changes whose value is a number."""


@dataclass(frozen=True)
class Range:
    """Values of one change: ``name`` of the change, lowest and highest value."""

    name: str
    low: float
    high: float

    def values(self, number: int) -> list[float]:
        """Return so many values evenly spread, both ends among them."""
        if number == 1 or self.low == self.high:
            return [self.low]
        step = (self.high - self.low) / (number - 1)
        return [self.low + step * each for each in range(number - 1)] + [self.high]


def default_ranges(study: Study, names: Iterable[str]) -> list[Range]:
    """Return how far each of some changes goes unless told otherwise.

    Raises:
        KeyError: for a name that is no change.
    """
    return [Range(name, *change_of(name).ends(study.job)) for name in names]


def one_at_a_time(study: Study, ranges: Sequence[Range], values: int = 2) -> list[Row]:
    """Return a row for each value of each change, all else as it is (for a tornado chart).

    Args:
        study: the job with its engine and store.
        ranges: what to change and how far.
        values: how many values of each, 2 or more.
    """
    points = [{each.name: value} for each in ranges for value in each.values(values)]
    return _judged(study, points)


def in_pairs(study: Study, first: Range, second: Range, values: int = 5) -> list[Row]:
    """Return a row for each pair of values of two changes.

    Args:
        study: the job with its engine and store.
        first: one change.
        second: another.
        values: how many values of each.
    """
    pairs = product(first.values(values), second.values(values))
    return _judged(study, [{first.name: a, second.name: b} for a, b in pairs])


def sampled(
    study: Study, ranges: Sequence[Range], number: int, *, method: str = "latin", seed: int = 0
) -> list[Row]:
    """Return a row for each of a number of draws in which everything changes at once.

    Every change is drawn evenly between its low and high value, independently of the others.

    Args:
        study: the job with its engine and store.
        ranges: what to change and how far.
        number: how many draws; for ``sobol`` a power of 2 fills the space evenly.
        method: ``latin`` (Latin hypercube) or ``sobol`` (scrambled Sobol sequence).
        seed: seed of the draws.
    """
    from scipy.stats import qmc  # noqa: PLC0415  # slow to import

    kinds = {"latin": qmc.LatinHypercube, "sobol": qmc.Sobol}
    drawn = kinds[method](d=len(ranges), seed=seed).random(number)
    points = [
        {
            each.name: each.low + float(share) * (each.high - each.low)
            for each, share in zip(ranges, shares, strict=True)
        }
        for shares in drawn
    ]
    return _judged(study, points)


def _judged(study: Study, points: Sequence[Mapping[str, Value]]) -> list[Row]:
    """Design every point and hold the base design against it."""
    base = study.base
    design = study.design(base)
    rows = study.rows(points)
    return [
        row | judgement(study, design, base, row, point)
        for row, point in zip(rows, points, strict=True)
    ]


def judgement(study: Study, design: Design, base: Row, row: Row, point: Mapping[str, Value]) -> Row:
    """Return what a change does to the base design.

    Args:
        study: the job before the change.
        design: the base design.
        base: its row.
        row: the row of the changed job.
        point: the changes.

    Returns:
        ``decisions_changed``: which choices of the best design differ from the base design's;
        ``kept_cost``: what the base design costs after the change; ``broken``: promises it then
        breaks; ``regret``: kept cost less least cost, or None where a promise is broken or no
        design exists. Kept cost and regret are None where the base design's bill has lines that
        cannot be made again from its parts (pipe from stock).
    """
    job = changed(study.job, point)
    known = repriced(design, study.job).costs == design.costs
    kept = repriced(design, job).record.cost_cents / 100.0 if known else None
    broken = ""
    if any(change_of(name).physics for name in point):
        broken = _broken(design, study, point)
    found = row["outcome"] == DESIGNED
    return {
        "decisions_changed": _differences(base, row) if found else "",
        "kept_cost": kept,
        "broken": broken,
        "regret": _regret(kept, row["cost"]) if found and not broken else None,
    }


def _regret(kept: float | None, least: float) -> float | None:
    return None if kept is None else round(kept - least, 2)


def _broken(design: Design, study: Study, point: Mapping[str, Value]) -> str:
    try:
        return broken_words(broken_promises(design, changed(study.job, point)))
    except (FloodwrightError, ValueError) as fault:
        return f"it cannot run: {fault}"


def _differences(base: Row, row: Row) -> str:
    return ", ".join(word for key, word in CHOSEN.items() if base[key] != row[key])


def tornado(base_cost: float, rows: Sequence[Row], ranges: Sequence[Range]) -> list[Row]:
    """Return one row for each change, the widest first: its least cost at both ends.

    Args:
        base_cost: least cost without a change.
        rows: rows of :func:`one_at_a_time`.
        ranges: what it was given.
    """
    found: list[Row] = []
    for each in ranges:
        own = {row[each.name]: row for row in rows if each.name in row}
        ends = [own[each.low], own[each.high]]
        costs = [row.get("cost") for row in ends]
        known = [cost for cost in costs if cost is not None]
        found.append(
            {
                "change": each.name,
                "words": change_of(each.name).words,
                "unit": change_of(each.name).unit,
                "low": each.low,
                "high": each.high,
                "base_cost": base_cost,
                "cost_at_low": costs[0],
                "cost_at_high": costs[1],
                "swing": max([base_cost, *known]) - min([base_cost, *known]),
                "regret_most": max((row["regret"] or 0.0 for row in own.values()), default=0.0),
                "decisions_changed": _joined(row["decisions_changed"] for row in own.values()),
                "broken": _joined(row["broken"] for row in own.values()),
            }
        )
    return sorted(found, key=lambda row: (-row["swing"], row["change"]))


def sample_summary(rows: Sequence[Row], ranges: Sequence[Range]) -> list[Row]:
    """Return, for each change, how its value goes with the least cost and the regret over draws.

    Rank correlations (Spearman), from -1 to 1; None where fewer than three draws have a figure or
    it never varies.

    Args:
        rows: rows of :func:`sampled`.
        ranges: what it was given.
    """
    return [
        {
            "change": each.name,
            "words": change_of(each.name).words,
            "low": each.low,
            "high": each.high,
            "with_cost": _rank_correlation(rows, each.name, "cost"),
            "with_regret": _rank_correlation(rows, each.name, "regret"),
        }
        for each in ranges
    ]


def _rank_correlation(rows: Sequence[Row], name: str, figure: str) -> float | None:
    from scipy.stats import spearmanr  # noqa: PLC0415  # slow to import

    known = [row for row in rows if row.get(figure) is not None]
    values, figures = [row[name] for row in known], [row[figure] for row in known]
    if min(len(known) - 2, len(set(values)) - 1, len(set(figures)) - 1) < 1:
        return None
    return float(spearmanr(values, figures).statistic)


def _joined(texts: Iterable[str]) -> str:
    parts = [part for text in texts for part in text.split(", ") if part]
    return ", ".join(dict.fromkeys(parts))
