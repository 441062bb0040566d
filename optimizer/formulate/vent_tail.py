"""The vented tail that ends a siphon over its return pipe."""

from __future__ import annotations

from optimizer.formulate.fittings_price import cents, parts_price
from optimizer.formulate.siphon_parts import kit_pipe
from optimizer.records.parts import Catalog, Kit
from optimizer.records.shelf import CountedPart

VENT_TAIL = (CountedPart("elbow_90", 1), CountedPart("tee", 1))
"""Fittings of a vented tail: a turn under the bed, a tee open to the air over the collector."""


def has_vent_tail(kit: Kit, catalog: Catalog) -> bool:
    """Return whether the catalog sells the fittings of a vented tail in a kit's size."""
    prices = catalog.fitting_prices
    return all((part.kind, kit.series, kit.nominal) in prices for part in VENT_TAIL)


def vent_tail_cents(kit: Kit, catalog: Catalog) -> int:
    """Return the price of a vented tail in a kit's size: its fittings by kind and count."""
    return cents(parts_price(VENT_TAIL, kit_pipe(kit, catalog), catalog.fitting_prices))
