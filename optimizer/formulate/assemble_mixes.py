"""Stretches of two sizes as laid: a wider piece, then a narrower one behind a reducer."""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise

from optimizer.formulate.bill import LaidStretch
from optimizer.formulate.mix_tables import with_reducer
from optimizer.formulate.stretch_ways import BuildWay
from optimizer.records.mixes import Mix
from optimizer.records.network import Point3, Stretch
from optimizer.records.problem import Build


@dataclass(frozen=True)
class Piece:
    """Pipe of one size as laid, with what it loses and holds."""

    laid: LaidStretch
    loss_m: float
    volume_m3: float


def whole_piece(each: LaidStretch, build: Build) -> Piece:
    """Return a stretch of one size as one piece."""
    return Piece(each, build.loss_m, build.volume_m3)


def two_pieces(
    each: LaidStretch, build: Build, wider: tuple[BuildWay, Build], mix: Mix, share: float
) -> tuple[Piece, Piece]:
    """Return the wider piece, upstream, and the narrower one with the reducer and all fittings.

    Args:
        each: the stretch as laid in its narrower size.
        build: what it would cost and lose in that size alone.
        wider: way and build of the wider size.
        mix: how it may be laid in two sizes.
        share: share of its length that is wider.
    """
    stretch, load = each.stretch, each.load
    joint = f"reducer in {stretch.id}"
    first, second = split_route(stretch.points, share)
    wide = Stretch(
        id=f"{stretch.id}, wider part",
        kind=stretch.kind,
        tail=stretch.tail,
        head=joint,
        length_m=share * load.length_m,
        points=first,
        fittings=(),
        row=stretch.row,
    )
    narrow = replace(
        with_reducer(stretch),
        tail=joint,
        length_m=(1.0 - share) * load.length_m,
        points=second,
    )
    way, wide_build = wider
    upstream = Piece(
        LaidStretch(wide, way, replace(load, length_m=wide.length_m, last=False), 0),
        share * mix.friction_m,
        share * wide_build.volume_m3,
    )
    lost = build.loss_m - share * mix.gain_m + mix.reducer_m
    downstream = Piece(
        replace(each, stretch=narrow, load=replace(load, length_m=narrow.length_m)),
        lost - upstream.loss_m,
        (1.0 - share) * build.volume_m3,
    )
    return upstream, downstream


def split_route(
    points: tuple[Point3, ...], share: float
) -> tuple[tuple[Point3, ...], tuple[Point3, ...]]:
    """Return a route cut in two where a share of its length, above 0 and below 1, is passed."""
    passed = [0.0, *accumulate(math.dist(a, b) for a, b in pairwise(points))]
    at = share * passed[-1]
    i = bisect_left(passed, at)
    a, b = points[i - 1], points[i]
    t = (at - passed[i - 1]) / (passed[i] - passed[i - 1])
    cut = (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), a[2] + t * (b[2] - a[2]))
    return (*points[:i], cut), (cut, *points[i:])
