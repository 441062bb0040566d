"""A finished design: all that is needed to check it, draw it and build it, in SI.

Levels count from the site's own datum. Nothing here needs the catalog, the site file or a solver.
"""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.physics.band import Band
from optimizer.physics.bed import SiphonBed
from optimizer.records.choice import SolveRecord
from optimizer.records.fish_tank import BuiltFishTank
from optimizer.records.header_ring import BuiltRing
from optimizer.records.header_tank import BuiltTank
from optimizer.records.layouts import LayoutCost
from optimizer.records.near_miss import NearMiss
from optimizer.records.promise import Promise
from optimizer.records.shelf import CountedPart, ShelfPart
from optimizer.records.siphon_parts import SiphonParts
from optimizer.records.zones import BuiltZones

Point3 = tuple[float, float, float]

BUCKET_M3 = 0.010
"""The bucket of ``bucket_s``: 10 L. A grower sets a valve by it, with a watch."""

DRAIN_END = "sump"
"""The ``head`` of the last stretch of return pipe."""


@dataclass(frozen=True)
class Window:
    """Inflows between which a siphon starts and stops, in m3/s; empty where low >= high."""

    low_m3_s: float
    high_m3_s: float


@dataclass(frozen=True)
class BedKind:
    """A bed type as designed, with the siphon chosen for it.

    ``siphon`` carries nominal coefficients; the bands stand beside it. ``windows`` is by
    robustness: nominal, most, whole. ``target`` is the inflow interval that meets the flood goal.
    ``inflow_m3_s`` is what each valve is set to. ``wet_mass_kg`` is container, medium, water.
    ``container_id``, ``medium_id`` and ``stand_id`` name parts of the shelf. ``turn_loss`` is the
    part of the loss coefficient that a site file sets; None in files of older versions.
    ``siphon_stands`` where beds that were there before keep the siphon they have;
    ``standpipe_changed`` where its standpipe is then cut, or made longer.
    """

    id: str
    label: str
    container: str
    medium: str
    stand: str
    kit: str
    kit_label: str
    length_m: float
    width_m: float
    depth_m: float
    area_m2: float
    siphon: SiphonBed
    parts: SiphonParts
    start_froude: Band
    stop_ratio: Band
    loss_coefficient: Band
    porosity: Band
    windows: dict[str, Window]
    target: Window
    inflow_m3_s: float
    floods_per_hour: float
    held_m3: float
    wet_mass_kg: float
    stand_height_m: float
    supports: int
    load_per_support_n: float
    floor_pressure_pa: float
    stand_capacity_kg: float
    container_id: str = ""
    medium_id: str = ""
    stand_id: str = ""
    turn_loss: Band | None = None
    siphon_stands: bool = False
    standpipe_changed: bool = False


@dataclass(frozen=True)
class Bed:
    """One built bed. ``floor_level_m`` is its inside floor, ``outlet_level_m`` where water enters.

    ``along`` is the unit vector of its length, which lies across its row.

    ``valve_opening`` is 0 (shut) to 1; ``bucket_s`` fills 10 L (:data:`BUCKET_M3`) at the set
    inflow. Its siphon leaves at ``siphon_outlet_level_m`` into the return stretch ``drain`` (empty:
    none designed). ``standing`` beds were there before; their siphon and valve are still bought,
    unless ``siphon_standing`` and ``valve_standing`` say that those were there too.
    """

    id: str
    row: str
    kind: str
    x_m: float
    y_m: float
    along: tuple[float, float]
    floor_level_m: float
    outlet_level_m: float
    drop: str
    valve: str
    valve_label: str
    valve_bore_m: float
    valve_openings: tuple[float, ...]
    valve_losses: tuple[float, ...]
    valve_head_m: float
    valve_opening: float
    bucket_s: float
    siphon_outlet_level_m: float = 0.0
    drain: str = ""
    standing: bool = False
    siphon_standing: bool = False
    valve_standing: bool = False


@dataclass(frozen=True)
class BuiltFitting:
    """A fitting met by the water in a stretch; ``loss_coefficient`` is of one."""

    name: str
    count: int
    loss_coefficient: float


@dataclass(frozen=True)
class BuiltStretch:
    """One built pipe.

    ``loss_m`` is what the program counted at ``flow_m3_s``; a drop's includes its valve fully open.
    ``loss_coefficient`` sums the fittings, without the valve. ``rating_pa`` is as the standard
    prints it; ``material`` says how it falls with temperature. ``parts`` are the fittings that the
    design's price counts for it.
    """

    id: str
    kind: str
    row: str | None
    tail: str
    head: str
    points: tuple[Point3, ...]
    length_m: float
    pipe: str
    nominal: str
    bore_m: float
    roughness_m: float
    rating_pa: float
    fittings: tuple[BuiltFitting, ...]
    loss_coefficient: float
    flow_m3_s: float
    loss_m: float
    volume_m3: float
    standing: bool
    material: str = "pvc"
    parts: tuple[CountedPart, ...] = ()


@dataclass(frozen=True)
class BuiltDrain:
    """One built stretch of return pipe, from ``tail`` down to ``head`` (``sump`` for the last).

    ``points`` is its route in plan; inverts count from the site's datum. ``bursts_m3_s`` is the
    greatest flow it was sized for, ``capacity_m3_s`` what it carries at ``fill_limit``. ``parts``
    are the fittings that the design's price counts for it; none for one that lies there already.
    """

    id: str
    row: str | None
    tail: str
    head: str
    points: tuple[Point3, ...]
    length_m: float
    pipe: str
    nominal: str
    bore_m: float
    slope: float
    upper_invert_m: float
    lower_invert_m: float
    bursts_m3_s: float
    capacity_m3_s: float
    fill_limit: float
    manning_n: float
    parts: tuple[CountedPart, ...] = ()
    standing: bool = False


@dataclass(frozen=True)
class BuiltPump:
    """The pump chosen, ``count`` in parallel and ``spares`` on the shelf, ``there`` from before.

    ``noise_db`` is the sound level of one of them a metre away; None where not told.
    """

    id: str
    label: str
    count: int
    spares: int
    flows_m3_s: tuple[float, ...]
    heads_m: tuple[float, ...]
    watts: tuple[float, ...]
    submergence_m: float
    duty_flow_m3_s: float
    duty_head_m: float
    duty_watts: float
    standing: bool
    there: int = 0
    noise_db: float | None = None


@dataclass(frozen=True)
class BuiltSump:
    """The sump chosen: ``count`` equal tanks joined at their floors, ``area_m2`` that of one.

    Of these, ``there`` were there before. Levels count from the sump's floor: ``setting_m`` is
    where valves are set; running levels lie between ``lowest_m`` (all beds full, ``lost_m3``
    evaporated) and ``highest_m`` (all beds drained, just topped up); ``power_cut_m`` adds drained
    pipe.
    """

    id: str
    label: str
    count: int
    area_m2: float
    depth_m: float
    freeboard_m: float
    floor_level_m: float
    x_m: float
    y_m: float
    setting_m: float
    lowest_m: float
    highest_m: float
    power_cut_m: float
    fill_m3: float
    standing: bool
    lost_m3: float = 0.0
    there: int = 0


@dataclass(frozen=True)
class CostLine:
    """A bill line in cents; ``group``: capital, running (worth now), stock or standing (free)."""

    group: str
    what: str
    part: str
    quantity: float
    unit: str
    cents: int


@dataclass(frozen=True)
class Design:
    """A complete design. ``shelf`` has what its parts cost; empty in files of older versions."""

    site: str
    currency: str
    units: str
    promise: Promise
    kinds: tuple[BedKind, ...]
    beds: tuple[Bed, ...]
    stretches: tuple[BuiltStretch, ...]
    pump: BuiltPump
    sump: BuiltSump
    costs: tuple[CostLine, ...]
    energy_kwh_per_year: float
    energy_price_per_kwh: float
    record: SolveRecord
    near_misses: tuple[NearMiss, ...] = ()
    notes: tuple[str, ...] = ()
    drains: tuple[BuiltDrain, ...] = ()
    fish: BuiltFishTank | None = None
    shelf: tuple[ShelfPart, ...] = ()
    layouts: tuple[LayoutCost, ...] = ()
    tank: BuiltTank | None = None
    zones: BuiltZones | None = None
    ring: BuiltRing | None = None
