"""Whether a bed as described can hold water, drain and be carried."""

from __future__ import annotations

from optimizer.errors import Problem
from optimizer.physics.loads import wet_mass_kg
from optimizer.reading.review_paths import report_units, rows_with_paths
from optimizer.reading.site_text import KeyLines
from optimizer.records.parts import Catalog
from optimizer.records.site import Site
from optimizer.units_format import format_quantity

LEAST_CREST_M = 0.06
"""Least height of a siphon's crest above the floor: slots of 20 mm under a flood of twice that
(assumption; below it no bed floods to any use)."""


def check_crest(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """The siphon's crest lies high enough above the floor for a flood."""
    problems: list[Problem] = []
    for i, bed_type in enumerate(site.bed_types):
        container = catalog.containers.get(bed_type.container)
        if container is None:
            continue
        if container.depth_m - bed_type.crest_below_rim_m < LEAST_CREST_M:
            below = _length(bed_type.crest_below_rim_m, site)
            what = f"crest {below} below the rim of a bed {_length(container.depth_m, site)} deep."
            fix = f"Leave at least {_length(LEAST_CREST_M, site)} above the floor."
            at = lines.where("bed_type", i, "crest_below_rim")
            problems.append(Problem(at, what, fix))
    return problems


def check_loads(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """No flooded bed is heavier than its stand may carry."""
    problems: list[Problem] = []
    for i, bed_type in enumerate(site.bed_types):
        container = catalog.containers.get(bed_type.container)
        medium = catalog.media.get(bed_type.medium)
        stand = catalog.stands.get(bed_type.stand)
        if container is None or medium is None or stand is None:
            continue
        volume_m3 = container.length_m * container.width_m * container.depth_m
        mass_kg = wet_mass_kg(container.empty_mass_kg, volume_m3, medium.wet_density_kg_m3)
        if mass_kg > stand.capacity_kg:
            what = f"a wet bed of {_mass(mass_kg, site)} on a stand for at most " + (
                f"{_mass(stand.capacity_kg, site)}."
            )
            fix = "Choose a stronger stand, a lighter medium or a smaller container."
            problems.append(Problem(lines.where("bed_type", i, "stand"), what, fix))
    return problems


def check_beds_stand_above_the_sump(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Every bed drains: its siphon's outlet lies above the sump's floor."""
    types = {bed_type.id: bed_type for bed_type in site.bed_types}
    problems: list[Problem] = []
    for row, path in rows_with_paths(site):
        for bed_type in (types[name] for name in row.bed_types if name in types):
            stand = catalog.stands.get(bed_type.stand)
            if stand is None:
                continue
            outlet_m = row.level_m + stand.height_m - bed_type.drain_drop_m
            if outlet_m > site.ground.sump_floor_level_m:
                continue
            what = (
                f"beds of type {bed_type.id!r} drain at level {_length(outlet_m, site)}, not "
                + (f"above the sump floor at {_length(site.ground.sump_floor_level_m, site)}.")
            )
            fix = "Raise the row or the stand, lessen drain_drop or lower the sump."
            problems.append(Problem(lines.where(*path, "level"), what, fix))
    return problems


def _length(value_m: float, site: Site) -> str:
    return format_quantity(value_m, "length", report_units(site))


def _mass(value_kg: float, site: Site) -> str:
    return format_quantity(value_kg, "mass", report_units(site), digits=4)


BED_CHECKS = (check_crest, check_loads, check_beds_stand_above_the_sump)
