"""Two sizes on one stretch: a wider part upstream, a reducer, and a narrower part."""

from __future__ import annotations

from dataclasses import dataclass

ROUNDING_CENTS = 2.0
"""What rounding four lines of the bill to whole cents may take off a mixed stretch."""


@dataclass(frozen=True)
class Mix:
    """How a stretch built in one size may be laid wider over a share of its length.

    Loss and cost are straight lines in that share: friction is per metre of each size, and fittings
    stay as they are.

    Attributes:
        wider: build id of the wider part.
        length_m: length of the whole stretch.
        prices_per_m: price of a metre, narrower and wider, in currency.
        laying_per_m: price of laying a metre, in currency.
        parts_cents: fittings of the stretch, the reducer between its parts included.
        friction_m: friction if all of it were wider.
        gain_m: head gained if all of it were wider.
        reducer_m: head lost in the reducer.
        extra_m3: further water it would hold if all of it were wider.
        least_share: least share of the length of either part.
    """

    wider: str
    length_m: float
    prices_per_m: tuple[float, float]
    laying_per_m: float
    parts_cents: int
    friction_m: float
    gain_m: float
    reducer_m: float
    extra_m3: float
    least_share: float

    def cost_cents(self, share: float) -> int:
        """Return the cost of the stretch with a share of it wider, each line in whole cents."""
        narrow, wide = (1.0 - share) * self.length_m, share * self.length_m
        pipes = round(100.0 * narrow * self.prices_per_m[0])
        pipes += round(100.0 * wide * self.prices_per_m[1])
        laying = round(100.0 * narrow * self.laying_per_m) + round(100.0 * wide * self.laying_per_m)
        return pipes + laying + self.parts_cents

    @property
    def slope_cents(self) -> float:
        """Further cost if all of it were wider, not rounded."""
        return 100.0 * self.length_m * (self.prices_per_m[1] - self.prices_per_m[0])

    def step_cents(self, plain_cents: int) -> float:
        """Return the cost of the reducer, not rounded, against the stretch in one size."""
        narrow = 100.0 * self.length_m * (self.prices_per_m[0] + self.laying_per_m)
        return narrow + self.parts_cents - plain_cents
