"""The page's tables of pump, sump and fish tank."""

from __future__ import annotations

from optimizer.records.check import CheckReport
from optimizer.records.design import Design
from optimizer.records.fish_tank import BuiltFishTank
from optimizer.records.header_tank import BuiltTank
from optimizer.report.charts.pump import duty_frame
from optimizer.report.scales import Reader, rounded
from optimizer.report.text_table import Table, make_table

HELD = {"worst": "all beds full", "quantile": "beds as full as the site's confidence asks"}
"""What the beds hold when the sump stands lowest, by the rule it was sized by."""


def lowest_when(design: Design) -> str:
    """Return what the beds hold when the sump stands at its lowest level."""
    return HELD[design.promise.held]


def setting_level(design: Design) -> str:
    """Return the level above the sump's floor at which valves are set."""
    return Reader(design.units).level(design.sump.setting_m)


def setting_state(design: Design) -> str:
    """Return how the system must stand while valves are set, to be said after ``with``."""
    state = "the tank over the beds overflowing"
    if not design.tank:
        state = f"the sump at {setting_level(design)} above its floor"
    zoned = ", the timed valves of its own zone open and all others shut" if design.zones else ""
    return state + zoned


def duty_table(design: Design, check: CheckReport) -> Table:
    """The pump's three duty points."""
    reader = Reader(design.units)
    rows = (
        (
            r["level"],
            reader.text("flow", r["flow_m3_s"]),
            reader.text("length", r["head_m"]),
            reader.text("power", r["watts"]),
        )
        for r in duty_frame(check).to_dict("records")
    )
    return make_table(
        "The pump at the sump's levels", "sump|flow|head|draws", rows, "flow|head|draws"
    )


def sump_table(design: Design) -> Table:
    """The sump's levels above its floor."""
    reader, sump = Reader(design.units), design.sump
    rows = (
        ("tank", f"{sump.count} x {sump.label}"),
        ("filled with, in all", reader.text("volume", sump.fill_m3)),
        ("water lost between top-ups", reader.text("volume", sump.lost_m3)),
        (f"lowest level, {lowest_when(design)} before topping up", reader.level(sump.lowest_m)),
        ("level at which to set the valves", setting_level(design)),
        ("highest level, all beds drained", reader.level(sump.highest_m)),
        (_power_cut_words(design), reader.level(sump.power_cut_m)),
        ("rim of the tank, less the part kept dry", reader.level(sump.depth_m - sump.freeboard_m)),
    )
    return make_table("The sump, levels above its floor", "level|value", rows)


def _power_cut_words(design: Design) -> str:
    emptied = "pipes drained back" if design.tank is None else "pipes and tank run down"
    return f"after a power cut, {emptied} too"


def tank_table(design: Design) -> Table | None:
    """The tank that feeds the beds; None where the pump feeds them directly."""
    reader, tank = Reader(design.units), design.tank
    if tank is None:
        return None
    beds = sum(s.flow_m3_s for s in design.stretches if s.kind == "drop")
    overflow = f"{tank.overflow_nominal}, {reader.text('length', tank.overflow_length_m)}"
    rows = (
        ("tank", tank.label),
        ("its water, from the site's datum", reader.level(tank.water_level_m)),
        ("upper edge of its outlet", reader.level(tank.outlet_level_m)),
        ("end of the riser, over the water", reader.level(tank.inlet_level_m)),
        ("pump brings, sump lowest to highest", _brought(tank, reader)),
        ("beds take", reader.text("flow", beds)),
        ("overflow pipe, back to the sump", overflow),
        ("water in it", reader.text("volume", tank.water_m3)),
        ("of that runs down in a power cut", reader.text("volume", tank.above_outlet_m3)),
    )
    return make_table("The tank over the beds", "fact|value", rows)


def _brought(tank: BuiltTank, reader: Reader) -> str:
    low, _, high = tank.pump_flow_m3_s
    return reader.span("flow", low, high)


def fish_table(fish: BuiltFishTank, units: str) -> Table:
    """The fish tank."""
    reader = Reader(units)
    low, high = fish.feed_supported_kg_per_day
    rows = (
        ("water", reader.text("volume", fish.volume_m3)),
        ("its surface, from the site's datum", reader.level(fish.water_level_m)),
        (
            "turned over by the pumped flow",
            f"{rounded(fish.turnovers_per_hour)} times an hour, "
            f"at least {rounded(fish.turnovers_per_hour_least)} asked for",
        ),
        ("feed a day", reader.text("mass", fish.feed_kg_per_day)),
        (f"feed the beds take up, {fish.crop} crops", reader.span("mass", low, high)),
    )
    return make_table("The fish tank", "fact|value", rows)
