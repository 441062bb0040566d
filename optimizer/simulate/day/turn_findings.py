"""How many floods fall to every turn of a zone in a simulated run."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.records.check import Finding
from optimizer.records.zones import BuiltZones
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.segment import Event
from optimizer.simulate.findings import at_least, at_most
from optimizer.simulate.tolerances import FLOODS_SHARE


def turn_findings(run: DayRun, zones: BuiltZones) -> Iterator[Finding]:
    """Yield for every bed how many floods fall to its turns, but for one that the run ends in.

    Args:
        run: the run.
        zones: the zones.
    """
    primes, prime_beds = run.times_of(Event.PRIMES)
    breaks, break_beds = run.times_of(Event.BREAKS)
    for i, bed in enumerate(run.plant.design.beds):
        place = zones.zones.index(zones.zone_of(bed.row))
        yield from _bed_findings(
            run, zones, bed.id, place, primes[prime_beds == i], breaks[break_beds == i]
        )


def _bed_findings(
    run: DayRun, zones: BuiltZones, name: str, place: int, primes_s: Array, breaks_s: Array
) -> Iterator[Finding]:
    """Each turn begins its floods, and each has ended before the bed's next turn."""
    turns = _begins_s(zones, place, run.scenario.end_s - zones.turn_s)
    rounds = _begins_s(zones, place, run.scenario.end_s - zones.rotation_s)
    floods = float(zones.floods)
    if turns.size:
        begun = _within(primes_s, turns, zones.turn_s)
        words = "fewest floods begun in a turn of a simulated day"
        yield at_least(name, words, floods, float(begun.min()), "1")
    if rounds.size:
        ended = _within(breaks_s, rounds, zones.rotation_s)
        words = "fewest floods ended from turn to turn of a simulated day"
        yield at_least(name, words, floods, float(ended.min()), "1")
        yield from _not_too_many(run, zones, name, ended)


def _not_too_many(run: DayRun, zones: BuiltZones, name: str, ended: Array) -> Iterator[Finding]:
    """The mean over the run; it may count one flood more than its rounds share."""
    most = run.plant.design.promise.floods_per_hour_most
    if most is not None:
        hours = zones.rotation_s * ended.size / 3600.0
        words = "floods an hour over a simulated day, not above"
        mean = (float(ended.sum()) - 1.0) / hours
        yield at_most(name, words, most, mean, "1/h", share=FLOODS_SHARE)


def _begins_s(zones: BuiltZones, place: int, last_s: float) -> Array:
    """Return when the turns of the zone at a place begin, up to a time."""
    first = place * zones.turn_s
    count = int(np.floor((last_s - first) / zones.rotation_s + 1e-9)) + 1
    return first + zones.rotation_s * np.arange(max(0, count), dtype=np.float64)


def _within(times_s: Array, begins_s: Array, length_s: float) -> Array:
    """Return how many times lie in the stretch of a length from each beginning."""
    order = np.sort(times_s)
    ends = np.searchsorted(order, begins_s + length_s)
    return np.asarray(ends - np.searchsorted(order, begins_s))
