"""The keys of a readings file, one class for each table. Values are SI once read."""

from __future__ import annotations

import datetime
from typing import Annotated

from pydantic import Field, PlainValidator

from optimizer.reading import site_fields as field
from optimizer.reading.nearest import shown
from optimizer.reading.site_fields import FieldError, Many, Name, Table
from optimizer.reading.site_models import CoefficientTable, ShareTable

SEEN_MOST = 900
YES, NO = ("yes", "y", "true"), ("no", "n", "false")


def _yes_or_no(value: object) -> bool:
    if isinstance(value, bool):
        return value
    if isinstance(value, str) and value.strip().lower() in (*YES, *NO):
        return value.strip().lower() in YES
    raise FieldError(f"read {shown(value)}, expected yes or no.", "Leave it out if nobody looked.")


def _date(value: object) -> str:
    if isinstance(value, datetime.date):
        return value.isoformat()[:10]
    try:
        return datetime.date.fromisoformat(str(value).strip()).isoformat()
    except ValueError:
        fix = "Write year, month and day, as 2026-05-30."
        raise FieldError(f"read {shown(value)}, expected a date.", fix) from None


def _seen(value: object) -> str:
    if isinstance(value, str) and len(value) <= SEEN_MOST:
        return value.strip()
    raise FieldError(f"read {shown(value)}, expected text.", f"At most {SEEN_MOST} letters.")


Seconds = Annotated[float, field.measure("time", 1.0, 86400.0)]
Bucket = Annotated[float, field.measure("volume", 1e-4, 1.0)]
Height = Annotated[float, field.measure("length", -5.0, 5.0)]
Size = Annotated[float, field.measure("length", 0.005, 0.5)]
Spread = Annotated[float, field.measure("share", 0.001, 0.5)]
YesOrNo = Annotated[bool, PlainValidator(_yes_or_no)]


class ReadingTable(Table):
    """``[[reading]]``: one line of the sheet."""

    bed: Name
    date: Annotated[str, PlainValidator(_date)] = ""
    bucket: Bucket | None = None
    bucket_time: Seconds
    starts: YesOrNo | None = None
    fills: Seconds | None = None
    drains: Seconds | None = None
    stops: YesOrNo | None = None
    highest_level: Height | None = None
    seen: Annotated[str, PlainValidator(_seen)] = ""


class BedTable(Table):
    """``[[bed]]``: a bed's sizes as built; levels are above its floor."""

    name: Name
    kind: Name = "beds"
    bed_type: Name | None = None
    kit: Name | None = None
    area: Annotated[float, field.measure("area", 0.01, 1000.0)] | None = None
    bore: Size | None = None
    mouth: Size | None = None
    drain_level: Height | None = None
    crest_level: Height | None = None
    outlet_level: Height | None = None


class ErrorsTable(Table):
    """``[errors]``: standard deviations of what is read."""

    bucket_volume: Annotated[float, field.measure("share", 0.0, 0.5)] | None = None
    bucket_mark: Spread | None = None
    watch: Annotated[float, field.measure("time", 0.05, 60.0)] | None = None
    times: Annotated[float, field.measure("time", 0.5, 600.0)] | None = None
    times_share: Spread | None = None
    level: Annotated[float, field.measure("length", 0.0005, 0.2)] | None = None
    start_beds: Spread | None = None
    start_repeats: Spread | None = None
    stop_beds: Spread | None = None
    stop_repeats: Spread | None = None
    origin: Name = Field(default="measured by the grower", alias="from")


class PriorTable(Table):
    """``[prior]``: what was known before, in place of the kit's and the medium's bands."""

    start_froude: CoefficientTable | None = None
    stop_ratio: ShareTable | None = None
    loss_coefficient: CoefficientTable | None = None
    porosity: ShareTable | None = None


class ReadingsTable(Table):
    """The whole file."""

    units: Annotated[str, field.word("metric", "us")] | None = None
    gallon: Annotated[str, field.word("US", "imperial")] | None = None
    bucket: Bucket = 0.010
    rows: Name | None = None
    bed: Many[BedTable] = []
    reading: Many[ReadingTable] = []
    errors: ErrorsTable = Field(default_factory=ErrorsTable)
    prior: PriorTable = Field(default_factory=PriorTable)
