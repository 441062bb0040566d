"""Questions back to the grower: what a reading needs and nobody told, and lines at odds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from optimizer.errors import Problem
from optimizer.records.readings import MeasuredBed, Reading

ASKED = {
    "area_m2": ("area", "How large is the bed inside, length times width?"),
    "drain_level_m": ("drain_level", "How high over the bed's floor is the top of the slots?"),
    "crest_level_m": ("crest_level", "How high over the bed's floor is the standpipe's rim?"),
    "outlet_level_m": (
        "outlet_level",
        "How far above the bed's floor does the siphon's pipe end (with a minus sign if below)?",
    ),
}
NEEDS = {
    "fill time": ("area_m2", "drain_level_m", "crest_level_m"),
    "drain time": ("area_m2", "drain_level_m", "crest_level_m", "outlet_level_m"),
    "stop": ("drain_level_m", "outlet_level_m"),
    "highest level": ("crest_level_m",),
}


def line_questions(readings: Iterable[Reading]) -> list[Problem]:
    """Return what is at odds within one line."""
    found = []
    for reading in readings:
        times = reading.fill_s is not None or reading.drain_s is not None
        if reading.starts is False and (times or reading.stops is not None):
            what = "did not start, but filled, drained or stopped."
            found.append(Problem(reading.where, what, "Did it start? Mend one of the two."))
        if reading.stops is False and reading.drain_s is not None:
            what = "did not stop, but has a time until it stopped."
            found.append(Problem(reading.where, what, "Did it stop? Mend one of the two."))
        if _empty(reading):
            what = "an inflow, and nothing that happened at it."
            fix = "Did it start? How long did it fill and drain? Did it stop?"
            found.append(Problem(reading.where, what, fix))
    return found


def _empty(reading: Reading) -> bool:
    seen = (
        reading.starts,
        reading.fill_s,
        reading.drain_s,
        reading.stops,
        reading.highest_m,
    )
    return all(value is None for value in seen)


def size_questions(readings: Iterable[Reading], beds: Mapping[str, MeasuredBed]) -> list[Problem]:
    """Return a question for every size that a reading needs and nobody told, once for each bed."""
    found: dict[tuple[str, str], Problem] = {}
    for reading in readings:
        bed = beds[reading.bed]
        for what in _read(reading):
            for size in NEEDS[what]:
                if getattr(bed, size) is None and (bed.id, size) not in found:
                    key, question = ASKED[size]
                    told = f"its {what} says nothing without {key}, which is missing."
                    where = bed.where or reading.where
                    place = f"{where}, bed {bed.id}"
                    found[bed.id, size] = Problem(place, told, question)
    return list(found.values()) + _levels_out_of_order(beds.values())


def _read(reading: Reading) -> list[str]:
    read = {
        "fill time": reading.fill_s,
        "drain time": reading.drain_s,
        "stop": reading.stops,
        "highest level": reading.highest_m,
    }
    return [what for what, value in read.items() if value is not None]


def _levels_out_of_order(beds: Iterable[MeasuredBed]) -> list[Problem]:
    found = []
    for bed in beds:
        levels = (bed.outlet_level_m, bed.drain_level_m, bed.crest_level_m)
        known = [level for level in levels if level is not None]
        if known != sorted(set(known)):
            what = "its outlet, slots and rim do not lie one above the other."
            fix = "Which of outlet_level, drain_level and crest_level was misread?"
            found.append(Problem(f"{bed.where}, bed {bed.id}".lstrip(", "), what, fix))
    return found
