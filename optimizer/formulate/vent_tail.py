"""The vented tail that ends a siphon over its return pipe."""

from __future__ import annotations

from optimizer.formulate.fittings_price import PartCount, cents, parts_price
from optimizer.records.parts import Catalog, Kit

VENT_TAIL = (PartCount("elbow_90", 1), PartCount("tee", 1))
"""Fittings of a vented tail: a turn under the bed, a tee open to the air over the collector."""


def has_vent_tail(kit: Kit, catalog: Catalog) -> bool:
    """Return whether the catalog sells the fittings of a vented tail in a kit's size."""
    prices = catalog.fitting_prices
    return all((part.kind, kit.series, kit.nominal) in prices for part in VENT_TAIL)


def vent_tail_cents(kit: Kit, catalog: Catalog) -> int:
    """Return the price of a vented tail in a kit's size: its fittings by kind and count."""
    pipe = next(
        p for p in catalog.pipes.values() if (p.series, p.nominal) == (kit.series, kit.nominal)
    )
    return cents(parts_price(VENT_TAIL, pipe, catalog.fitting_prices))
