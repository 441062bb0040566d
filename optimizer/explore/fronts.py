"""Fronts: what more floods, more growing area or a smaller sump cost.

A goal of the form "at least so much" is nested: whatever meets a higher goal meets a lower one. So
the least cost never falls as the goal rises, and between two goals it lies between the bound at the
lower one and the cost at the higher one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from optimizer.explore.attainable import attainable_areas_m2
from optimizer.explore.cost_line import CENT
from optimizer.explore.point import DESIGNED, REFUSED
from optimizer.explore.sweep import Row, Study
from optimizer.formulate.sump_tables import allowed_sumps

SLACK_M2 = 1e-7
"""Area that a goal is lowered by, so that rounding in a sum of bed areas cannot miss it."""


@dataclass(frozen=True, eq=False)
class Front:
    """A front, one row a goal that was designed for.

    Attributes:
        over: what the cost is set against: ``floods_per_hour``, ``growing_area_m2``,
            ``sump_volume_m3`` or ``energy_kwh_per_year``.
        rows: the points in order of their goal, refused ones too. ``on_front`` says whether no
            other row is as good in both; ``least_until_next`` and ``most_until_next`` hold the
            least cost at any goal between this row's and the next (None: not known).
        note: what the rows leave open, in words.
    """

    over: str
    rows: tuple[Row, ...]
    note: str


def floods_front(study: Study, floods_per_hour: Sequence[float]) -> Front:
    """Return the least cost for each of a list of flood goals, with bounds between them.

    Args:
        study: the job with its engine and store.
        floods_per_hour: the goals, each above 0.
    """
    goals = sorted(set(floods_per_hour))
    rows = study.rows([{"floods": goal} for goal in goals])
    marked = _between(rows)
    note = "Costs between two goals lie between the two bounds given; nothing else is left open."
    if _falls(rows):
        note = (
            "The least cost falls somewhere as the goal rises, which happens where a pump draws "
            "less at a higher flow: no bounds are given between goals."
        )
        marked = [row | {"least_until_next": None, "most_until_next": None} for row in marked]
    return Front("floods_per_hour", _marked(marked, "floods", most=True), note)


def area_front(
    study: Study,
    least_m2: float = 0.0,
    most_m2: float = math.inf,
    points_most: int = 60,
) -> Front:
    """Return every design that no other beats in both cost and growing area.

    The areas that the site's places can add up to are known; those between two designed goals are
    halved until the design of a goal reaches up to the next one, or ``points_most`` are designed.

    Args:
        study: the job with its engine and store.
        least_m2: smallest growing area to ask for.
        most_m2: greatest growing area to ask for.
        points_most: most points to design; what they leave open is bounded.
    """
    areas = attainable_areas_m2(study.job.site, study.job.catalog)
    ladder = [area for area in areas if least_m2 <= area <= most_m2]
    rows = _staircase(study, ladder, points_most)
    open_steps = sum(1 for _ in _gaps(rows, ladder))
    note = f"Every design that no other beats in both cost and area{_within(study)}."
    if open_steps:
        note = f"{open_steps} steps between points are not resolved; the bounds hold there."
    ordered = [rows[step] for step in sorted(rows)]
    return Front("growing_area_m2", _marked(_between(ordered), "growing_area", most=True), note)


def _staircase(study: Study, ladder: Sequence[float], points_most: int) -> dict[int, Row]:
    """Return rows by step of the ladder, halving what is open."""
    rows: dict[int, Row] = {}
    wanted = sorted({0, len(ladder) - 1}) if ladder else []
    while wanted:
        made = study.rows([{"growing_area": ladder[step] - SLACK_M2} for step in wanted])
        rows |= dict(zip(wanted, made, strict=True))
        wanted = [(low + high) // 2 for low, high in _gaps(rows, ladder)]
        wanted = wanted[: max(0, points_most - len(rows))]
    return rows


def _gaps(rows: Mapping[int, Row], ladder: Sequence[float]) -> list[tuple[int, int]]:
    """Return the runs of steps, first and last, whose least cost no row settles.

    A design settles every step up to the area it has, and any step once the cost beyond is no more.
    """
    steps, gaps = sorted(rows), []
    for here, there in pairwise(steps):
        row, beyond = rows[here], rows[there]
        if row["outcome"] == REFUSED:
            break
        if row["outcome"] != DESIGNED:
            continue
        reach = row["growing_area_m2"] + 2 * SLACK_M2
        first = next((s for s in range(here + 1, there) if ladder[s] > reach), there)
        level = beyond["outcome"] == DESIGNED and beyond["cost"] <= row["cost"]
        if first < there and not level:
            gaps.append((first, there - 1))
    return gaps


def sump_front(study: Study) -> Front:
    """Return the least cost with each kind and number of sump allowed by the site.

    A number stands for that many tanks at most. Every design has one kind and number of tanks, so
    that those of these rows that no other beats are all there are.
    """
    site, catalog = study.job.site, study.job.catalog
    tanks = allowed_sumps(site, catalog)
    names = [f"{tank.id} x {n}" for tank in tanks for n in range(1, site.purchase.sumps_most + 1)]
    rows = study.rows([{"sump": name} for name in names])
    rows.sort(key=lambda row: (row.get("sump_volume_m3", math.inf), row.get("cost", math.inf)))
    note = f"Every design that no other beats in both cost and sump volume{_within(study)}."
    return Front("sump_volume_m3", _marked(rows, "sump_volume_m3", most=False), note)


def _within(study: Study) -> str:
    """Say how far a cost on a front may be from the least, where the search leaves room."""
    gap = study.search.gap
    return f", each cost within {100.0 * gap:.2g} % of the least" if gap else ""


def _between(rows: Sequence[Row]) -> list[Row]:
    """Add to each row the bounds on the least cost at goals between it and the next."""
    costs = [row["cost"] if row["outcome"] == DESIGNED else None for row in rows]
    marked: list[Row] = []
    least = -math.inf
    for number, row in enumerate(rows):
        least = max(least, row.get("bound", -math.inf))
        later = [cost for cost in costs[number + 1 :] if cost is not None]
        known = row["outcome"] == DESIGNED and number + 1 < len(rows)
        marked.append(
            row
            | {
                "least_until_next": least if known else None,
                "most_until_next": max(least, min(later)) if known and later else None,
            }
        )
    return marked


def _falls(rows: Sequence[Row]) -> bool:
    """Return whether some higher goal costs less than is possible for a lower one."""
    least = -math.inf
    for row in (row for row in rows if row["outcome"] == DESIGNED):
        if row["cost"] < least - CENT:
            return True
        least = max(least, row["bound"])
    return False


def _marked(rows: Sequence[Row], by: str, *, most: bool) -> tuple[Row, ...]:
    """Say of each row whether it is on the front: the least cost, and most or least of ``by``."""
    designed = [row for row in rows if row["outcome"] == DESIGNED]
    marked: list[Row] = []
    for number, row in enumerate(rows):
        before = rows[:number]
        beaten = row["outcome"] != DESIGNED or any(
            _beats(other, row, by, most=most) for other in designed
        )
        again = any(_figures(other, by) == _figures(row, by) for other in before)
        marked.append(row | {"on_front": not beaten and not again})
    return tuple(marked)


def _beats(first: Row, second: Row, by: str, *, most: bool) -> bool:
    """Return whether a row is as good in both and better in one."""
    (cost, value), (other_cost, other_value) = _figures(first, by), _figures(second, by)
    sign = -1.0 if most else 1.0
    good = cost <= other_cost and sign * value <= sign * other_value
    return good and (cost, value) != (other_cost, other_value)


def _figures(row: Row, by: str) -> tuple[float, float]:
    return row.get("cost", math.nan), row.get(by, math.nan)
