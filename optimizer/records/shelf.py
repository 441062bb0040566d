"""What a design takes from the shop: parts with their prices, and fittings counted by kind."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class CountedPart:
    """A number of fittings of one kind, as the design's price counts them."""

    kind: str
    count: int


@dataclass(frozen=True)
class ShelfPart:
    """One part of the catalog that a design uses, or may need to be joined up.

    Attributes:
        id: catalog id.
        table: the catalog's table, such as ``pipes`` or ``fittings``.
        label: what to call it.
        kind: the kind of fitting or valve; empty for others.
        series: range of pipe it fits; empty where it fits none.
        nominal: trade size; empty where it has none.
        price: in the design's currency, for one ``per``.
        per: each, metre, m3, bed or site.
        stock_length_m: length a pipe is sold in; 0 for others.
        outside_m: a pipe's outside diameter; 0 for others.
    """

    id: str
    table: str
    label: str
    price: float
    per: str = "each"
    kind: str = ""
    series: str = ""
    nominal: str = ""
    stock_length_m: float = 0.0
    outside_m: float = 0.0
