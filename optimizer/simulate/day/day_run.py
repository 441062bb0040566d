"""What a run gives back: events, levels, floods an hour, sump, energy, as tidy frames on demand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from optimizer.physics.arrays import Array
from optimizer.simulate.day.bed_arrays import Indices
from optimizer.simulate.day.plant import Plant
from optimizer.simulate.day.scenario import Scenario
from optimizer.simulate.day.segment import Codes, Event

_EVENT_WORDS = tuple(event.name.lower() for event in Event)


@dataclass(frozen=True, eq=False)
class DayRun:
    """One run of a plant. Beds are counted in the design's order.

    Attributes:
        plant: what ran.
        scenario: how.
        time_s: time of each event, rising.
        bed: index of its bed.
        code: its :class:`Event`.
        sample_s: times at which levels were kept.
        volumes_m3: water above the drain level then, (times, beds).
        siphoning: whether each bed was primed then.
        sump_m: sump level then.
        sump_lowest_m: lowest sump level met; below 0 where the sump ran dry.
        sump_highest_m: highest sump level met.
        energy_kwh: energy of the pump over the run.
        methods: engine of each segment.
        water_error_m3: greatest error of the water balance met.
    """

    plant: Plant
    scenario: Scenario
    time_s: Array
    bed: Indices
    code: Codes
    sample_s: Array
    volumes_m3: Array
    siphoning: NDArray[np.bool_]
    sump_m: Array
    sump_lowest_m: float
    sump_highest_m: float
    energy_kwh: float
    methods: tuple[str, ...]
    water_error_m3: float

    def times_of(self, event: Event) -> tuple[Array, Indices]:
        """Return the times of one kind of event, and the beds."""
        mine = self.code == event
        return self.time_s[mine], self.bed[mine]

    def counts(self, event: Event) -> Indices:
        """Return how often each bed met an event."""
        return np.bincount(self.bed[self.code == event], minlength=len(self.plant.beds))

    @property
    def missed_starts(self) -> int:
        """How often a bed stalled over its rim."""
        return int(np.sum(self.code == Event.STALLS))

    @property
    def missed_stops(self) -> int:
        """How often a siphon failed to break."""
        return int(np.sum(self.code == Event.NEVER_BREAKS))

    def events_frame(self) -> pd.DataFrame:
        """Return one row an event: time_s, bed, event."""
        names = np.array([bed.id for bed in self.plant.design.beds], dtype=object)
        words = np.array(_EVENT_WORDS, dtype=object)
        return pd.DataFrame(
            {"time_s": self.time_s, "bed": names[self.bed], "event": words[self.code]}
        )

    def levels_frame(self) -> pd.DataFrame:
        """Return one row a bed and time: time_s, subject (bed or sump), level_m above its floor."""
        beds = self.plant.design.beds
        floors = np.array([s.drain_level_m for s in self.plant.siphons])
        levels = np.column_stack([floors + self.volumes_m3 / self._stores_m2(), self.sump_m])
        subjects = [bed.id for bed in beds] + ["sump"]
        return pd.DataFrame(
            {
                "time_s": np.repeat(self.sample_s, len(subjects)),
                "subject": np.tile(np.array(subjects, dtype=object), self.sample_s.size),
                "level_m": levels.ravel(),
            }
        )

    def _stores_m2(self) -> Array:
        """Return plan area times porosity at each kept time, (times, beds): clogging shrinks it."""
        stores = np.tile(self.plant.beds.store_m2, (self.sample_s.size, 1))
        place = {bed.id: i for i, bed in enumerate(self.plant.design.beds)}
        for bed, at_s, factor in self.scenario.porosity_change:
            stores[self.sample_s >= at_s, place[bed]] *= factor
        return stores

    def held_m3(self) -> Array:
        """Return the water above their slots in all beds together, at each kept time.

        A bed still drier than its slots, after a dry start, holds none: what it lacks is not water
        that another bed holds.
        """
        return np.asarray(np.maximum(self.volumes_m3, 0.0).sum(axis=1))

    def floods_frame(self) -> pd.DataFrame:
        """Return one row a bed and hour: bed, hour, floods (breaks in that hour)."""
        times, beds = self.times_of(Event.BREAKS)
        hours = int(np.ceil(self.scenario.hours))
        counts = np.zeros((len(self.plant.beds), hours), dtype=np.int64)
        np.add.at(counts, (beds, np.minimum(times // 3600.0, hours - 1).astype(np.int64)), 1)
        names = [bed.id for bed in self.plant.design.beds]
        return pd.DataFrame(
            {
                "bed": np.repeat(np.array(names, dtype=object), hours),
                "hour": np.tile(np.arange(hours), len(names)),
                "floods": counts.ravel(),
            }
        )

    def floods_per_hour(self) -> Array:
        """Return each bed's floods an hour, from its first break to its last; 0 with fewer than 2.

        Time in which the pump stood is part of it.
        """
        times, beds = self.times_of(Event.BREAKS)
        count = len(self.plant.beds)
        floods = np.bincount(beds, minlength=count)
        first, last = np.full(count, np.inf), np.full(count, -np.inf)
        np.minimum.at(first, beds, times)
        np.maximum.at(last, beds, times)
        several = floods > 1
        result = np.zeros(count)
        result[several] = 3600.0 * (floods[several] - 1) / (last - first)[several]
        return result
