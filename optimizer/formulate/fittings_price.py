"""Money in whole cents, and what fittings of one size and a metre of laying cost."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.records.parts import Catalog, FittingPrices, Pipe
from optimizer.records.shelf import CountedPart


def cents(amount: float) -> int:
    """Return an amount of money in whole cents, rounded once per line of the bill."""
    return round(amount * 100.0)


def parts_price(parts: Sequence[CountedPart], pipe: Pipe, prices: FittingPrices) -> float:
    """Return the price of fittings in a pipe's series and size."""
    return sum(part.count * prices[part.kind, pipe.series, pipe.nominal] for part in parts)


def laying_price_per_m(catalog: Catalog) -> float:
    """Return the price of work on a metre of pipe, beside the pipe itself."""
    return sum(service.price for service in catalog.services.values() if service.per == "metre")
