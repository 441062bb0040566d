"""Whether a tank that feeds the beds by gravity can stand where and as the site says."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.errors import Problem
from optimizer.reading.review_paths import in_keep_outs, length_text, rows_with_paths, unknown
from optimizer.reading.site_text import KeyLines
from optimizer.records.bed_inlet import INLET_OVER_RIM_M
from optimizer.records.header_tank import HeaderTank
from optimizer.records.parts import Catalog
from optimizer.records.site import Site


def check_tank_part(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """The tank is one of the catalog, and its outlet lies above its floor."""
    tank = site.header_tank
    if tank is None or tank.part is None:
        return []
    if tank.part not in catalog.sumps:
        return unknown(tank.part, catalog.sumps, "tank of sumps.csv", lines, "header_tank", "part")
    sold = catalog.sumps[tank.part]
    water_m = sold.depth_m - sold.freeboard_m
    if tank.outlet_below_water_m <= water_m:
        return []
    depth, most = length_text(tank.outlet_below_water_m, site), length_text(water_m, site)
    what = f"read {depth}, deeper than the water in {tank.part!r}, {most}."
    at = lines.where("header_tank", "outlet_below_water")
    return [Problem(at, what, "Choose a deeper tank or a higher outlet.")]


def check_tank_of_fish(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Without a part it is the fish tank, at the fish tank's level, and its surface is given."""
    tank, fish = site.header_tank, site.fish_tank
    if tank is None or tank.part is not None:
        return []
    if fish is None:
        what = "no part, and no [fish_tank] to take its place."
        fix = "Name a tank of the catalog in part, or add [fish_tank]."
        return [Problem(lines.where("header_tank"), what, fix)]
    return list(_fish_problems(tank, fish.water_level_m, site, lines))


def _fish_problems(
    tank: HeaderTank, level_m: float, site: Site, lines: KeyLines
) -> Iterator[Problem]:
    if tank.surface_m2 is None:
        what = "key missing; expected the area of the fish tank's water."
        yield Problem(lines.where("header_tank", "surface"), what, 'Add surface = "1.2 m2".')
    if tank.water_level_m != level_m:
        levels = f"{length_text(tank.water_level_m, site)} and {length_text(level_m, site)}"
        what = f"one tank at two levels, here and in fish_tank: {levels}."
        fix = "Write the same level, or name a part for a tank of its own."
        yield Problem(lines.where("header_tank", "water_level"), what, fix)


def check_tank_above_beds(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """The tank's water lies above the inlet of some bed type in every row that must hold beds."""
    tank = site.header_tank
    if tank is None:
        return []
    problems: list[Problem] = []
    for row, _ in rows_with_paths(site):
        inlets = [level for name, level in _inlets(site, catalog) if name == row.id]
        if row.beds_least == 0 or not inlets or tank.water_level_m > min(inlets):
            continue
        what = (
            f"its water at level {length_text(tank.water_level_m, site)} is not above the lowest "
            f"inlet that beds in {row.id!r} may have, {length_text(min(inlets), site)}."
        )
        fix = "Raise the tank, or lower the row or its stand."
        problems.append(Problem(lines.where("header_tank", "water_level"), what, fix))
    return problems


def _inlets(site: Site, catalog: Catalog) -> Iterator[tuple[str, float]]:
    """Yield each row with the level of each inlet it may have, where the parts are known."""
    types = {bed_type.id: bed_type for bed_type in site.bed_types}
    for row in site.rows:
        for bed_type in (types[name] for name in row.bed_types if name in types):
            stand = catalog.stands.get(bed_type.stand)
            container = catalog.containers.get(bed_type.container)
            if stand is not None and container is not None:
                rim_m = row.level_m + stand.height_m + container.depth_m
                yield row.id, rim_m + INLET_OVER_RIM_M


def check_tank_outside_keep_outs(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """The tank does not stand where no pipe may run."""
    if site.header_tank is None:
        return []
    return in_keep_outs(site.header_tank.at, site, lines.where("header_tank", "at"))


TANK_CHECKS = (
    check_tank_part,
    check_tank_of_fish,
    check_tank_above_beds,
    check_tank_outside_keep_outs,
)
