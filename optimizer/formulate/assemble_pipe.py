"""A stretch of supply pipe as built, from the stretch, the way it is laid and what it carries."""

from __future__ import annotations

from optimizer.formulate.stretch_ways import BuildWay, fittings_loss
from optimizer.records.design import BuiltFitting, BuiltStretch
from optimizer.records.network import Point3, Stretch
from optimizer.records.parts import Catalog
from optimizer.records.shelf import CountedPart


def built_stretch(
    stretch: Stretch,
    way: BuildWay,
    catalog: Catalog,
    *,
    head: str,
    points: tuple[Point3, ...],
    length_m: float,
    flow_m3_s: float,
    loss_m: float,
    volume_m3: float,
    parts: tuple[CountedPart, ...],
) -> BuiltStretch:
    """Return a stretch as built.

    Args:
        stretch: the stretch.
        way: its pipe, and whether that stands.
        catalog: the parts.
        head: the node it ends at, as a design names it.
        points: its route.
        length_m: its length.
        flow_m3_s: what it carries.
        loss_m: the head it loses.
        volume_m3: the water it holds.
        parts: the fittings that its bill counts; left out where the pipe stands.
    """
    pipe = way.pipe
    return BuiltStretch(
        id=stretch.id,
        kind=stretch.kind,
        row=stretch.row,
        tail=stretch.tail,
        head=head,
        points=points,
        length_m=length_m,
        pipe=pipe.id,
        nominal=pipe.nominal,
        bore_m=pipe.bore_m,
        roughness_m=pipe.roughness_m,
        rating_pa=pipe.rating_pa,
        fittings=tuple(
            BuiltFitting(name, count, catalog.losses[name].value)
            for name, count in stretch.fittings
        ),
        loss_coefficient=fittings_loss(stretch, catalog),
        flow_m3_s=flow_m3_s,
        loss_m=loss_m,
        volume_m3=volume_m3,
        standing=way.standing,
        material=pipe.material,
        parts=() if way.standing else parts,
    )
