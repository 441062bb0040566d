"""The grower's own prices laid over the catalog."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from optimizer.records.parts import Catalog

PRICE_FIELDS = {
    "pipes": "price_per_m",
    "fittings": "price",
    "valves": "price",
    "pumps": "price",
    "containers": "price",
    "media": "price_per_m3",
    "stands": "price",
    "kits": "price",
    "sumps": "price",
    "services": "price",
    "timers": "price",
}
"""Catalog table to the field that holds its price."""


def with_prices(catalog: Catalog, prices: Mapping[str, float]) -> Catalog:
    """Return the catalog with new prices for the parts named; other names are passed over.

    Args:
        catalog: any catalog.
        prices: part id to price, in the unit of the part's table (pipe by the metre, medium by the
            cubic metre, all else by the piece).
    """
    tables: dict[str, Any] = {}
    for table, field in PRICE_FIELDS.items():
        parts = getattr(catalog, table)
        tables[table] = {
            name: replace(part, **{field: prices[name]}) if name in prices else part
            for name, part in parts.items()
        }
    return replace(catalog, **tables)
