"""Whether beds stand clear of one another and of ground that is kept out of.

A bed stands with its length across its row and its width along it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from optimizer.errors import Problem
from optimizer.reading.review_paths import in_keep_outs, lies_in, report_units, rows_with_paths
from optimizer.reading.site_text import KeyLines
from optimizer.reading.toml_positions import Path
from optimizer.records.parts import Catalog, Container
from optimizer.records.site import Point, Row, Site
from optimizer.units_format import format_quantity

TOUCH_M = 1e-3
"""Beds may touch: an overlap up to this is taken for rounding."""


@dataclass(frozen=True)
class Strip:
    """The ground a row's beds cover: a rectangle about ``centre``, along ``direction``."""

    name: str
    path: Path
    centre: Point
    direction: Point
    half_along_m: float
    half_across_m: float

    @property
    def reach(self) -> Point:
        """Half the width and height of the upright rectangle around the strip."""
        dx, dy = abs(self.direction[0]), abs(self.direction[1])
        return (
            dx * self.half_along_m + dy * self.half_across_m,
            dy * self.half_along_m + dx * self.half_across_m,
        )

    def half_width_m(self, axis: Point) -> float:
        """Return half the strip's extent along a unit vector."""
        dx, dy = self.direction
        along = abs(axis[0] * dx + axis[1] * dy) * self.half_along_m
        return along + abs(axis[1] * dx - axis[0] * dy) * self.half_across_m


def check_spacing(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Beds of one row stand clear of one another."""
    units = report_units(site)
    problems: list[Problem] = []
    for row, path in rows_with_paths(site):
        for name, container in _containers(row, site, catalog):
            if row.positions == 1 or container.width_m <= row.spacing_m + TOUCH_M:
                continue
            width = format_quantity(container.width_m, "length", units)
            spacing = format_quantity(row.spacing_m, "length", units)
            what = f"beds of type {name!r}, {width} wide, every {spacing} overlap."
            fix = f"Space them at least {width}, or leave {name!r} out of bed_types."
            problems.append(Problem(lines.where(*path, "spacing"), what, fix))
    return problems


def check_rows_apart(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Beds of different rows stand clear of one another, whichever bed type is built."""
    strips = sorted(_strips(site, catalog), key=lambda strip: strip.centre[0] - strip.reach[0])
    problems: list[tuple[int, Problem]] = []
    open_strips: list[Strip] = []
    for strip in strips:
        left = strip.centre[0] - strip.reach[0]
        open_strips = [each for each in open_strips if each.centre[0] + each.reach[0] > left]
        for other in (each for each in open_strips if overlap(each, strip)):
            first, second = sorted((strip, other), key=lambda each: lines.line(*each.path) or 0)
            what = f"its beds overlap those of {first.name!r}."
            at = lines.where(*second.path)
            fix = "Move one of them, or leave the larger bed type out of its bed_types."
            problems.append((lines.line(*second.path) or 0, Problem(at, what, fix)))
        open_strips.append(strip)
    return [problem for _, problem in sorted(problems, key=lambda each: each[0])]


def overlap(one: Strip, two: Strip) -> bool:
    """Return whether two strips share ground: no line parts them (separating axes)."""
    axes = (one.direction, _turned(one.direction), two.direction, _turned(two.direction))
    dx, dy = two.centre[0] - one.centre[0], two.centre[1] - one.centre[1]
    return all(
        abs(dx * axis[0] + dy * axis[1]) + TOUCH_M < one.half_width_m(axis) + two.half_width_m(axis)
        for axis in axes
    )


def check_positions_outside_keep_outs(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """No bed's centre lies where no pipe may run."""
    problems: list[Problem] = []
    for row, path in rows_with_paths(site):
        for keep_out in site.ground.keep_outs:
            inside = [i for i in range(row.positions) if lies_in(_position(row, i), keep_out)]
            if inside:
                what = f"position {inside[0] + 1} lies in keep-out {keep_out.id!r}."
                fix = "Move the row or the keep-out: pipe could not reach the bed."
                problems.append(Problem(lines.where(*path), what, fix))
    return problems


def check_sump_outside_keep_outs(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """The sump does not lie where no pipe may run."""
    return in_keep_outs(site.ground.sump, site, lines.where("ground", *_sump_path(site)))


def check_sump_places(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Places where the sump may stand have names of their own."""
    names = [place.name for place in site.ground.sump_places]
    return [
        Problem(
            lines.where("ground", "sump_place", i, "name"),
            f"read {name!r} again.",
            "Give each place a name of its own.",
        )
        for i, name in enumerate(names)
        if name in names[:i]
    ]


def check_header_fed(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """A header has ends and a centre only where the program lays it."""
    ground = site.ground
    if ground.header_fed == "nearest" or not ground.corridors:
        return []
    what = f"read {ground.header_fed!r}, but there is no header: pipe follows the corridors."
    fix = "Take header_fed out, or the corridors."
    return [Problem(lines.where("ground", "header_fed"), what, fix)]


def _sump_path(site: Site) -> tuple[str | int, ...]:
    """Return where in ``[ground]`` the sump's place stands."""
    places = [(place.at, place.floor_level_m) for place in site.ground.sump_places]
    here = (site.ground.sump, site.ground.sump_floor_level_m)
    return ("sump_place", places.index(here)) if here in places else ("sump",)


def _position(row: Row, index: int) -> Point:
    along_m = index * row.spacing_m
    return (row.start[0] + along_m * row.direction[0], row.start[1] + along_m * row.direction[1])


def _turned(axis: Point) -> Point:
    return (-axis[1], axis[0])


def _containers(row: Row, site: Site, catalog: Catalog) -> Iterator[tuple[str, Container]]:
    """Yield the bed types a row may hold whose container is known."""
    types = {bed_type.id: bed_type.container for bed_type in site.bed_types}
    for name in row.bed_types:
        container = catalog.containers.get(types.get(name, ""))
        if container is not None:
            yield name, container


def _strips(site: Site, catalog: Catalog) -> Iterator[Strip]:
    for row, path in rows_with_paths(site):
        containers = [container for _, container in _containers(row, site, catalog)]
        if containers and math.isfinite(row.spacing_m):
            yield _strip(row, path, containers)


def _strip(row: Row, path: Path, containers: list[Container]) -> Strip:
    span_m = (row.positions - 1) * row.spacing_m
    middle = (
        row.start[0] + row.direction[0] * span_m / 2.0,
        row.start[1] + row.direction[1] * span_m / 2.0,
    )
    half_along_m = span_m / 2.0 + max(each.width_m for each in containers) / 2.0
    half_across_m = max(each.length_m for each in containers) / 2.0
    return Strip(row.id, path, middle, row.direction, half_along_m, half_across_m)


GROUND_CHECKS = (
    check_spacing,
    check_rows_apart,
    check_positions_outside_keep_outs,
    check_sump_outside_keep_outs,
    check_sump_places,
    check_header_fed,
)
