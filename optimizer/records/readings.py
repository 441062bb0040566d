"""What a grower read off running beds with a bucket, a watch and a rule."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields

from optimizer.physics.band import Band


@dataclass(frozen=True)
class Reading:
    """One line of the commissioning sheet; ``None`` is what was not read.

    Attributes:
        bed: the bed's id.
        inflow_m3_s: what the bucket took in a second.
        bucket_s: how long the bucket took.
        date: day of the reading, as 2026-05-30; may be empty.
        starts: whether the siphon primed at this inflow.
        fill_s: time from the break of one flood to the start of the next.
        drain_s: time from the start to the break, the inflow running.
        stops: whether it then broke.
        highest_m: highest level over the bed's floor.
        seen: anything else.
        where: where it stands in its file.
    """

    bed: str
    inflow_m3_s: float
    bucket_s: float
    date: str = ""
    starts: bool | None = None
    fill_s: float | None = None
    drain_s: float | None = None
    stops: bool | None = None
    highest_m: float | None = None
    seen: str = ""
    where: str = ""


@dataclass(frozen=True)
class MeasuredBed:
    """A bed that was read, with its sizes as far as they are known. Levels are above its floor.

    Attributes:
        id: the bed's id.
        kind: beds of one kind share their coefficients.
        bore_m: standpipe bore.
        mouth_m: diameter of the rim or of a funnel on it.
        area_m2: plan area inside.
        drain_level_m: top of the highest slot.
        crest_level_m: rim of the standpipe.
        outlet_level_m: outlet of the siphon.
        where: where its sizes stand in their file.
    """

    id: str
    kind: str
    bore_m: float
    mouth_m: float
    area_m2: float | None = None
    drain_level_m: float | None = None
    crest_level_m: float | None = None
    outlet_level_m: float | None = None
    where: str = ""


@dataclass(frozen=True)
class ReadingErrors:
    """Standard deviations of what is read, and how beds differ (A69); all are assumptions.

    Attributes:
        bucket_volume: share by which the bucket's volume is off, the same in every reading.
        bucket_mark: share by which it is filled over or under its mark, anew each time.
        watch_s: of the time the bucket takes.
        times_s: of a fill or drain time.
        times_share: of a fill or drain time, and of what the closed forms leave out.
        level_m: of the highest level.
        start_beds: share by which start flows of beds of one kind differ.
        start_repeats: share by which one bed's start flow differs from flood to flood.
        stop_beds: as ``start_beds``, of the greatest inflow that stops.
        stop_repeats: as ``start_repeats``, of the greatest inflow that stops.
    """

    bucket_volume: float = 0.02
    bucket_mark: float = 0.02
    watch_s: float = 1.0
    times_s: float = 10.0
    times_share: float = 0.03
    level_m: float = 0.005
    start_beds: float = 0.05
    start_repeats: float = 0.03
    stop_beds: float = 0.05
    stop_repeats: float = 0.03

    def replaced(self) -> tuple[str, ...]:
        """Return the keys of those that are not the defaults, as a readings file has them."""
        names = [f.name for f in fields(self) if getattr(self, f.name) != f.default]
        return tuple(name.removesuffix("_s").removesuffix("_m") for name in names)


@dataclass(frozen=True)
class KindBands:
    """What was known of one kind of bed before its readings.

    ``turn_loss`` is the part of ``loss_coefficient`` that a site file sets; None where the other
    parts are not known.
    """

    start_froude: Band
    stop_ratio: Band
    loss_coefficient: Band
    porosity: Band
    turn_loss: Band | None = None


@dataclass(frozen=True)
class Readings:
    """A readings file with the beds it speaks of.

    Attributes:
        readings: every line with something read.
        beds: by id.
        errors: how far readings are off.
        bands: by kind.
        errors_from: where errors that are not the defaults come from.
        units: units to answer in, ``metric`` or ``us``.
    """

    readings: tuple[Reading, ...]
    beds: Mapping[str, MeasuredBed]
    bands: Mapping[str, KindBands]
    errors: ReadingErrors = field(default_factory=ReadingErrors)
    errors_from: str = ""
    units: str = "metric"
