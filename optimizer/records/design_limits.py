"""Whether the figures of a design can be: beds there, sizes above 0, curves and tables in order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import fields, is_dataclass
from typing import TypeVar

from optimizer.errors import BadInput, Problem
from optimizer.physics.fish import FEED_KG_PER_M2_DAY
from optimizer.physics.friction import ROUGHEST
from optimizer.physics.pump import PumpCurve
from optimizer.physics.valve import opening_for_loss
from optimizer.physics.water import COLDEST_C, HOTTEST_C
from optimizer.physics.window import ROBUSTNESS
from optimizer.records.design import Bed, BuiltDrain, BuiltPump, Design
from optimizer.records.design_references import reference_problems
from optimizer.records.zones import BuiltZones

Part = TypeVar("Part")

ABOVE_ZERO = frozenset(
    {
        "area_m2",
        "bore_m",
        "bucket_s",
        "count",
        "depth_m",
        "floods_per_hour_least",
        "inflow_m3_s",
        "length_m",
        "manning_n",
        "overflow_bore_m",
        "overflow_length_m",
        "overflow_manning_n",
        "pipe_sizes_most",
        "pump_hours_per_day",
        "rim_discharge",
        "supports",
        "valve_bore_m",
        "velocity_limit_m_s",
        "width_m",
    }
)
"""Fields that must be above 0 wherever they stand."""

NOT_BELOW_ZERO = frozenset(
    {
        "above_outlet_m3",
        "budget_cents",
        "bursts_m3_s",
        "capacity_m3_s",
        "cost_cents",
        "drain_back_share",
        "duty_flow_m3_s",
        "duty_watts",
        "energy_kwh_per_year",
        "energy_price_per_kwh",
        "feed_kg_per_day",
        "feed_supported_kg_per_day",
        "fill_m3",
        "flow_m3_s",
        "freeboard_m",
        "held_m3",
        "hours_per_day_most",
        "level_drift",
        "loss_coefficient",
        "lost_m3",
        "overflow_m3_s",
        "pump_tolerance",
        "rating_pa",
        "roughness_m",
        "spares",
        "turnovers_per_hour",
        "turnovers_per_hour_least",
        "valve_setting_error",
        "volume_m3",
        "water_m3",
        "wet_mass_kg",
    }
)
"""Fields that must not be below 0 wherever they stand."""


MAY_BE_ZERO = frozenset({(BuiltDrain, "length_m")})
"""A stretch of return pipe that drops straight into the sump has no length in plan."""

BURSTS = ("all", "binomial")
HELD = ("worst", "quantile")
UNITS = ("metric", "us")

GREATEST = 1e9
"""No figure of a design, money apart, lies as far from 0 as this; what does is a slip."""

SHORTEST_TURN_S = 1.0
"""No timed valve moves in less; a day of shorter turns could not be run."""

LEAST = 1e-9
"""No figure that must be above 0 lies as near to it as this."""


def require_design(design: Design) -> None:
    """Refuse a design whose parts do not fit one another or whose figures cannot be.

    Raises:
        BadInput: with every fault.
    """
    problems = reference_problems(design) + limit_problems(design)
    if problems:
        raise BadInput(problems)


def limit_problems(design: Design) -> list[Problem]:
    """Return every figure of a design that cannot be; empty if none.

    Args:
        design: any design, for example one just read from a file.
    """
    return [
        *_no_beds(design),
        *_signs("", "", design),
        *_word("units", design.units, UNITS),
        *_promise_problems(design),
        *_band_problems(design),
        *_curve_problems(design),
        *_route_problems(design),
        *_drain_problems(design),
        *_fish_problems(design),
        *_turn_problems(design),
    ]


def _no_beds(design: Design) -> Iterator[Problem]:
    if not design.beds:
        yield Problem("beds", "There are none.", "Design the site again: it has a bed at least.")


def _signs(where: str, name: str, value: object) -> Iterator[Problem]:
    """Walk a value and all below it; ``where`` reads as in the file, ``name`` is its field."""
    if isinstance(value, tuple):
        for i, each in enumerate(value):
            yield from _signs(f"{where}[{i}]", name, each)
    elif is_dataclass(value):
        for field in fields(value):
            path = f"{where}.{field.name}".lstrip(".")
            name = "" if (type(value), field.name) in MAY_BE_ZERO else field.name
            yield from _signs(path, name, getattr(value, field.name))
    elif isinstance(value, dict):
        for key, each in value.items():
            yield from _signs(f"{where}.{key}", name, each)
    elif isinstance(value, int | float):
        yield from _sign(where, name, value)


def _sign(where: str, name: str, value: float) -> Iterator[Problem]:
    if name in ABOVE_ZERO and not value > LEAST:
        yield Problem(where, f"It is {value}.", "Give a number well above 0.")
    elif name in NOT_BELOW_ZERO and value < 0:
        yield Problem(where, f"It is {value}.", "Give 0 or more.")
    elif not name.endswith("cents") and abs(value) > GREATEST:
        yield Problem(where, f"It is {value}.", "Give a figure in the unit that the key names.")


def _band_problems(design: Design) -> Iterator[Problem]:
    for i, kind in enumerate(design.kinds):
        bands = {"start_froude": kind.start_froude, "loss_coefficient": kind.loss_coefficient}
        for name, band in {**bands, "stop_ratio": kind.stop_ratio}.items():
            if not band.low > LEAST:
                fix = "Give a number well above 0."
                yield Problem(f"kinds[{i}].{name}.low", f"It is {band.low}.", fix)
        if kind.stop_ratio.high > 1.0:
            what = f"It is {kind.stop_ratio.high}."
            yield Problem(f"kinds[{i}].stop_ratio.high", what, "Give 1 or less.")


def _promise_problems(design: Design) -> Iterator[Problem]:
    promise = design.promise
    yield from _word("promise.robustness", promise.robustness, ROBUSTNESS)
    yield from _word("promise.bursts", promise.bursts, BURSTS)
    yield from _word("promise.held", promise.held, HELD)
    yield from _share("promise.confidence", promise.confidence)
    if promise.pump_tolerance >= 1.0:
        what = f"It is {promise.pump_tolerance}."
        yield Problem("promise.pump_tolerance", what, "Give a share of the pump's head, below 1.")
    if not COLDEST_C <= promise.water_temperature_c <= HOTTEST_C:
        what = f"It is {promise.water_temperature_c}."
        fix = f"Give a temperature from {COLDEST_C:g} to {HOTTEST_C:g} degrees Celsius."
        yield Problem("promise.water_temperature_c", what, fix)


def _curve_problems(design: Design) -> Iterator[Problem]:
    pump = design.pump
    if pump.count >= 1:
        yield from _refused("pump", _pump_at_rest, design.pump)
    if not pump.watts:
        yield Problem("pump.watts", "There are none.", "Give the watts at each flow.")
    for i, bed in enumerate(design.beds):
        yield from _refused(f"beds[{i}].valve_losses", _wide_open, bed)


def _pump_at_rest(pump: BuiltPump) -> float:
    return PumpCurve(pump.flows_m3_s, pump.heads_m, pump.watts, pump.count).shut_off_m


def _wide_open(bed: Bed) -> float:
    if not bed.valve_losses:
        raise ValueError("a valve table needs at least two openings and as many losses")
    return opening_for_loss(bed.valve_losses[-1], bed.valve_openings, bed.valve_losses)


def _refused(where: str, make: Callable[[Part], float], part: Part) -> Iterator[Problem]:
    try:
        make(part)
    except ValueError as fault:
        yield Problem(where, f"{fault}.", "Mend the table.")


def _route_problems(design: Design) -> Iterator[Problem]:
    for i, stretch in enumerate(design.stretches):
        if stretch.roughness_m > ROUGHEST * stretch.bore_m:
            what = f"It is {stretch.roughness_m}, over a tenth of the bore."
            yield Problem(f"stretches[{i}].roughness_m", what, "Give the height of roughness.")
        if not stretch.points:
            what = "There are none."
            yield Problem(f"stretches[{i}].points", what, "Give the pipe's route.")


def _drain_problems(design: Design) -> Iterator[Problem]:
    for i, drain in enumerate(design.drains):
        where = f"drains[{i}]"
        yield from _share(f"{where}.fill_limit", drain.fill_limit)
        if drain.length_m < 0.0:
            yield Problem(f"{where}.length_m", f"It is {drain.length_m}.", "Give 0 or more.")
        if not drain.points:
            yield Problem(f"{where}.points", "There are none.", "Give the pipe's route.")


def _fish_problems(design: Design) -> Iterator[Problem]:
    if design.fish is None:
        return
    yield from _word("fish.crop", design.fish.crop, tuple(FEED_KG_PER_M2_DAY))
    if not design.fish.volume_m3 > LEAST:
        what = f"It is {design.fish.volume_m3}."
        yield Problem("fish.volume_m3", what, "Give a number well above 0.")


def _turn_problems(design: Design) -> Iterator[Problem]:
    if design.zones is None:
        return
    yield from _refused("zones", _open_s, design.zones)
    if design.zones.turn_s < SHORTEST_TURN_S:
        what = f"It is {design.zones.turn_s}."
        yield Problem("zones.turn_s", what, f"Give {SHORTEST_TURN_S:g} s or more.")


def _open_s(zones: BuiltZones) -> float:
    return zones.turn.open_s


def _word(where: str, read: str, known: Sequence[str]) -> Iterator[Problem]:
    if read not in known:
        yield Problem(where, f"It is {read!r}.", f"Give one of {', '.join(known)}.")


def _share(where: str, read: float) -> Iterator[Problem]:
    if not 0.0 < read <= 1.0:
        yield Problem(where, f"It is {read}.", "Give a number above 0 and up to 1.")
