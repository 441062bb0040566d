"""Checked catalog rows turned into records, in SI."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from optimizer.physics.band import Band
from optimizer.reading.catalog_tables import Entry, Tables
from optimizer.records.parts import (
    Catalog,
    Container,
    Fitting,
    Kit,
    LossCoefficient,
    Medium,
    Pipe,
    Pump,
    Service,
    Stand,
    Sump,
    Timer,
    Valve,
)

MM_PER_M = 1000.0
L_MIN_PER_M3_S = 60_000.0
PA_PER_KPA = 1000.0

Part = TypeVar("Part")
Curve = list[Entry]


def build_catalog(tables: Tables) -> Catalog:
    """Return the catalog of tables that break no rule; parts keep the order of their rows."""
    prices = {(e.text("table"), e.text("part")): e.number("price") for e in tables.of("prices")}

    def of(table: str, build: Callable[[Entry, float], Part]) -> dict[str, Part]:
        rows = ((entry.text("id"), entry) for entry in tables.of(table))
        return {name: build(entry, prices[table, name]) for name, entry in rows}

    openings = _curves(tables, "valve_openings", "kind", "opening_share")
    points = _curves(tables, "pump_points", "pump", "flow_l_min")
    return Catalog(
        pipes=of("pipes", _pipe),
        fittings=of("fittings", _fitting),
        losses={entry.text("id"): _loss(entry) for entry in tables.of("losses")},
        valves=of("valves", lambda e, price: _valve(e, price, openings[e.text("kind")])),
        pumps=of("pumps", lambda e, price: _pump(e, price, points[e.text("id")])),
        containers=of("containers", _container),
        media=of("media", _medium),
        stands=of("stands", _stand),
        kits=of("kits", _kit),
        sumps=of("sumps", _sump),
        services=of("services", _service),
        timers=of("timers", _timer),
    )


def _curves(tables: Tables, table: str, owner: str, along: str) -> dict[str, Curve]:
    curves: dict[str, Curve] = {}
    for entry in sorted(tables.of(table), key=lambda e: e.number(along)):
        curves.setdefault(entry.text(owner), []).append(entry)
    return curves


def _band(entry: Entry, name: str) -> Band:
    low, high = entry.number(f"{name}_low"), entry.number(f"{name}_high")
    return Band(entry.number(name), low, high, entry.text("source"))


def _metres(entry: Entry, column: str) -> float:
    return entry.number(column) / MM_PER_M


def _pipe(entry: Entry, price: float) -> Pipe:
    return Pipe(
        id=entry.text("id"),
        series=entry.text("series"),
        nominal=entry.text("nominal"),
        material=entry.text("material"),
        outside_m=_metres(entry, "outside_mm"),
        wall_m=_metres(entry, "wall_mm"),
        bore_m=_metres(entry, "bore_mm"),
        rating_pa=entry.number("rating_kpa") * PA_PER_KPA,
        roughness_m=_metres(entry, "roughness_mm"),
        stock_length_m=entry.number("stock_length_m"),
        price_per_m=price,
        source=entry.text("source"),
    )


def _fitting(entry: Entry, price: float) -> Fitting:
    return Fitting(
        id=entry.text("id"),
        kind=entry.text("kind"),
        series=entry.text("series"),
        nominal=entry.text("nominal"),
        price=price,
        source=entry.text("source"),
    )


def _loss(entry: Entry) -> LossCoefficient:
    band = _band(entry, "loss_coefficient")
    return LossCoefficient(
        name=entry.text("id"),
        value=band.nominal,
        low=band.low,
        high=band.high,
        standard=entry.text("standard"),
        refers_to=entry.text("refers_to"),
        source=band.provenance,
    )


def _valve(entry: Entry, price: float, curve: Curve) -> Valve:
    return Valve(
        id=entry.text("id"),
        kind=entry.text("kind"),
        series=entry.text("series"),
        nominal=entry.text("nominal"),
        openings=tuple(point.number("opening_share") for point in curve),
        losses=tuple(point.number("loss_coefficient") for point in curve),
        price=price,
        source=entry.text("source"),
    )


def _pump(entry: Entry, price: float, curve: Curve) -> Pump:
    return Pump(
        id=entry.text("id"),
        label=entry.text("label"),
        flows_m3_s=tuple(point.number("flow_l_min") / L_MIN_PER_M3_S for point in curve),
        heads_m=tuple(point.number("head_m") for point in curve),
        watts=tuple(point.number("power_w") for point in curve),
        submergence_m=entry.number("submergence_m"),
        life_years=entry.number("life_years"),
        price=price,
        source=entry.text("source"),
        noise_db=entry.number_or_none("noise_db"),
    )


def _container(entry: Entry, price: float) -> Container:
    return Container(
        id=entry.text("id"),
        label=entry.text("label"),
        length_m=entry.number("length_m"),
        width_m=entry.number("width_m"),
        depth_m=entry.number("depth_m"),
        empty_mass_kg=entry.number("empty_mass_kg"),
        price=price,
        source=entry.text("source"),
    )


def _medium(entry: Entry, price: float) -> Medium:
    return Medium(
        id=entry.text("id"),
        label=entry.text("label"),
        porosity=_band(entry, "porosity"),
        wet_density_kg_m3=entry.number("wet_density_kg_m3"),
        price_per_m3=price,
        source=entry.text("source"),
    )


def _stand(entry: Entry, price: float) -> Stand:
    return Stand(
        id=entry.text("id"),
        label=entry.text("label"),
        height_m=entry.number("height_m"),
        supports=int(entry.number("supports")),
        foot_area_m2=entry.number("foot_area_m2"),
        capacity_kg=entry.number("capacity_kg"),
        price=price,
        source=entry.text("source"),
    )


def _kit(entry: Entry, price: float) -> Kit:
    return Kit(
        id=entry.text("id"),
        label=entry.text("label"),
        style=entry.text("style"),
        series=entry.text("series"),
        nominal=entry.text("nominal"),
        bulkhead_hole_m=_metres(entry, "bulkhead_hole_mm"),
        mouth_ratio=entry.number("mouth_ratio"),
        start_froude=_band(entry, "start_froude"),
        stop_ratio=_band(entry, "stop_ratio"),
        turn_loss=_band(entry, "turn_loss_coefficient"),
        price=price,
        source=entry.text("source"),
    )


def _sump(entry: Entry, price: float) -> Sump:
    return Sump(
        id=entry.text("id"),
        label=entry.text("label"),
        area_m2=entry.number("area_m2"),
        depth_m=entry.number("depth_m"),
        freeboard_m=entry.number("freeboard_m"),
        price=price,
        source=entry.text("source"),
    )


def _service(entry: Entry, price: float) -> Service:
    return Service(
        id=entry.text("id"),
        label=entry.text("label"),
        per=entry.text("per"),
        price=price,
        source=entry.text("source"),
    )


def _timer(entry: Entry, price: float) -> Timer:
    return Timer(
        id=entry.text("id"),
        label=entry.text("label"),
        stations=int(entry.number("stations")),
        price=price,
        source=entry.text("source"),
    )
