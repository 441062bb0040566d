"""Whether a bed as described can hold water, drain and be carried."""

from __future__ import annotations

from optimizer.errors import Problem
from optimizer.physics.loads import wet_mass_kg
from optimizer.reading.review_paths import length_text, report_units, rows_with_paths
from optimizer.reading.review_plant import least_submergence_m
from optimizer.reading.site_text import KeyLines
from optimizer.records.parts import Catalog
from optimizer.records.site import Site
from optimizer.units_format import format_quantity

LEAST_CREST_M = 0.06
"""Least height of a siphon's crest above the floor: slots of 20 mm under a flood of twice that
(assumption; below it no bed floods to any use)."""


def check_crest(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """The siphon's crest lies below the rim, and high enough above the floor for a flood."""
    problems: list[Problem] = []
    for i, bed_type in enumerate(site.bed_types):
        at = lines.where("bed_type", i, "crest_below_rim")
        container = catalog.containers.get(bed_type.container)
        below_m = bed_type.crest_below_rim_m
        if below_m <= 0.0:
            what = "the crest is not below the rim: the bed would spill before its siphon starts."
            problems.append(Problem(at, what, "Give a crest below the rim."))
        elif container is not None and container.depth_m - below_m < LEAST_CREST_M:
            deep = length_text(container.depth_m, site)
            what = f"crest {length_text(below_m, site)} below the rim of a bed {deep} deep."
            fix = f"Leave at least {length_text(LEAST_CREST_M, site)} above the floor."
            problems.append(Problem(at, what, fix))
    return problems


def check_outlet_below_floor(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """No siphon's outlet lies above the floor of its bed."""
    return [
        Problem(
            lines.where("bed_type", i, "drain_drop"),
            f"outlet {length_text(-bed_type.drain_drop_m, site)} above the floor of its bed.",
            "Give the distance downward from the floor, 0 or more.",
        )
        for i, bed_type in enumerate(site.bed_types)
        if bed_type.drain_drop_m < 0.0
    ]


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


def check_drains_run_downhill(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Every bed drains: its siphon's outlet lies above the lowest water the sump can hold."""
    types = {bed_type.id: bed_type for bed_type in site.bed_types}
    lowest_m = site.ground.sump_floor_level_m + least_submergence_m(site, catalog)
    problems: list[Problem] = []
    for row, path in rows_with_paths(site):
        for bed_type in (types[name] for name in row.bed_types if name in types):
            stand = catalog.stands.get(bed_type.stand)
            if stand is None:
                continue
            outlet_m = row.level_m + stand.height_m - bed_type.drain_drop_m
            if outlet_m > lowest_m:
                continue
            what = (
                f"{row.id!r}: drain would run uphill. Beds of type {bed_type.id!r} drain at level "
                f"{length_text(outlet_m, site)}, not above the lowest water in the sump at "
                f"{length_text(lowest_m, site)}."
            )
            fix = "Raise the row or the stand, lessen drain_drop or lower the sump."
            problems.append(Problem(lines.where(*path, "level"), what, fix))
    return problems


def _mass(value_kg: float, site: Site) -> str:
    return format_quantity(value_kg, "mass", report_units(site), digits=4)


BED_CHECKS = (check_crest, check_outlet_below_floor, check_loads, check_drains_run_downhill)
