"""Which rows flood together where zones flood in turn, and where their timed valves stand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, pairwise

from optimizer.candidates.runs import header_axis, lead_in
from optimizer.records.network import Stretch
from optimizer.records.site import Row, Site

TIMED_VALVE = "timed_valve"
"""The fitting, and the name of its loss, at the beginning of a zone's own pipe."""

GROUPINGS_MOST = 20_000
"""Most groupings looked at one by one; beyond it zones are filled one after another."""


def is_open(site: Site) -> bool:
    """Return whether the number of zones is still to be compared."""
    return site.zones is not None and not site.zones.groups


def zonings(site: Site) -> Iterator[tuple[str, Site]]:
    """Yield the site with each number of zones it allows, with that number in words.

    A site without zones, or with named ones, is yielded once and without words.
    """
    zones = site.zones
    if zones is None or zones.groups:
        yield "", site
        return
    for number in range(zones.least, min(zones.most, len(site.rows)) + 1):
        groups = even_groups(site, number)
        words = "all beds at once" if number == 1 else f"{number} zones in turn"
        if number == 1:
            yield words, replace(site, zones=None)
        else:
            yield words, replace(site, zones=replace(zones, groups=groups))


def even_groups(site: Site, number: int) -> tuple[tuple[str, ...], ...]:
    """Return consecutive rows along the header in groups with as even numbers of beds as can be.

    The greatest group is as small as can be; of such groupings the sum of squares is least.

    Args:
        site: the site.
        number: number of groups, from 1 to the number of rows.
    """
    rows = rows_along_the_header(site)
    return min(_groupings(rows, number), key=lambda groups: _unevenness(rows, groups))


def rows_along_the_header(site: Site) -> tuple[Row, ...]:
    """Return the rows in the order in which their laterals leave a header laid across them."""
    axis = header_axis(site)
    return tuple(sorted(site.rows, key=lambda r: (lead_in(r)[axis], lead_in(r)[1 - axis], r.id)))


def _groupings(rows: Sequence[Row], number: int) -> Iterator[tuple[tuple[str, ...], ...]]:
    cuts: Iterator[tuple[int, ...]] = combinations(range(1, len(rows)), number - 1)
    if _too_many(len(rows) - 1, number - 1):
        cuts = iter([tuple(round(len(rows) * n / number) for n in range(1, number))])
    for inner in cuts:
        ends = (0, *inner, len(rows))
        yield tuple(tuple(row.id for row in rows[a:b]) for a, b in pairwise(ends))


def _too_many(places: int, cuts: int) -> bool:
    count = 1
    for n in range(min(cuts, places - cuts)):
        count = count * (places - n) // (n + 1)
        if count > GROUPINGS_MOST:
            return True
    return False


def _unevenness(rows: Sequence[Row], groups: tuple[tuple[str, ...], ...]) -> tuple[int, int]:
    beds = {row.id: row.beds_most for row in rows}
    sizes = [sum(beds[name] for name in group) for group in groups]
    return max(sizes), sum(size * size for size in sizes)


def with_timed_valves(stretches: Sequence[Stretch], site: Site) -> list[Stretch]:
    """Return the supply pipe with a timed valve where pipe of one zone leaves shared pipe.

    Args:
        stretches: the stretches, in any order.
        site: the site; without zones nothing changes.
    """
    if site.zones is None:
        return list(stretches)
    below = zones_below(stretches, site)
    into = {s.head: s.id for s in stretches}
    fronts = {
        s.id
        for s in stretches
        if len(below[s.id]) == 1 and len(below.get(into.get(s.tail, ""), (0, 1))) > 1
    }
    return [_valved(s) if s.id in fronts else s for s in stretches]


def _valved(stretch: Stretch) -> Stretch:
    return replace(stretch, fittings=tuple(sorted((*stretch.fittings, (TIMED_VALVE, 1)))))


def zones_below(stretches: Sequence[Stretch], site: Site) -> dict[str, tuple[int, ...]]:
    """Return the zones that each stretch serves, by their place in turn; none without zones."""
    groups = site.zones.groups if site.zones else ()
    zone_of = {row: n for n, group in enumerate(groups) for row in group}
    into = {s.head: s for s in stretches}
    below: dict[str, set[int]] = {s.id: set() for s in stretches}
    for stretch in stretches:
        if stretch.kind == "drop" and stretch.row in zone_of:
            at: Stretch | None = stretch
            while at is not None and zone_of[stretch.row] not in below[at.id]:
                below[at.id].add(zone_of[stretch.row])
                at = into.get(at.tail)
    return {name: tuple(sorted(zones)) for name, zones in below.items()}
