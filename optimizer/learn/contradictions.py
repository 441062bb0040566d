"""Readings that cannot all be right, whatever the coefficients.

Two readings are held against each other where what they tell does not depend on a coefficient: a
start at less inflow than one that failed, a stop at more than one that failed, two fill or two
drain times. They contradict each other where they lie apart by more than :data:`APART_SDS` standard
deviations of their own errors. A level is held against the crest.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from optimizer.learn.cases import Cases
from optimizer.learn.likelihood import Predicted, predict
from optimizer.physics.arrays import Array
from optimizer.records.calibration import Contradiction
from optimizer.records.readings import Reading, ReadingErrors
from optimizer.report.scales import Reader

APART_SDS = 3.5
"""Standard deviations between two readings from which both are asked about (assumption).

Among ten readings there are 45 pairs; sound ones then come under suspicion in about 2 % of files.
"""


def find_contradictions(
    readings: Sequence[Reading],
    cases: Cases,
    errors: ReadingErrors,
    likeliest: Array,
    units: str = "metric",
) -> tuple[Contradiction, ...]:
    """Return the readings that contradict each other, the worst pair of each sort.

    Args:
        readings: of one kind of bed.
        cases: the same as arrays.
        errors: how far readings are off.
        likeliest: likely unknowns, at which times at unlike inflows are compared.
        units: to answer in.
    """
    found = predict(likeliest[None, :], cases, errors)
    words = _Words(readings, Reader(units))
    worst = [
        _worst(_thresholds(cases.starts, cases, errors.start_beds, errors.start_repeats, 1.0)),
        _worst(_thresholds(cases.stops, cases, errors.stop_beds, errors.stop_repeats, -1.0)),
        _worst(_timed(cases.log_fill, found.log_fill, found.fill_slope, cases.fill_sd, cases)),
        _worst(_timed(cases.log_drain, found.log_drain, found.drain_slope, cases.drain_sd, cases)),
    ]
    told = (words.starts, words.stops, words.fills, words.drains)
    pairs = [say(*pair) for pair, say in zip(worst, told, strict=True) if pair is not None]
    return (*pairs, *_levels(words, cases, found, errors))


Pair = tuple[float, int, int]


def _worst(pairs: Iterator[Pair]) -> tuple[int, int] | None:
    worst = max(pairs, default=None)
    return None if worst is None or worst[0] <= APART_SDS else worst[1:]


def _thresholds(
    seen: Array, cases: Cases, beds: float, repeats: float, sign: float
) -> Iterator[Pair]:
    """Yield how far apart each "yes" on the wrong side of a "no" lies from it.

    Args:
        seen: 1 yes, 0 no.
        cases: the readings.
        beds: spread of the threshold from bed to bed.
        repeats: spread from flood to flood.
        sign: 1 where more inflow makes "yes" likelier, else -1.
    """
    for yes in np.flatnonzero(seen == 1.0):
        for no in np.flatnonzero(seen == 0.0):
            apart = sign * (cases.log_inflow[no] - cases.log_inflow[yes])
            own = cases.inflow_sd[[yes, no]] ** 2 + repeats**2
            between = 0.0 if cases.bed[yes] == cases.bed[no] else 2.0 * beds**2
            yield float(apart / math.sqrt(own.sum() + between)), int(yes), int(no)


def _timed(read: Array, expected: Array, slope: Array, sd: Array, cases: Cases) -> Iterator[Pair]:
    """Yield how far apart two times of one sort are, each over what is expected at its inflow."""
    off = read - expected[0]
    own = np.hypot(sd, slope[0] * cases.inflow_sd)
    for one, other in combinations(np.flatnonzero(~np.isnan(off)), 2):
        apart = abs(off[one] - off[other]) / math.hypot(own[one], own[other])
        yield float(apart), int(one), int(other)


def _levels(
    words: _Words, cases: Cases, found: Predicted, errors: ReadingErrors
) -> list[Contradiction]:
    off = (cases.highest_m - found.highest_m[0]) / errors.level_m
    return [words.level(int(n)) for n in np.flatnonzero(np.abs(off) > APART_SDS)]


class _Words:
    """Says what is at odds, in the grower's words."""

    def __init__(self, readings: Sequence[Reading], reader: Reader) -> None:
        self.readings, self.reader = readings, reader

    def _at(self, number: int) -> str:
        reading = self.readings[number]
        day = f" on {reading.date}" if reading.date else ""
        return f"bed {reading.bed} at {self.reader.text('flow', reading.inflow_m3_s)}{day}"

    def _pair(self, one: int, other: int, what: str, question: str) -> Contradiction:
        places = tuple(self.readings[n].where for n in (one, other))
        return Contradiction(places, what, question)

    def starts(self, yes: int, no: int) -> Contradiction:
        what = f"{self._at(yes)} started, yet {self._at(no)}, with more inflow, did not."
        question = (
            "Which one is right? Read both again: was the bell tight and its rim level, and did "
            "the outlet run full?"
        )
        return self._pair(yes, no, what, question)

    def stops(self, yes: int, no: int) -> Contradiction:
        what = f"{self._at(yes)} stopped, yet {self._at(no)}, with less inflow, did not."
        question = "Which one is right? Read both again: were the slots clear of roots and media?"
        return self._pair(yes, no, what, question)

    def fills(self, one: int, other: int) -> Contradiction:
        return self._times(one, other, "fill", "started from the break of the flood before")

    def drains(self, one: int, other: int) -> Contradiction:
        return self._times(one, other, "drain", "taken from the start to the break")

    def _times(self, one: int, other: int, what: str, rule: str) -> Contradiction:
        times = [getattr(self.readings[n], f"{what}_s") for n in (one, other)]
        told = " and ".join(
            f"{self._at(n)} took {self.reader.text('minutes', t)} to {what}"
            for n, t in zip((one, other), times, strict=True)
        )
        question = (
            f"No one bed does both. Which one is right? Was the watch {rule}, and the bucket "
            "filled while the valve stood as it did then?"
        )
        return self._pair(one, other, f"{told}.", question)

    def level(self, number: int) -> Contradiction:
        reading = self.readings[number]
        level = self.reader.text("size", reading.highest_m or 0.0)
        what = f"{self._at(number)} rose to {level}, which is not where its crest lets it run over."
        question = "Is the level over the bed's floor, and does the crest stand where it was told?"
        return Contradiction((reading.where,), what, question)
