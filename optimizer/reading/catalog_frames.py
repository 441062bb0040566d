"""A catalog as pandas tables, for people who want to look at it or save it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from optimizer.physics.band import Band
from optimizer.records.parts import Catalog

if TYPE_CHECKING:
    import pandas as pd


def catalog_frames(catalog: Catalog) -> dict[str, pd.DataFrame]:
    """Return one frame for each kind of part, a row a part, in SI.

    A coefficient with a band fills three columns (``porosity``, ``porosity_low``,
    ``porosity_high``). Curves stay as tuples in one cell.

    Args:
        catalog: the catalog.

    Returns:
        Kind of part, as the field of :class:`Catalog` is named, to frame.
    """
    import pandas as pd  # noqa: PLC0415 (slow to import; most callers need no frames)

    kinds = (field.name for field in fields(catalog))
    return {kind: pd.DataFrame(_rows(getattr(catalog, kind))) for kind in kinds}


def _rows(parts: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [_row(part) for part in parts.values()]


def _row(part: Any) -> dict[str, Any]:  # noqa: ANN401  # a part of any kind
    row: dict[str, Any] = {}
    for field in fields(part):
        row.update(_cells(field.name, getattr(part, field.name)))
    return row


def _cells(name: str, value: object) -> dict[str, Any]:
    if isinstance(value, Band):
        return {name: value.nominal, f"{name}_low": value.low, f"{name}_high": value.high}
    return {name: value}
