"""Where pipe may run on a site: the grower's corridors, or a header laid for them, and every row.

Without corridors the header is one straight line across the rows (or along the longer side of the
named positions), reached from the sump at a right angle, or at the end or centre that the site asks
for. With corridors every row, named position and the sump joins the nearest corridor by the
shortest straight piece.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from optimizer.candidates.segments import Segment, along, nearest
from optimizer.errors import BadInput, Problem
from optimizer.records.network import Position
from optimizer.records.site import Point, Row, Site


@dataclass(frozen=True)
class Runs:
    """Pieces where pipe may run.

    ``trunk`` pieces may join wherever they cross each other or a row; ``rows`` are the row lines
    from their lead-in to their last position; ``links`` join a row, position or sump to a trunk
    piece at their end.
    """

    trunk: tuple[Segment, ...]
    rows: tuple[Segment, ...]
    links: tuple[Segment, ...]


def positions_of(site: Site) -> tuple[Position, ...]:
    """Return every bed position, row by row."""
    found: list[Position] = []
    for row in site.rows:
        for index in range(1, row.positions + 1):
            x, y = _point_along(row, (index - 1) * row.spacing_m)
            name = row.id if row.named else f"{row.id}{index}"
            found.append(Position(name, row.id, index, x, y, row.level_m, f"take_off {name}"))
    return tuple(found)


def runs_of(site: Site) -> Runs:
    """Return every piece where pipe may run."""
    trunk = trunk_of(site)
    links = _sump_links(site, trunk)
    rows: list[Segment] = []
    for row in site.rows:
        lead = lead_in(row)
        links.append(link_to(trunk, row.id, lead))
        if not row.named:
            end = _point_along(row, (row.positions - 1) * row.spacing_m)
            rows.append(Segment(row.id, lead, end))
    return Runs(tuple(trunk), tuple(rows), tuple(links))


def trunk_of(site: Site) -> list[Segment]:
    """Return the pieces that pipe of several rows may run along."""
    return _corridor_pieces(site) or [laid_header(site)]


def lead_in(row: Row) -> Point:
    """Return where a row's lateral begins: half a spacing before the first bed."""
    return row.start if row.named else _point_along(row, -row.spacing_m / 2)


def _point_along(row: Row, distance_m: float) -> Point:
    return (
        row.start[0] + distance_m * row.direction[0],
        row.start[1] + distance_m * row.direction[1],
    )


def link_to(trunk: list[Segment], name: str, point: Point) -> Segment:
    """Return the shortest straight piece from a point to shared pipe."""
    index, share = nearest(trunk, point)
    return Segment(name, point, along(trunk[index], share))


def _corridor_pieces(site: Site) -> list[Segment]:
    return [
        Segment(corridor.id, start, end)
        for corridor in site.ground.corridors
        for start, end in pairwise(corridor.points)
        if math.dist(start, end) > 0.0
    ]


def laid_header(site: Site) -> Segment:
    """Return one straight header: across the rows, or along named positions.

    It reaches from the first row's lead to the last one's; fed where it is nearest to the sump, it
    is as much longer as the sump lies beyond them.
    """
    leads = [lead_in(row) for row in site.rows]
    axis = header_axis(site)
    across = 1 - axis
    values = sorted(lead[across] for lead in leads)
    if all(row.named for row in site.rows):
        place = values[len(values) // 2]
    else:
        place = min(values, key=lambda value: abs(value - site.ground.sump[across]))
    extent = [lead[axis] for lead in leads]
    if fed_nearest(site):
        extent.append(site.ground.sump[axis])
    ends = (min(extent), max(extent))
    if ends[0] == ends[1]:
        ends = (ends[0], ends[0] + 1.0)
    start, end = ((end_, place) if axis == 0 else (place, end_) for end_ in ends)
    return Segment("header", start, end)


def fed_nearest(site: Site) -> bool:
    """Return whether the riser meets the header where that is nearest to the sump.

    So it does along corridors, and where every row begins at one place of the header.
    """
    axis = header_axis(site)
    one_place = len({lead_in(row)[axis] for row in site.rows}) == 1
    return site.ground.header_fed == "nearest" or bool(site.ground.corridors) or one_place


def feed_share(site: Site) -> float:
    """Return how far along a header its asked end or centre lies, 0 to 1.

    Raises:
        BadInput: if the header has no such end, or several are asked for at once.
    """
    fed, axis = site.ground.header_fed, header_axis(site)
    shares = dict(zip(HEADER_ENDS[axis], (0.0, 1.0), strict=True)) | {"centre": 0.5}
    if fed not in shares:
        runs = " to ".join(HEADER_ENDS[axis])
        raise BadInput(
            [Problem("ground.header_fed", f"read {fed!r}; the header runs {runs}.", FED)]
        )
    return shares[fed]


HEADER_ENDS = (("west", "east"), ("south", "north"))
"""Names of a header's ends, by the axis it runs along; low coordinate first."""

FED = "Name one of its ends, or compare layouts with `floodwright design`."


def _sump_links(site: Site, trunk: list[Segment]) -> list[Segment]:
    """Return the riser's way: straight to the trunk, or along the header to where it is fed."""
    sump = site.ground.sump
    if fed_nearest(site):
        return [link_to(trunk, "sump", sump)]
    feed = along(trunk[0], feed_share(site))
    corner = (feed[0], sump[1]) if header_axis(site) == 0 else (sump[0], feed[1])
    legs = (Segment("sump", sump, corner), Segment("sump", corner, feed))
    return [leg for leg in legs if leg.length_m > 0.0]


def header_axis(site: Site) -> int:
    """Return 0 for a header along x, 1 along y."""
    leads = [lead_in(row) for row in site.rows]
    lengths = [0.0, 0.0]
    for row in site.rows:
        if not row.named:
            lengths[0 if abs(row.direction[0]) >= abs(row.direction[1]) else 1] += row.positions
    if lengths[0] != lengths[1]:
        return 1 if lengths[0] > lengths[1] else 0
    spans = [max(p[i] for p in leads) - min(p[i] for p in leads) for i in (0, 1)]
    return 0 if spans[0] >= spans[1] else 1
