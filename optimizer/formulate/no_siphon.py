"""Why no siphon kit serves a bed type, and what each size of standpipe reaches."""

from __future__ import annotations

from dataclasses import replace

from optimizer.errors import Infeasible, Remedy
from optimizer.formulate.bed_kind import fit_bed
from optimizer.formulate.bed_options import BedCandidate, kits_for
from optimizer.formulate.refused_siphons import Refused, most_floods_kept
from optimizer.formulate.siphon_levels import NoSuchSiphon
from optimizer.formulate.siphon_parts import kit_pipe
from optimizer.records.parts import Catalog
from optimizer.records.site import BedType, Site
from optimizer.units_told import told


def require_option_for_every_row(
    site: Site,
    catalog: Catalog,
    candidates: tuple[BedCandidate, ...],
    refused: tuple[Refused, ...],
) -> None:
    """Refuse a site where a row that must hold beds has no bed type with a siphon kit that works.

    A row must hold beds where it says so, or where the others have no room for all that are wanted.

    Raises:
        Infeasible: naming what every kit reaches.
    """
    listed = {c.option.bed_type for c in candidates}
    without = [row for row in site.rows if not listed & set(row.bed_types)]
    room = sum(row.beds_most for row in site.rows if row not in without)
    few = room < site.goals.beds_least
    stuck = without if few else [row for row in without if row.beds_least > 0]
    if stuck or not listed:
        types = sorted({t for row in (stuck or site.rows) for t in row.bed_types} - listed)
        raise _no_siphon(types, refused, site, catalog)


def _no_siphon(
    types: list[str], refused: tuple[Refused, ...], site: Site, catalog: Catalog
) -> Infeasible:
    """Explain that no kit serves some bed types, naming the best kit of each."""
    goals = site.goals
    remedies: list[Remedy] = []
    for name in types:
        pairs = [r for r in refused if r.bed_type == name and r.floods_greatest > 0.0]
        if not pairs:
            whys = "; ".join(sorted({r.why for r in refused if r.bed_type == name}))
            remedies.append(Remedy(f"bed type {name}", f"allow a kit that can be built ({whys})"))
            continue
        best = max(pairs, key=lambda r: (r.floods_kept, r.floods_greatest, r.kit))
        wider = _wider_limit(pairs)
        if best.floods_kept > 0.0 or not wider:
            remedies.append(_remedy(best, site))
        remedies += wider
    wanted = f"{goals.floods_per_hour_least:g} floods an hour"
    if site.zones is not None:
        wanted += f" in {len(site.zones.groups)} zones that flood in turn"
    reached = " ".join(_reached(each, site, catalog) for each in site.bed_types if each.id in types)
    return Infeasible(
        f"{wanted} cannot be had from bed type {', '.join(types)} with any allowed siphon kit, "
        f"keeping {goals.valve_setting_error:.0%} for setting valves, {goals.level_drift:.0%} for "
        f"the sump's level and {goals.robustness!r} robustness. {reached}".rstrip(),
        remedies,
    )


def _reached(bed_type: BedType, site: Site, catalog: Catalog) -> str:
    """Say what each size of standpipe reaches in a bed, the sizes that are not allowed included.

    The sizes are told up to the first that meets the goal.
    """
    container = catalog.containers[bed_type.container]
    area = told(container.length_m * container.width_m, "area", site.units)
    reached: list[str] = []
    by_size = _floods_by_size(bed_type, site, catalog)
    if not any(by_size.values()):
        return ""
    for nominal, floods in by_size.items():
        reached.append(f"{nominal} at most about {_down(floods)}" if floods else f"{nominal} none")
        if floods >= site.goals.floods_per_hour_least:
            break
    return (
        f"Floods an hour that a {area} bed keeps, margins included, by the size of its standpipe: "
        f"{'; '.join(reached)}."
    )


def _floods_by_size(bed_type: BedType, site: Site, catalog: Catalog) -> dict[str, float]:
    """Return nominal standpipe size to the most floods its best kit keeps, narrow to wide."""
    every = kits_for(replace(bed_type, kits=()), site.purchase.pipe_series, catalog)
    kits = {kit.id: kit for kit in every} | {name: catalog.kits[name] for name in bed_type.kits}
    found: dict[str, tuple[float, float]] = {}
    for kit in kits.values():
        try:
            fitted = fit_bed(site, bed_type, kit, catalog)
        except NoSuchSiphon:
            continue
        bore_m, floods = kit_pipe(kit, catalog).bore_m, most_floods_kept(fitted, site.goals)
        _, before = found.get(kit.nominal, (bore_m, 0.0))
        found[kit.nominal] = (bore_m, max(before, floods))
    return {nominal: floods for nominal, (_, floods) in sorted(found.items(), key=lambda f: f[1])}


def _down(floods: float) -> str:
    return f"{int(floods * 10.0 + 1e-9) / 10.0:.1f}"


def _wider_limit(pairs: list[Refused]) -> list[Remedy]:
    """Return how far the limit on floods would have to rise, where that alone helps."""
    helped = [r for r in pairs if r.most_kept > 0.0]
    if not helped:
        return []
    best = min(helped, key=lambda r: (r.most_kept, r.kit))
    change = f"allow up to {best.most_kept:.2f} floods an hour ({best.kit_label})"
    return [Remedy(f"the most floods an hour of bed type {best.bed_type}", change)]


def _remedy(best: Refused, site: Site) -> Remedy:
    starts = told(best.start_flow_m3_s, "flow", site.units)
    kit = f"{best.kit_label}, which starts from about {starts}"
    if best.floods_kept > 0.0:
        change = (
            f"ask at most about {best.floods_kept:.2f} floods an hour ({kit} and without margins "
            f"floods {best.floods_greatest:.2f} times at most), or make the bed smaller"
        )
    else:
        change = (
            f"{kit}, reaches {best.floods_greatest:.2f} floods an hour but {best.why}: "
            f"accept less robustness than {site.goals.robustness!r}, set valves closer, or "
            "calibrate the kit"
        )
    return Remedy(f"bed type {best.bed_type}", change)
