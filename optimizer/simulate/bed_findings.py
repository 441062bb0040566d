"""What simulation says of the promises about each bed and its valve."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.physics.bed import SiphonBed
from optimizer.physics.turn import floods_per_hour_at_most, slowest_bed
from optimizer.physics.window import inflow_window
from optimizer.records.check import BedRun, Finding
from optimizer.records.design import Bed, BedKind, Design, Window
from optimizer.simulate.findings import at_least, at_most, near_share
from optimizer.simulate.in_turn import floods_per_hour
from optimizer.simulate.tolerances import FLOODS_SHARE, INFLOW_SHARE, WINDOW_SHARE
from optimizer.simulate.valves import ValveSetting

LEVELS = ("lowest", "setting", "highest")
_FLOW, _FLOODS, _LENGTH = "m3/s", "1/h", "m"


def kind_findings(design: Design, kind: BedKind) -> Iterator[Finding]:
    """Yield the findings about a kind of bed: levels, load, start-stop window."""
    siphon = kind.siphon
    yield at_most(
        kind.id, "standpipe crest below the rim", kind.depth_m, siphon.crest_level_m, _LENGTH
    )
    yield at_most(
        kind.id, "water at priming below the rim", kind.depth_m, siphon.prime_level_m, _LENGTH
    )
    yield at_most(
        kind.id,
        "drain level below the crest",
        siphon.crest_level_m,
        siphon.drain_level_m,
        _LENGTH,
    )
    yield at_most(
        kind.id, "stand bears the wet bed", kind.stand_capacity_kg, kind.wet_mass_kg, "kg"
    )
    yield from _window_findings(design, kind)
    yield from _target_findings(design, kind)


def _window_findings(design: Design, kind: BedKind) -> Iterator[Finding]:
    """The stated window may be narrower than the physics gives it, not wider."""
    name = design.promise.robustness
    stated, true = kind.windows[name], _true_window(kind, name)
    start, stop = (f"{name} window {end} as the physics gives it" for end in ("start", "stop"))
    yield at_least(kind.id, start, true.low_m3_s, stated.low_m3_s, _FLOW, share=WINDOW_SHARE)
    yield at_most(kind.id, stop, true.high_m3_s, stated.high_m3_s, _FLOW, share=WINDOW_SHARE)


def _true_window(kind: BedKind, robustness: str) -> Window:
    interval = inflow_window(
        kind.siphon, kind.start_froude, kind.stop_ratio, kind.loss_coefficient, robustness
    )
    return Window(*interval) if interval else Window(kind.siphon.start_flow_m3_s, 0.0)


def _target_findings(design: Design, kind: BedKind) -> Iterator[Finding]:
    """At both ends of the stated target the bed floods as often as promised."""
    for end, inflow in (("low", kind.target.low_m3_s), ("high", kind.target.high_m3_s)):
        yield from _floods(design, kind, kind.id, f"at the target's {end} end", inflow)


def bed_findings(
    design: Design, bed: Bed, kind: BedKind, setting: ValveSetting, run: BedRun
) -> Iterator[Finding]:
    """Yield the findings about one bed as it runs at the three levels."""
    yield from _valve_findings(bed, setting)
    water_m, inlet_m = bed.floor_level_m + kind.siphon.prime_level_m, bed.outlet_level_m
    yield at_least(bed.id, "inlet above the bed's highest water", water_m, inlet_m, _LENGTH)
    yield near_share(
        bed.id,
        "inflow at the setting level",
        kind.inflow_m3_s,
        run.inflow_m3_s[1],
        _FLOW,
        share=INFLOW_SHARE,
    )
    yield from _inflow_findings(design, bed, kind, run)
    yield _drift_finding(design, bed, run)
    for level, inflow in zip(LEVELS, run.inflow_m3_s, strict=True):
        yield from _floods(design, kind, bed.id, f"at the {level} level", inflow)


def _valve_findings(bed: Bed, setting: ValveSetting) -> Iterator[Finding]:
    wanted, shut, wide = setting.wanted_loss, bed.valve_losses[0], bed.valve_losses[-1]
    yield at_least(bed.id, "head left for the fully open valve", wide, wanted, "K")
    yield at_most(bed.id, "valve throttles within its table", shut, wanted, "K")


def _inflow_findings(design: Design, bed: Bed, kind: BedKind, run: BedRun) -> Iterator[Finding]:
    """The lowest and highest inflow, widened by the error of setting a valve."""
    error = design.promise.valve_setting_error
    low, high = run.inflow_m3_s[0] * (1.0 - error), run.inflow_m3_s[2] * (1.0 + error)
    window, target = kind.windows[design.promise.robustness], kind.target
    least, most = "least inflow with setting error", "greatest inflow with setting error"
    yield at_least(bed.id, f"{least} starts the siphon", window.low_m3_s, low, _FLOW)
    yield at_least(bed.id, f"{least} meets the flood goal", target.low_m3_s, low, _FLOW)
    yield at_most(bed.id, f"{most} lets the siphon stop", window.high_m3_s, high, _FLOW)
    yield at_most(bed.id, f"{most} meets the flood goal", target.high_m3_s, high, _FLOW)


def _drift_finding(design: Design, bed: Bed, run: BedRun) -> Finding:
    low, middle, high = run.inflow_m3_s
    drift = max(high - middle, middle - low) / middle if middle > 0.0 else 1.0
    limit = design.promise.level_drift
    return at_most(bed.id, "inflow's drift with the sump level", limit, drift, "share")


def _floods(
    design: Design, kind: BedKind, subject: str, when: str, inflow_m3_s: float
) -> Iterator[Finding]:
    inflow, promise, siphon = max(0.0, inflow_m3_s), design.promise, _held_to(design, kind)
    floods = floods_per_hour(design, siphon, inflow)
    least, most = promise.floods_per_hour_least, promise.floods_per_hour_most
    yield at_least(subject, f"floods an hour {when}", least, floods, _FLOODS, share=FLOODS_SHARE)
    if most is not None:
        if design.zones is not None:
            floods = floods_per_hour_at_most(kind.siphon, inflow, design.zones.turn)
        yield at_most(
            subject, f"floods an hour not above {when}", most, floods, _FLOODS, share=FLOODS_SHARE
        )


def _held_to(design: Design, kind: BedKind) -> SiphonBed:
    """Return the siphon held to the flood goal: in turns, the slowest that its bands allow."""
    if design.zones is None:
        return kind.siphon
    bands = kind.start_froude, kind.loss_coefficient, kind.porosity
    return slowest_bed(kind.siphon, *bands, design.promise.robustness)
