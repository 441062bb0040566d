"""Where the sizes and bands of the beds read come from: a design, a site, or the file itself."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from optimizer.errors import Problem
from optimizer.formulate.bed_kind import fit_bed
from optimizer.formulate.siphon_levels import NoSuchSiphon
from optimizer.learn.tables import BedTable
from optimizer.physics.band import Band
from optimizer.physics.bed import STOP_RATIO, SiphonBed
from optimizer.physics.siphon import SELF_VENTING_FROUDE
from optimizer.pipeline import read_job
from optimizer.reading.nearest import choose_from
from optimizer.reading.site_text import KeyLines
from optimizer.records.design import Design
from optimizer.records.readings import KindBands, MeasuredBed

UNKNOWN_LOSS = 5.0
"""Loss coefficient of a siphon of which only the sizes are told (assumption, 3.5 to 7).

Around the 4 to 6.6 of published dosing siphons (second hand).
"""

UNKNOWN_POROSITY = 0.40
"""Drainable porosity of a medium that is not named (assumption, 0.30 to 0.52)."""

BARE_BANDS = KindBands(
    Band(SELF_VENTING_FROUDE, 0.20, 0.45, "assumption around the self-venting limit (A1)"),
    Band(STOP_RATIO, 0.60, 0.95, "assumption (A2)"),
    Band(UNKNOWN_LOSS, 3.5, 7.0, "assumption around published dosing siphons (A72)"),
    Band(UNKNOWN_POROSITY, 0.30, 0.52, "assumption over usual media (A73)"),
)
"""What is taken for known of a siphon of which only the sizes are told."""


@dataclass(frozen=True)
class Known:
    """Beds by id, bands by kind, and what was wrong."""

    beds: Mapping[str, MeasuredBed]
    bands: Mapping[str, KindBands]
    problems: tuple[Problem, ...] = ()


def beds_of_design(design: Design, tables: Iterable[BedTable], lines: KeyLines) -> Known:
    """Return a design's beds; sizes in the file, measured as built, take the place of its own."""
    kinds = {kind.id: kind for kind in design.kinds}
    beds = {bed.id: _measured(bed.id, bed.kind, kinds[bed.kind].siphon) for bed in design.beds}
    bands = {
        kind.id: KindBands(
            kind.start_froude,
            kind.stop_ratio,
            kind.loss_coefficient,
            kind.porosity,
            kind.turn_loss,
        )
        for kind in design.kinds
    }
    problems = []
    for index, table in enumerate(tables):
        where = lines.where("bed", index, "name")
        if table.name in beds:
            beds[table.name] = _as_built(beds[table.name], table, where)
        else:
            what = f"the design has no bed {table.name!r}."
            problems.append(Problem(where, what, choose_from(table.name, beds)))
    return Known(beds, bands, tuple(problems))


def beds_of_site(path: Path, tables: Iterable[BedTable], lines: KeyLines) -> Known:
    """Return the beds of the file with the sizes that a site's bed types and kits give them.

    Raises:
        BadInput: if the site file needs mending.
    """
    job = read_job(path)
    types = {each.id: each for each in job.site.bed_types}
    beds: dict[str, MeasuredBed] = {}
    bands: dict[str, KindBands] = {}
    problems = []
    for index, table in enumerate(tables):
        found = _missing_part(table.bed_type, types, "bed_type", index, lines)
        found += _missing_part(table.kit, job.catalog.kits, "kit", index, lines)
        problems += found
        if found:
            continue
        bed_type, kit = types[str(table.bed_type)], job.catalog.kits[str(table.kit)]
        try:
            fitted = fit_bed(job.site, bed_type, kit, job.catalog)
        except NoSuchSiphon as fault:
            where = lines.where("bed", index, "kit")
            problems.append(Problem(where, f"cannot be: {fault}.", "Name another kit."))
            continue
        kind = f"{bed_type.id} with {kit.id}"
        where = lines.where("bed", index)
        bed = _measured(table.name, kind, fitted.bed)
        beds[table.name] = _as_built(bed, table, where)
        losses = fitted.siphon.loss_coefficient
        bands[kind] = KindBands(
            fitted.start_froude, fitted.stop_ratio, losses, fitted.porosity, fitted.turn_loss
        )
    return Known(beds, bands, tuple(problems))


def beds_of_file(tables: Iterable[BedTable], lines: KeyLines) -> Known:
    """Return beds with the sizes that the file tells, and bands that suit any bell siphon."""
    beds: dict[str, MeasuredBed] = {}
    problems = []
    for index, table in enumerate(tables):
        if table.bore is None:
            fix = 'How wide is the standpipe inside? Add bore = "27 mm".'
            problems.append(Problem(lines.where("bed", index), "its bore is missing.", fix))
            continue
        bare = MeasuredBed(table.name, table.kind, table.bore, table.mouth or table.bore)
        first = next((each for each in beds.values() if each.kind == table.kind), bare)
        if (first.bore_m, first.mouth_m) != (bare.bore_m, bare.mouth_m):
            what = f"another siphon than that of bed {first.id!r}, which is of the same kind."
            fix = 'Which bore and mouth are right? If both, give it a kind = "..." of its own.'
            problems.append(Problem(lines.where("bed", index), what, fix))
        beds[table.name] = _as_built(bare, table, lines.where("bed", index))
    return Known(beds, {bed.kind: BARE_BANDS for bed in beds.values()}, tuple(problems))


def _missing_part(
    name: str | None, known: Mapping[str, object], key: str, index: int, lines: KeyLines
) -> list[Problem]:
    if name is not None and name in known:
        return []
    where = lines.where("bed", index, key)
    what = "key missing." if name is None else f"the site has no {name!r}."
    return [Problem(where, what, choose_from(name or "", known))]


def _measured(name: str, kind: str, siphon: SiphonBed) -> MeasuredBed:
    return MeasuredBed(
        id=name,
        kind=kind,
        bore_m=siphon.bore_m,
        mouth_m=siphon.mouth_m,
        area_m2=siphon.area_m2,
        drain_level_m=siphon.drain_level_m,
        crest_level_m=siphon.crest_level_m,
        outlet_level_m=siphon.outlet_level_m,
    )


def _as_built(bed: MeasuredBed, table: BedTable, where: str) -> MeasuredBed:
    given: dict[str, Any] = {
        "bore_m": table.bore,
        "mouth_m": table.mouth,
        "area_m2": table.area,
        "drain_level_m": table.drain_level,
        "crest_level_m": table.crest_level,
        "outlet_level_m": table.outlet_level,
    }
    return replace(bed, where=where, **{k: v for k, v in given.items() if v is not None})
