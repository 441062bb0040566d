"""Columns of the commissioning sheet, which are those of a readings file."""

from __future__ import annotations

from optimizer.report.scales import Reader

COLUMN_KEYS = (
    "bed",
    "date",
    "bucket_time",
    "starts",
    "fills",
    "drains",
    "stops",
    "highest_level",
    "seen",
)
"""Keys of a ``[[reading]]`` in a TOML file, in the order of the sheet's columns."""


def headings(units: str) -> tuple[str, ...]:
    """Return the sheet's headings, one for each of :data:`COLUMN_KEYS`.

    Args:
        units: ``metric`` or ``us``: which bucket and which rule.

    >>> headings("metric")[2], headings("us")[7]
    ('10 L in, s', 'highest level, in')
    """
    reader = Reader(units)
    return (
        "bed",
        "date",
        f"{reader.bucket} in, s",
        "starts?",
        "fills, min",
        "drains, min",
        "stops?",
        f"highest level, {reader.name('size')}",
        "seen and done",
    )
