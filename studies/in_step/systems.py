"""The systems of this study: equal beds on one manifold, one pump, one sump. All sizes invented.

Nothing here is a real product or site. Every bed hangs on the same node by a drop of its own, so
beds differ in nothing but what their valve is set to. What is varied is what could tie beds
together: the number of beds, how far the sump's level swings, how steep the pump's curve is, what
the valves are set to and how unevenly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from optimizer import Band, Scenario, SiphonBed
from optimizer.physics.pipe import head_loss_m
from optimizer.records.choice import SolveRecord
from optimizer.records.design import (
    Bed,
    BedKind,
    BuiltPump,
    BuiltStretch,
    BuiltSump,
    Design,
    Promise,
    SiphonParts,
    Window,
)
from optimizer.simulate.day.day_run import DayRun
from optimizer.simulate.day.initial import cycle_parts_s
from optimizer.simulate.day.plant import Plant, plant_of
from optimizer.simulate.day.run import run_plant

BED = SiphonBed(1.2, 0.40, 0.03, 0.25, 0.02664, -0.15, 5.0)
"""The one bed: 1.2 m2 of gravel on a 1 in standpipe (invented)."""

STEEPNESS = {"flat": 0.1, "steep": 1.0}
"""Relative fall of the pump's head over relative rise of its flow, at the duty point (invented)."""

SWINGS_M = (0.15, 0.30, 0.60)
SETTING_M = 0.5
OUTLET_M = 1.0
HEAD_LEAST_M = 2.6
DROP_BORE_M = 0.0209
OPENINGS = (0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.8, 1.0)
LOSSES = (30000.0, 5000.0, 1500.0, 350.0, 120.0, 17.3, 1.56, 0.05)
SPEED_M_S = 1.1
_CURVE = np.linspace(0.0, 1.4, 29)


@dataclass(frozen=True)
class System:
    """One invented system.

    Attributes:
        beds: number of beds.
        swing_m: how far the sump falls from all beds drained to all beds full.
        pump: flat or steep.
        inflow_l_min: what the valves are meant to be set to.
        spread: greatest relative error of a setting; errors are uniform between plus and minus it.
        seed: draw of the errors.
    """

    beds: int = 24
    swing_m: float = 0.30
    pump: str = "flat"
    inflow_l_min: float = 12.0
    spread: float = 0.0
    seed: int = 0

    @property
    def errors(self) -> np.ndarray:
        """Relative error of each bed's setting, its mean taken off."""
        drawn = np.random.default_rng([self.seed, 7]).uniform(-1.0, 1.0, self.beds)
        return self.spread * (drawn - drawn.mean())

    @property
    def inflow_m3_s(self) -> float:
        """The inflow meant."""
        return self.inflow_l_min / 60_000.0


def design_of(system: System) -> Design:
    """Return a system as a design complete enough to simulate: no prices, no return pipe."""
    inflows = (system.inflow_m3_s * (1.0 + system.errors)).tolist()
    same = system.spread == 0.0
    kinds = (
        [_kind("bed", inflows[0])]
        if same
        else [_kind(f"bed_{i}", q) for i, q in enumerate(inflows)]
    )
    total = sum(inflows)
    riser = _stretch("riser", "riser", "pump", "manifold", 2.0, total)
    drops = [
        _stretch(f"drop_{i}", "drop", "manifold", f"bed_{i}", 1.5, q) for i, q in enumerate(inflows)
    ]
    return Design(
        site="Invented system of the in-step study",
        currency="EUR",
        units="metric",
        promise=Promise(2.0, None, "nominal", 0.07, 0.08, 1.5, 20.0, 1.0, 24.0),
        kinds=tuple(kinds),
        beds=tuple(_bed(i, kinds[0 if same else i], drops[i]) for i in range(system.beds)),
        stretches=(riser, *drops),
        pump=_pump(system, total),
        sump=_sump(system, riser.volume_m3 + sum(drop.volume_m3 for drop in drops)),
        costs=(),
        energy_kwh_per_year=0.0,
        energy_price_per_kwh=0.0,
        record=SolveRecord("composed", "optimal", 0, 0.0, 0.0),
    )


def plant(system: System) -> Plant:
    """Return a system made ready to run."""
    return plant_of(design_of(system))


def run(ready: Plant, days: float, start: str | tuple[float, ...], seed: int = 0) -> DayRun:
    """Run a plant for days from a start of its kind; see :class:`optimizer.Scenario`."""
    scenario = Scenario(hours=24.0 * days, start=start, seed=seed, trace_step_s=3600.0)
    return run_plant(ready, scenario)


def draining_shares(ready: Plant) -> np.ndarray:
    """Return the share of its cycle that each bed drains, at the inflow its valve was set to."""
    fill, prime, drain = cycle_parts_s(ready.setting_inflows_m3_s(), ready.beds)
    return np.asarray(drain / (fill + prime + drain))


def _kind(name: str, inflow_m3_s: float) -> BedKind:
    exact = {
        each: Band(value, value, value, "invented")
        for each, value in (("start", BED.start_froude), ("stop", BED.stop_ratio))
    }
    window = Window(BED.start_flow_m3_s, BED.stop_flow_m3_s)
    return BedKind(
        id=name,
        label="Invented bed",
        container="tray",
        medium="gravel",
        stand="bench",
        kit="kit",
        kit_label="Invented siphon",
        length_m=1.5,
        width_m=0.8,
        depth_m=0.32,
        area_m2=BED.area_m2,
        siphon=BED,
        parts=_PARTS,
        start_froude=exact["start"],
        stop_ratio=exact["stop"],
        loss_coefficient=Band(5.0, 5.0, 5.0, "invented"),
        porosity=Band(0.40, 0.40, 0.40, "invented"),
        windows={"nominal": window},
        target=window,
        inflow_m3_s=inflow_m3_s,
        floods_per_hour=BED.floods_per_hour(inflow_m3_s),
        held_m3=BED.held_m3,
        wet_mass_kg=700.0,
        stand_height_m=0.6,
        supports=4,
        load_per_support_n=1716.0,
        floor_pressure_pa=171600.0,
        stand_capacity_kg=900.0,
    )


_PARTS = SiphonParts(
    standpipe="standpipe",
    standpipe_bore_m=BED.bore_m,
    standpipe_length_m=BED.crest_level_m,
    rim_diameter_m=BED.bore_m,
    bell="bell",
    bell_bore_m=0.077,
    bell_height_m=0.28,
    annulus_area_m2=0.0038,
    slot_count=8,
    slot_width_m=0.008,
    slot_height_m=0.03,
    slot_area_m2=0.00192,
    guard="guard",
    guard_bore_m=0.15,
    bulkhead_hole_m=0.0433,
)


def _stretch(
    name: str, kind: str, tail: str, head: str, length_m: float, flow_m3_s: float
) -> BuiltStretch:
    """A drop of one bore, or a riser just wide enough for ``SPEED_M_S``."""
    wide = math.sqrt(4.0 * flow_m3_s / (math.pi * SPEED_M_S))
    bore_m = DROP_BORE_M if kind == "drop" else wide
    fittings = 2.7 if kind == "drop" else 1.5
    return BuiltStretch(
        id=name,
        kind=kind,
        row=None,
        tail=tail,
        head=head,
        points=((0.0, 0.0, 0.0), (0.0, 0.0, length_m)),
        length_m=length_m,
        pipe="pipe",
        nominal="invented",
        bore_m=bore_m,
        roughness_m=1.5e-6,
        rating_pa=1.0e6,
        fittings=(),
        loss_coefficient=fittings,
        flow_m3_s=flow_m3_s,
        loss_m=float(head_loss_m(flow_m3_s, length_m, bore_m, 1.5e-6, 20.0, fittings)),
        volume_m3=math.pi / 4.0 * bore_m**2 * length_m,
        standing=False,
    )


def _bed(number: int, kind: BedKind, drop: BuiltStretch) -> Bed:
    return Bed(
        id=f"bed_{number}",
        row="1",
        kind=kind.id,
        x_m=0.0,
        y_m=1.6 * number,
        along=(1.0, 0.0),
        floor_level_m=0.62,
        outlet_level_m=OUTLET_M,
        drop=drop.id,
        valve="valve",
        valve_label="Invented valve",
        valve_bore_m=DROP_BORE_M,
        valve_openings=OPENINGS,
        valve_losses=LOSSES,
        valve_head_m=1.0,
        valve_opening=0.3,
        bucket_s=0.010 / kind.inflow_m3_s,
    )


def _pump(system: System, total_m3_s: float) -> BuiltPump:
    """A parabola through the duty point with the steepness wanted there."""
    fall = STEEPNESS[system.pump]
    heads = HEAD_LEAST_M * (1.0 + fall / 2.0 * (1.0 - _CURVE**2))
    return BuiltPump(
        id="pump",
        label=f"Invented {system.pump} pump",
        count=1,
        spares=0,
        flows_m3_s=tuple((total_m3_s * _CURVE).tolist()),
        heads_m=tuple(heads.tolist()),
        watts=tuple([60.0] * _CURVE.size),
        submergence_m=0.0,
        duty_flow_m3_s=total_m3_s,
        duty_head_m=HEAD_LEAST_M,
        duty_watts=60.0,
        standing=False,
    )


def _sump(system: System, pipes_m3: float) -> BuiltSump:
    """A sump whose level swings evenly about the level at which the valves are set."""
    area_m2 = system.beds * BED.held_m3 / system.swing_m
    highest_m = SETTING_M + system.swing_m / 2.0
    return BuiltSump(
        id="sump",
        label="Invented sump",
        count=1,
        area_m2=area_m2,
        depth_m=1.5,
        freeboard_m=0.05,
        floor_level_m=-SETTING_M,
        x_m=0.0,
        y_m=0.0,
        setting_m=SETTING_M,
        lowest_m=SETTING_M - system.swing_m / 2.0,
        highest_m=highest_m,
        power_cut_m=highest_m + pipes_m3 / area_m2,
        fill_m3=highest_m * area_m2 + pipes_m3,
        standing=False,
    )
