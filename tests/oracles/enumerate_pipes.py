"""The pipes of a site worked out again: all products of what each stretch may be built of.

Part of the oracle in ``enumerate_site``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from optimizer.records.network import Stretch
from optimizer.records.parts import Catalog
from optimizer.records.site import Site
from tests.oracles.enumerate_plant import Plant
from tests.oracles.enumerate_ways import Picks, Steps, Tree, Ways, is_built, ways_of

ROUNDING = 1e-9
"""Head, volume and area within this of a limit keep it: rounding of floating-point sums."""


class Pipes:
    """All products of sizes at once: one array axis for each stretch that carries water."""

    def __init__(
        self, site: Site, catalog: Catalog, tree: Tree, picks: Picks, steps: Steps | None = None
    ) -> None:
        holds = site.purchase.non_return_valve and site.header_tank is None
        self._share = 0.0 if holds else 1.0
        carried: dict[str, tuple[Stretch, Ways]] = {}
        outlets: dict[str, float] = {}
        for stretch in (s for leaving in tree.out_of.values() for s in leaving):
            below = [b for b in tree.beds_below[stretch.id] if is_built(b, picks)]
            if below:
                outlet, ways = ways_of(site, catalog, tree, stretch, below, picks, steps)
                carried[stretch.id] = (stretch, ways)
                if outlet is not None:
                    outlets[stretch.id] = outlet
        self.possible = all(len(ways.cents) for _, ways in carried.values())
        if not self.possible:
            return
        axis = {name: i for i, name in enumerate(carried)}

        def spread(name: str, values: np.ndarray) -> np.ndarray:
            shape = [1] * len(axis)
            shape[axis[name]] = len(values)
            return values.reshape(shape)

        def total(values: dict[str, np.ndarray]) -> np.ndarray:
            return sum((spread(name, each) for name, each in values.items()), np.array(0))

        self._cents = total({name: w.cents for name, (_, w) in carried.items()})
        sizes = sorted({str(z) for _, w in carried.values() for z in w.pipe if z})
        self._laid = {
            size: total(
                {n: np.where(w.pipe == size, w.pipe_cents, 0) for n, (_, w) in carried.items()}
            )
            for size in sizes
        }
        self._used = {
            size: total({n: np.where(w.pipe == size, 1, 0) for n, (_, w) in carried.items()}) > 0
            for size in sizes
        }
        self._volume = total({name: w.volume_m3 for name, (_, w) in carried.items()})
        self._bears = np.array(np.inf)
        for name, (_, ways) in carried.items():
            self._bears = np.minimum(self._bears, spread(name, ways.bears_m))
        self.least_cents = int(self._cents.min())
        self._take_offs: list[tuple[float, np.ndarray]] = []
        self._needed = np.array(-np.inf)
        self._most = np.array(np.inf)
        for name, outlet in outlets.items():
            above: dict[str, np.ndarray] = {}
            node = carried[name][0].tail
            while node != tree.source:
                stretch = tree.into[node]
                above[stretch.id] = carried[stretch.id][1].loss_m
                node = stretch.tail
            to_take_off = total(above)
            self._take_offs.append((outlet, to_take_off))
            drop = spread(name, carried[name][1].loss_m)
            self._needed = np.maximum(self._needed, to_take_off + drop + outlet)
            throttle = spread(name, carried[name][1].throttles_m)
            self._most = np.minimum(self._most, drop + throttle + outlet)

    def cheapest(
        self, plant: Plant, spare_m3: float, lowest_outlet_m: float, ties: Ties
    ) -> int | None:
        """The cheapest sizes with a pump and a sump, less what stock saves on the pump's pipe."""
        good = self._needed <= plant.head_m + ROUNDING
        good = good & (self._bears >= plant.shut_off_m) & (self._most >= plant.most_head_m)
        good = good & (self._share * self._volume <= spare_m3 + ROUNDING)
        for outlet, lost in self._take_offs:
            left = (outlet - lowest_outlet_m) * plant.authority
            good = good & (lost + outlet + left <= plant.head_m + ROUNDING)
        price = self._cents - self._saved(plant, ties)
        if ties.money_left is not None:
            good = good & (price <= ties.money_left)
        if ties.sizes_most is not None:
            good = good & (self._sizes(plant) <= ties.sizes_most)
        good = np.broadcast_to(good, np.broadcast_shapes(good.shape, price.shape))
        if not good.any():
            return None
        return int(np.broadcast_to(price, good.shape)[good].min())

    def _saved(self, plant: Plant, ties: Ties) -> np.ndarray | int:
        """What pipe in stock saves: its worth, or what is laid of its size."""
        return sum(
            np.minimum(worth, self._laid.get(size, 0) + plant.pipe_cents.get(size, 0))
            for size, worth in ties.stock.items()
        )

    def _sizes(self, plant: Plant) -> np.ndarray | int:
        """How many sizes are laid anew."""
        sizes = {*self._used, *plant.pipe_cents}
        return sum(
            np.asarray(self._used.get(z, False) | np.bool_(z in plant.pipe_cents), dtype=int)
            for z in sizes
        )


@dataclass(frozen=True)
class Ties:
    """What ties the whole site: cents left for pipe, sizes, and the worth of pipe in stock."""

    money_left: int | None = None
    sizes_most: int | None = None
    stock: Mapping[str, int] = field(default_factory=dict)
