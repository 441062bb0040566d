"""What is wrong with a siphon that works at no inflow: which one size, put right, would do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from optimizer.formulate.bed_kind import fit_bed
from optimizer.formulate.bed_options import kits_for
from optimizer.formulate.inflow_steps import allowed_steps
from optimizer.formulate.siphon_levels import NoSuchSiphon
from optimizer.mend.as_built import AsBuilt, kind_names, standing_siphon
from optimizer.records.parts import Kit
from optimizer.records.standing import StandingSiphon

ANY = "siphon does not suit"


def siphon_cause(built: AsBuilt, bed: str) -> str:
    """Return which size of a bed's siphon is to blame, as one of the causes.

    Each size in turn is put as a design would have it, all else left as it stands. The first that
    makes the siphon work at some inflow is to blame; where none does alone, the siphon as a whole.

    Args:
        built: the system.
        bed: a bed whose siphon works at no inflow, or not at one that its supply could give.
    """
    stands = next(each for each in built.stands.beds if each.bed == bed)
    bed_type = next(t for t in built.site.bed_types if t.id == stands.bed_type)
    there, kit = standing_siphon(stands, bed_type.id), built.catalog.kits[stands.kit]
    depth = built.catalog.containers[bed_type.container].depth_m
    crest = depth - bed_type.crest_below_rim_m
    different = _difference(built, bed, there)
    if different:
        return different
    for cause, put_right in _put_right(there, crest, built):
        if _works(built, bed_type.id, kit, put_right):
            return cause
    for other in kits_for(bed_type, built.site.purchase.pipe_series, built.catalog):
        if _works(built, bed_type.id, other, replace(there, kit=other.id, bell=None, bore_m=None)):
            wider = _bore_m(kit, built, there.bore_m) > _bore_m(other, built)
            return "standpipe too wide" if wider else "standpipe too narrow"
    return ANY


def _difference(built: AsBuilt, bed: str, there: StandingSiphon) -> str:
    """Return in what a siphon differs from that of its bed type's other beds; empty: in nothing."""
    others = kind_names(built.stands)
    like = next((b for b in built.stands.beds if others[b.bed] == there.bed_type), None)
    if like is None or others[bed] == there.bed_type:
        return ""
    if (like.kit, like.bore_m) != (there.kit, there.bore_m):
        own = _bore_m(built.catalog.kits[there.kit], built, there.bore_m)
        usual_bore = _bore_m(built.catalog.kits[like.kit], built, like.bore_m)
        wider, narrower = own > usual_bore, own < usual_bore
        return "standpipe too wide" if wider else "standpipe too narrow" if narrower else ANY
    if (there.crest_level_m or 0.0) != (like.crest_level_m or 0.0):
        kinds = {kind.id: kind for kind in built.design.kinds}
        usual = kinds[there.bed_type].siphon.crest_level_m
        longer = (there.crest_level_m or usual) > usual
        return "standpipe too long" if longer else "standpipe too short"
    return "bell too narrow" if there.bell != like.bell else "bell too low"


def _put_right(
    there: StandingSiphon, crest_m: float, built: AsBuilt
) -> Iterator[tuple[str, StandingSiphon]]:
    if there.bell_height_m is not None:
        yield "bell too low", replace(there, bell_height_m=None)
    if there.crest_level_m is not None and there.crest_level_m != crest_m:
        longer = there.crest_level_m > crest_m
        cause = "standpipe too long" if longer else "standpipe too short"
        yield cause, replace(there, crest_level_m=None)
    if there.bell is not None:
        yield "bell too narrow", replace(there, bell=None)
    if there.drain_level_m is not None:
        yield "bell too low", replace(there, drain_level_m=None)


def _works(built: AsBuilt, bed_type: str, kit: Kit, there: StandingSiphon) -> bool:
    site = built.site
    kind = next(t for t in site.bed_types if t.id == bed_type)
    try:
        fitted = fit_bed(site, kind, kit, built.catalog, there)
    except NoSuchSiphon:
        return False
    return allowed_steps(fitted.settings, fitted.target, site.goals) is not None


def _bore_m(kit: Kit, built: AsBuilt, measured_m: float | None = None) -> float:
    """Return the bore of a standpipe: as measured, else its kit's."""
    if measured_m is not None:
        return measured_m
    bores = {(p.series, p.nominal): p.bore_m for p in built.catalog.pipes.values()}
    return bores[kit.series, kit.nominal]
