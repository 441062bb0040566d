"""A stretch of return pipe, a way to lay it, and what that costs."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.formulate.fittings_price import (
    cents,
    laying_price_per_m,
    parts_price,
)
from optimizer.formulate.kept import Kept
from optimizer.records.network import Stretch
from optimizer.records.parts import Catalog, FittingPrices, Pipe
from optimizer.records.shelf import CountedPart


@dataclass(frozen=True)
class DrainRun:
    """A stretch of return pipe before a size is chosen.

    ``parts`` are bought with it: an elbow and a clean-out where it begins a row, tees elsewhere.
    """

    id: str
    stretch: Stretch
    upper: str
    lower: str
    length_m: float
    parts: tuple[CountedPart, ...]


@dataclass(frozen=True)
class DrainWay:
    """A size at a slope; ``standing`` where it lies there already.

    ``instead`` says that other pipe which lies there is taken out for it.
    """

    id: str
    pipe: Pipe
    slope: float
    standing: bool = False
    instead: bool = False


@dataclass(frozen=True)
class DrainPrices:
    """Prices that every stretch of return pipe is reckoned with."""

    fittings: FittingPrices
    laying_per_m: float
    kept: Kept

    def of_pipe(self, run: DrainRun, way: DrainWay) -> int:
        """Return the price of a stretch's pipe in cents; 0 where it lies there."""
        return 0 if way.standing else cents(run.length_m * way.pipe.price_per_m)

    def of_fittings(self, run: DrainRun, way: DrainWay) -> int:
        """Return the price of a stretch's fittings in cents; 0 where it lies there."""
        return 0 if way.standing else cents(parts_price(run.parts, way.pipe, self.fittings))

    def of_laying(self, run: DrainRun, way: DrainWay) -> int:
        """Return the price of the work on a stretch in cents; 0 where it lies there."""
        return 0 if way.standing else cents(run.length_m * self.laying_per_m)

    def of_taking_out(self, run: DrainRun, way: DrainWay) -> int:
        """Return the price of taking out what lies there for another way, in cents."""
        return self.kept.taking_out_return_cents(run.length_m) if way.instead else 0


def drain_prices(catalog: Catalog, kept: Kept) -> DrainPrices:
    """Return the prices of a catalog, and of changing what stands."""
    return DrainPrices(catalog.fitting_prices, laying_price_per_m(catalog), kept)
