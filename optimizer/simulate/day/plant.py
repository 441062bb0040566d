"""A design made ready to run: beds as arrays, valves set, water counted."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from optimizer.physics.arrays import Array
from optimizer.physics.band import Band
from optimizer.physics.bed import SiphonBed
from optimizer.records.design import BedKind, Design
from optimizer.records.design_limits import require_design
from optimizer.simulate.day.bed_arrays import BedArrays, bed_arrays
from optimizer.simulate.day.inflow_table import TABLE_ERROR_SHARE, InflowTable, inflow_table
from optimizer.simulate.day.turns import beds_without_water
from optimizer.simulate.sump_levels import drained_back_m3, held_aloft_m3
from optimizer.simulate.valves import set_valves

SHUT_ERROR_SHARE = 1e-5
"""Error of an inflow allowed in tables with some valves shut, which hold for a while only."""

_SPARE_SHARE = 0.1
"""Share of the range of sump levels that the table of inflows reaches past both its ends."""


@dataclass(frozen=True, eq=False)
class Plant:
    """A design with the coefficients it happens to have.

    Attributes:
        design: the design.
        siphons: every bed with its siphon, in order of the design's beds.
        beds: the same as arrays.
        valve_losses: bed id to K of its valve as set.
        area_m2: area of all sump tanks together.
        free_m3: water of sump and beds above their slots, pipes full.
        levels_m: lowest and highest level the sump could have.
    """

    design: Design
    siphons: tuple[SiphonBed, ...]
    beds: BedArrays
    valve_losses: dict[str, float]
    area_m2: float
    free_m3: float
    levels_m: tuple[float, float]
    _tables: dict[frozenset[str], InflowTable] = field(default_factory=dict)

    @property
    def drained_back_m3(self) -> float:
        """Water that runs back from the pipes, and from a tank, when the pump stops."""
        return drained_back_m3(self.design)

    def table(self, shut: frozenset[str] = frozenset()) -> InflowTable:
        """Return the inflows with some beds' valves shut; each set of them is worked out once.

        With all open it is as fine as event times to 0.01 s ask; else ``SHUT_ERROR_SHARE``.
        """
        if shut not in self._tables:
            opened = {bed: loss for bed, loss in self.valve_losses.items() if bed not in shut}
            error = SHUT_ERROR_SHARE if shut else TABLE_ERROR_SHARE
            self._tables[shut] = inflow_table(self.design, opened, *self.levels_m, error)
        return self._tables[shut]

    def drawn(self, seed: int) -> Plant:
        """Return the plant with its siphons and media drawn over their bands, once for a kind.

        Inflows do not depend on them, so the tables are shared.
        """
        dice = np.random.default_rng([seed, 0])
        kinds = {kind.id: drawn_siphon(kind, dice) for kind in self.design.kinds}
        siphons = tuple(kinds[bed.kind] for bed in self.design.beds)
        return replace(self, siphons=siphons, beds=bed_arrays(siphons))

    def with_valves_drawn(self, seed: int) -> Plant:
        """Return the plant with every valve set within the error that the design promises.

        Errors are uniform and independent from bed to bed.
        """
        error = self.design.promise.valve_setting_error
        dice = np.random.default_rng([seed, 3])
        shares = dice.uniform(1.0 - error, 1.0 + error, len(self.design.beds)).tolist()
        names = (bed.id for bed in self.design.beds)
        losses = set_valves(self.design, dict(zip(names, shares, strict=True))).losses
        return replace(self, valve_losses=losses, _tables={})

    def setting_inflows_m3_s(self) -> Array:
        """Return every bed's inflow with the sump at its setting level, in its zone's turn."""
        setting_m, zones = self.design.sump.setting_m, self.design.zones
        if zones is None:
            return self.table().inflows_m3_s(setting_m)
        turns = (n * zones.turn_s + zones.change_s for n in range(len(zones.zones)))
        shut = (frozenset(beds_without_water(self.design, time)) for time in turns)
        flows = [self.table(each).inflows_m3_s(setting_m) for each in shut]
        return np.asarray(np.sum(flows, axis=0))


def plant_of(design: Design) -> Plant:
    """Return a plant of a design with nominal coefficients.

    Args:
        design: the design.

    Raises:
        NotSolved: if the valves could not be set.
        BadInput: for a design that cannot be, or some pipe not joined to the pump.
    """
    require_design(design)
    kinds = {kind.id: kind.siphon for kind in design.kinds}
    siphons = tuple(kinds[bed.kind] for bed in design.beds)
    beds = bed_arrays(siphons)
    sump = design.sump
    area = sump.area_m2 * sump.count
    free = sump.fill_m3 - held_aloft_m3(design)
    return Plant(
        design=design,
        siphons=siphons,
        beds=beds,
        valve_losses=set_valves(design).losses,
        area_m2=area,
        free_m3=free,
        levels_m=_levels(beds, free, sump.lost_m3, area),
    )


def _levels(beds: BedArrays, free_m3: float, lost_m3: float, area_m2: float) -> tuple[float, float]:
    low = (free_m3 - lost_m3 - float(beds.prime_m3.sum())) / area_m2
    high = (free_m3 + float(beds.dead_m3.sum())) / area_m2
    spare = _SPARE_SHARE * (high - low)
    return low - spare, high + spare


def drawn_siphon(kind: BedKind, dice: np.random.Generator) -> SiphonBed:
    """Return a kind's siphon with its four coefficients drawn uniformly over their bands."""

    def draw(band: Band) -> float:
        return float(band.at(dice.random()))

    return replace(
        kind.siphon,
        start_froude=draw(kind.start_froude),
        stop_ratio=draw(kind.stop_ratio),
        loss_coefficient=draw(kind.loss_coefficient),
        porosity=draw(kind.porosity),
    )
