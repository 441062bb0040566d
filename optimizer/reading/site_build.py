"""From the tables of a site file to a Site. Nothing here can fail: the tables are checked."""

from __future__ import annotations

import math

from optimizer.physics.band import Band
from optimizer.reading import site_models as tables
from optimizer.reading.site_fields import given
from optimizer.reading.site_models_ground import build_ground
from optimizer.reading.site_models_phases import build_phases
from optimizer.reading.site_models_ring import build_header_ring
from optimizer.reading.site_models_standing import StandingTable
from optimizer.reading.site_models_water import (
    build_fish_tank,
    build_header_tank,
    build_returns,
    build_water_loss,
)
from optimizer.reading.site_models_zones import build_zones
from optimizer.records.header_tank import TANK_LEVEL_DRIFT
from optimizer.records.noise import NoiseLimit
from optimizer.records.site import (
    BedType,
    Coefficients,
    Goals,
    Point,
    Purchase,
    Row,
    Site,
    Standing,
    StandingPipe,
    StockPipe,
)
from optimizer.records.standing import ChangeLabour

_LONE_SPACING_M = 1.0  # spacing of a row of one position, which nothing uses


def build_site(table: tables.SiteTable) -> Site:
    """Return the Site that the tables describe."""
    bed_types = tuple(_bed_type(each) for each in table.bed_type)
    every_type = tuple(bed_type.id for bed_type in bed_types)
    fill = table.goal.beds == "all"
    rows = [_row(each, every_type, fill) for each in table.row]
    rows += [_position(each, every_type, fill) for each in table.position]
    return Site(
        name=table.name,
        goals=_goals(table.goal, rows, by_tank=table.header_tank is not None),
        ground=build_ground(table.ground),
        bed_types=bed_types,
        rows=tuple(rows),
        purchase=_purchase(table.buy),
        standing=_standing(table.standing),
        coefficients=_coefficients(table.coefficients),
        returns=build_returns(table.returns),
        water_loss=build_water_loss(table.water_loss),
        fish_tank=build_fish_tank(table.fish_tank),
        header_tank=build_header_tank(table.header_tank),
        zones=build_zones(table.zones),
        phases=build_phases(table.phase),
        header_ring=build_header_ring(table.header_ring),
        noise=_noise(table.noise),
        **given(currency=table.currency, units=table.units),
    )


def _goals(goal: tables.GoalTable, rows: list[Row], *, by_tank: bool) -> Goals:
    """Return the goals. Below a tank no inflow drifts with the sump: less is set aside for it."""
    drift = goal.level_drift
    hours = None if goal.pump_hours is None else goal.pump_hours / 3600.0
    least = sum(row.beds_least for row in rows) if goal.beds == "all" else goal.beds
    return Goals(
        floods_per_hour_least=goal.floods,
        floods_per_hour_most=goal.floods_most,
        beds_least=max(1, least),
        **given(
            growing_area_least_m2=goal.growing_area,
            robustness=goal.robustness,
            planning_years=goal.planning_years,
            discount_rate=goal.discount_rate,
            energy_price_growth=goal.energy_price_growth,
            energy_price_per_kwh=goal.energy_price,
            pump_hours_per_day=hours,
            velocity_limit_m_s=goal.velocity_limit,
            valve_setting_error=goal.valve_setting_error,
            level_drift=TANK_LEVEL_DRIFT if by_tank and drift is None else drift,
            pump_tolerance=goal.pump_tolerance,
            water_temperature_c=goal.water_temperature,
            budget=goal.budget,
        ),
    )


def _bed_type(table: tables.BedTypeTable) -> BedType:
    return BedType(
        id=table.name,
        container=table.container,
        medium=table.medium,
        stand=table.stand,
        kits=tuple(table.kits),
        **given(drain_drop_m=table.drain_drop, crest_below_rim_m=table.crest_below_rim),
    )


def _row(table: tables.RowTable, every_type: tuple[str, ...], fill: bool) -> Row:
    direction, length_m = _direction(table)
    most = table.positions if table.beds_most is None else table.beds_most
    least = table.beds_least
    return Row(
        id=table.name,
        start=table.start,
        direction=direction,
        positions=table.positions,
        spacing_m=table.spacing or _even_spacing_m(length_m, table.positions),
        level_m=table.level,
        bed_types=tuple(table.bed_types or every_type),
        beds_least=least if least is not None else most if fill else table.standing_beds,
        beds_most=most,
        standing_beds=table.standing_beds,
        standing_type=table.standing_type,
    )


def _direction(table: tables.RowTable) -> tuple[Point, float]:
    """Return the unit vector along a row, and its length where an end point says it."""
    word, (x, y) = table.towards
    if word is not None:
        return (x, y), 0.0
    dx, dy = x - table.start[0], y - table.start[1]
    length_m = math.hypot(dx, dy)
    return (dx / length_m, dy / length_m), length_m


def _even_spacing_m(length_m: float, positions: int) -> float:
    return length_m / (positions - 1) if positions > 1 else _LONE_SPACING_M


def _position(table: tables.PositionTable, every_type: tuple[str, ...], fill: bool) -> Row:
    required = fill if table.required is None else table.required
    return Row(
        id=table.name,
        start=table.at,
        direction=tables.COMPASS["east"],
        positions=1,
        spacing_m=_LONE_SPACING_M,
        level_m=table.level,
        bed_types=tuple(table.bed_types or every_type),
        beds_least=1 if required else 0,
        beds_most=1,
        named=True,
    )


def _purchase(buy: tables.BuyTable) -> Purchase:
    return Purchase(
        pipes=tuple(buy.pipes),
        valve_kinds=tuple(buy.valves),
        pumps=tuple(buy.pumps),
        sumps=tuple(buy.sumps),
        **given(
            pipe_series=buy.pipe_series,
            pumps_in_parallel_most=buy.pumps_in_parallel_most,
            spare_pump=buy.spare_pump,
            sumps_most=buy.sumps_most,
            non_return_valve=buy.non_return_valve,
            pipe_sizes_most=buy.pipe_sizes_most,
            two_sizes_on_a_stretch=buy.two_sizes_on_a_stretch,
        ),
    )


def _noise(table: tables.NoiseTable | None) -> NoiseLimit | None:
    return None if table is None else NoiseLimit(table.louder_than, table.hours_most / 3600.0)


def _standing(standing: StandingTable) -> Standing:
    pump, sump = standing.pump, standing.sump
    return Standing(
        pump=None if pump is None else pump.part,
        pump_count=0 if pump is None else pump.count,
        sump=None if sump is None else sump.part,
        sump_count=0 if sump is None else sump.count,
        pipes=tuple(StandingPipe(each.run, each.size) for each in standing.pipe),
        stock=tuple(StockPipe(each.size, each.length, each.series) for each in standing.stock),
        labour=ChangeLabour(
            pipe_per_m=standing.labour.supply_per_metre,
            siphon=standing.labour.siphon,
            valve=standing.labour.valve,
            pump=standing.labour.pump,
            sump=standing.labour.sump,
            return_per_m=standing.labour.return_per_metre,
            standpipe=standing.labour.standpipe,
        ),
        standpipe_least_m=standing.standpipe_least,
    )


def _coefficients(table: tables.CoefficientsTable) -> Coefficients:
    return Coefficients(
        start_froude=band_of(table.start_froude),
        stop_ratio=band_of(table.stop_ratio),
        turn_loss=band_of(table.turn_loss),
        porosity=band_of(table.porosity),
    )


def band_of(table: tables.CoefficientTable | None) -> Band | None:
    """Return the band that a coefficient's table tells; ends left out are its value."""
    if table is None:
        return None
    low = table.value if table.low is None else table.low
    high = table.value if table.high is None else table.high
    return Band(table.value, low, high, table.origin)
