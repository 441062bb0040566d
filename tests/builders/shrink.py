"""A faulty case made smaller while its fault stays: features, rows, beds and parts taken away.

Greedy: every way to make the case simpler is tried in turn, the roughest first, and kept where the
fault is still there, until none is or the tries are spent.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from optimizer.records.site import Row, Site, Standing
from tests.builders.case import Case
from tests.builders.every_feature import is_sound
from tests.builders.features import FEATURES

TRIES = 200


def shrink(case: Case, is_faulty: Callable[[Case], bool], tries: int = TRIES) -> Case:
    """Return a smaller case with the fault.

    Args:
        case: a sound case with it.
        is_faulty: whether a sound case still has it.
        tries: most cases asked about.
    """
    going = True
    while going:
        going = False
        for simpler in _simpler(case):
            if tries <= 0:
                return case
            if simpler == case or not is_sound(simpler):
                continue
            tries -= 1
            if is_faulty(simpler):
                case, going = simpler, True
                break
    return case


def _simpler(case: Case) -> Iterator[Case]:
    for feature in FEATURES:
        if feature.there(case):
            yield feature.drop(case)
    yield replace(case, held_share=1.0)
    yield from _fewer_beds(case)
    yield case.having(standing=replace(Standing(), stock=case.site.standing.stock))
    yield from (case.ground(**{name: ()}) for name in ("corridors", "keep_outs"))
    yield from _plainer_goals(case)
    yield from _fewer_parts(case)


def _fewer_beds(case: Case) -> Iterator[Case]:
    rows = case.site.rows
    for i in range(len(rows)):
        if len(rows) > 1:
            yield _with_rows(case, (*rows[:i], *rows[i + 1 :]))
    for i, row in enumerate(rows):
        for positions in {row.positions // 2, row.positions - 1} - {0}:
            yield _with_rows(case, (*rows[:i], _shorter(row, positions), *rows[i + 1 :]))
        flat = replace(row, level_m=0.0, standing_beds=0, standing_type=None, beds_least=0)
        yield _with_rows(case, (*rows[:i], flat, *rows[i + 1 :]))
    for i, bed_type in enumerate(case.site.bed_types):
        types = (*case.site.bed_types[:i], *case.site.bed_types[i + 1 :])
        kept = tuple(
            replace(row, bed_types=tuple(t for t in row.bed_types if t != bed_type.id))
            for row in rows
        )
        if types and all(row.bed_types for row in kept):
            yield _with_rows(case.having(bed_types=types), kept)


def _with_rows(case: Case, rows: tuple[Row, ...]) -> Case:
    room = sum(row.beds_most for row in rows)
    made = case.having(rows=rows)
    return made.goals(beds_least=max(1, min(room, case.site.goals.beds_least)))


def _shorter(row: Row, positions: int) -> Row:
    return replace(
        row,
        positions=positions,
        beds_most=min(row.beds_most, positions),
        beds_least=min(row.beds_least, positions),
        standing_beds=min(row.standing_beds, positions),
    )


def _plainer_goals(case: Case) -> Iterator[Case]:
    plain = {
        "growing_area_least_m2": 0.0, "floods_per_hour_most": None, "robustness": "nominal",
        "discount_rate": 0.0, "energy_price_growth": 0.0, "pump_hours_per_day": 24.0,
        "water_temperature_c": 20.0, "beds_least": max(1, case.site.goals.beds_least - 1),
    }  # fmt: skip
    for name, value in plain.items():
        yield case.goals(**{name: value})
    buy = {"spare_pump": False, "pumps_in_parallel_most": 1, "sumps_most": 1,
           "non_return_valve": False}  # fmt: skip
    for name, value in buy.items():
        yield case.purchase(**{name: value})


def _fewer_parts(case: Case) -> Iterator[Case]:
    """Half of each list of parts at a time, then all but one of it."""
    for name in ("pipes", "pumps", "sumps", "valve_kinds"):
        listed = getattr(case.site.purchase, name) or _all_of(case.site, case, name)
        for kept in _parts_of(tuple(listed)):
            yield case.purchase(**{name: kept})
    types = case.site.bed_types
    for i, each in enumerate(types):
        for kept in _parts_of(each.kits):
            yield case.having(bed_types=(*types[:i], replace(each, kits=kept), *types[i + 1 :]))


def _all_of(site: Site, case: Case, name: str) -> list[str]:
    catalog = case.catalog
    if name == "pipes":
        return [p.id for p in catalog.pipes.values() if p.series == site.purchase.pipe_series]
    return list({"pumps": catalog.pumps, "sumps": catalog.sumps}.get(name, {}))


def _parts_of(listed: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    if len(listed) < 2:
        return
    half = len(listed) // 2
    yield from (listed[:half], listed[half:])
    if len(listed) <= 6:
        yield from ((*listed[:i], *listed[i + 1 :]) for i in range(len(listed)))
