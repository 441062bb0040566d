"""A case written as a site file, so that a site made in code can be kept, read and designed.

Every key is written, defaults too. Order of rows and named positions may change: a file has the
rows first.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import fields

from optimizer.physics.band import Band
from optimizer.records.parts import Catalog
from optimizer.records.site import Row, Site
from tests.builders.case import Case

WORDS = {(1.0, 0.0): "east", (0.0, 1.0): "north", (-1.0, 0.0): "west", (0.0, -1.0): "south"}


def site_toml(case: Case) -> str:
    """The text of a site file."""
    site, catalog = case.site, case.catalog
    blocks = [
        {"name": site.name, "currency": site.currency, "units": site.units},
        *_tables(site, catalog),
        *(("[price]", {"part": part, "price": price}) for part, price in case.prices.items()),
    ]
    return "\n".join(_text(block) for block in blocks)


def _text(block: Mapping[str, object] | tuple[str, Mapping[str, object]]) -> str:
    name, keys = block if isinstance(block, tuple) else ("", block)
    lines = [f"[{name}]"] if name else []
    lines += [f"{key} = {_value(value)}" for key, value in keys.items() if value is not None]
    return "\n".join(lines) + "\n"


def _value(value: object) -> str:
    if isinstance(value, Mapping):
        inside = ", ".join(f"{k} = {_value(v)}" for k, v in value.items() if v is not None)
        return f"{{ {inside} }}"
    if isinstance(value, (tuple, list)):
        return f"[{', '.join(_value(each) for each in value)}]"
    return json.dumps(value)


def _m(metres: float) -> str:
    return f"{metres!r} m"


def _at(point: tuple[float, float]) -> list[str]:
    return [_m(point[0]), _m(point[1])]


def _tables(site: Site, catalog: Catalog) -> Iterator[tuple[str, Mapping[str, object]]]:
    yield "goal", _goal(site)
    yield from _ground(site)
    for each in site.bed_types:
        yield "[bed_type]", {
            "name": each.id, "container": each.container, "medium": each.medium,
            "stand": each.stand, "kits": each.kits, "drain_drop": _m(each.drain_drop_m),
            "crest_below_rim": _m(each.crest_below_rim_m),
        }  # fmt: skip
    for row in site.rows:
        yield ("[position]", _position(row)) if row.named else ("[row]", _row(row))
    yield "buy", _buy(site, catalog)
    yield from _standing(site, catalog)
    yield from _water(site, catalog)
    if site.noise is not None:
        yield (
            "noise",
            {
                "louder_than": f"{site.noise.louder_than_db!r} dB",
                "hours_most": f"{site.noise.hours_per_day_most!r} h",
            },
        )
    bands = [(f.name, getattr(site.coefficients, f.name)) for f in fields(site.coefficients)]
    if any(band is not None for _, band in bands):
        yield "coefficients", {name: _band(band) for name, band in bands if band is not None}


def _goal(site: Site) -> Mapping[str, object]:
    g = site.goals
    most = g.floods_per_hour_most
    return {
        "floods": f"{g.floods_per_hour_least!r} per hour",
        "floods_most": None if most is None else f"{most!r} per hour",
        "beds": g.beds_least, "growing_area": f"{g.growing_area_least_m2!r} m2",
        "robustness": g.robustness, "planning_years": g.planning_years,
        "discount_rate": repr(g.discount_rate),
        "energy_price": f"{g.energy_price_per_kwh!r} per kWh",
        "energy_price_growth": repr(g.energy_price_growth),
        "pump_hours": f"{g.pump_hours_per_day!r} h",
        "water_temperature": f"{g.water_temperature_c!r} C",
        "velocity_limit": f"{g.velocity_limit_m_s!r} m/s",
        "valve_setting_error": repr(g.valve_setting_error), "level_drift": repr(g.level_drift),
        "pump_tolerance": repr(g.pump_tolerance), "budget": g.budget,
    }  # fmt: skip


def _ground(site: Site) -> Iterator[tuple[str, Mapping[str, object]]]:
    ground, (x, y) = site.ground, site.ground.sump
    sump = {"x": _m(x), "y": _m(y), "floor_level": _m(ground.sump_floor_level_m)}
    yield "ground", {
        "sump": None if ground.sump_places else sump,
        "header_fed": ground.header_fed, "pipe_height": _m(ground.pipe_height_m),
    }  # fmt: skip
    for place in ground.sump_places:
        x, y = place.at
        yield "[ground.sump_place]", {
            "name": place.name, "x": _m(x), "y": _m(y), "floor_level": _m(place.floor_level_m)
        }  # fmt: skip
    for each in ground.corridors:
        yield "[ground.corridor]", {"name": each.id, "points": [_at(p) for p in each.points]}
    for area in ground.keep_outs:
        yield "[ground.keep_out]", {"name": area.id, "from": _at(area.low), "to": _at(area.high)}


def _row(row: Row) -> Mapping[str, object]:
    x, y = row.start
    far = row.spacing_m * max(1, row.positions - 1)
    end = (x + far * row.direction[0], y + far * row.direction[1])
    return {
        "name": row.id, "start": _at(row.start), "towards": WORDS.get(row.direction, _at(end)),
        "positions": row.positions, "spacing": _m(row.spacing_m), "level": _m(row.level_m),
        "bed_types": row.bed_types, "beds_least": row.beds_least, "beds_most": row.beds_most,
        "standing_beds": row.standing_beds, "standing_type": row.standing_type,
    }  # fmt: skip


def _position(row: Row) -> Mapping[str, object]:
    return {
        "name": row.id, "at": _at(row.start), "level": _m(row.level_m),
        "bed_types": row.bed_types, "required": row.beds_least > 0,
    }  # fmt: skip


def _nominal(pipes: tuple[str, ...], catalog: Catalog) -> list[str]:
    return [catalog.pipes[name].nominal for name in pipes]


def _buy(site: Site, catalog: Catalog) -> Mapping[str, object]:
    buy = site.purchase
    return {
        "pipe_series": buy.pipe_series, "pipes": _nominal(buy.pipes, catalog),
        "valves": buy.valve_kinds, "pumps": buy.pumps, "sumps": buy.sumps,
        "pumps_in_parallel_most": buy.pumps_in_parallel_most, "spare_pump": buy.spare_pump,
        "sumps_most": buy.sumps_most, "non_return_valve": buy.non_return_valve,
        "pipe_sizes_most": buy.pipe_sizes_most,
        "two_sizes_on_a_stretch": buy.two_sizes_on_a_stretch,
    }  # fmt: skip


def _standing(site: Site, catalog: Catalog) -> Iterator[tuple[str, Mapping[str, object]]]:
    there = site.standing
    parts = {"pump": (there.pump, there.pump_count), "sump": (there.sump, there.sump_count)}
    yield (
        "standing",
        {what: {"part": part, "count": count} for what, (part, count) in parts.items() if part},
    )
    for pipe in there.pipes:
        yield "[standing.pipe]", {"run": pipe.run, "size": catalog.pipes[pipe.pipe].nominal}
    for each in there.stock:
        yield (
            "[standing.stock]",
            {
                "size": catalog.pipes[each.pipe].nominal,
                "length": _m(each.length_m),
                "series": each.series,
            },
        )


def _water(site: Site, catalog: Catalog) -> Iterator[tuple[str, Mapping[str, object]]]:
    returns, loss, fish, tank = site.returns, site.water_loss, site.fish_tank, site.header_tank
    yield "returns", {
        "designed": returns.designed, "bursts": returns.bursts, "held": returns.held,
        "confidence": repr(returns.confidence), "fill_limit": repr(returns.fill_limit),
        "manning_n": returns.manning_n, "pipe_series": returns.pipe_series,
        "pipes": _nominal(returns.pipes, catalog),
    }  # fmt: skip
    yield (
        "water_loss",
        {
            "evaporation_per_day": _m(loss.evaporation_m_per_day),
            "top_up_every": f"{loss.top_up_days!r} days",
        },
    )
    if fish is not None:
        yield "fish_tank", {
            "volume": f"{fish.volume_m3!r} m3", "water_level": _m(fish.water_level_m),
            "turnovers": f"{fish.turnovers_per_hour_least!r} per hour",
            "feed_per_day": f"{fish.feed_kg_per_day!r} kg", "crop": fish.crop,
        }  # fmt: skip
    if site.header_ring is not None:
        ring = site.header_ring
        yield "header_ring", {"through": [_at(p) for p in ring.through], "wanted": ring.wanted}
    if tank is not None:
        surface = None if tank.surface_m2 is None else f"{tank.surface_m2!r} m2"
        yield "header_tank", {
            "at": _at(tank.at), "water_level": _m(tank.water_level_m), "part": tank.part,
            "surface": surface, "outlet_below_water": _m(tank.outlet_below_water_m),
        }  # fmt: skip


def _band(band: Band) -> Mapping[str, object]:
    return {"value": band.nominal, "low": band.low, "high": band.high, "from": band.provenance}
