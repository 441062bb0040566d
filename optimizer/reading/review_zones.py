"""Whether zones that flood in turn can be had as the site asks for them."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.errors import Problem
from optimizer.reading.nearest import choose_from
from optimizer.reading.review_fittings import lacking_fittings, sizes_of
from optimizer.reading.site_models_zones import CHANGE_S, FLOODS_MOST, VALVE_WATTS_MOST
from optimizer.reading.site_text import KeyLines
from optimizer.records.parts import Catalog
from optimizer.records.site import Site
from optimizer.records.zones import ZONES_MOST, Zones

DAY_H = 24.0


def check_zone_numbers(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Numbers lie in bounds, and no more zones are asked for than there are rows."""
    zones = site.zones
    if zones is None:
        return []
    bounds = {
        "most": (zones.most, 1, ZONES_MOST),
        "least": (zones.least, 1, ZONES_MOST),
        "floods_in_a_turn": (zones.floods, 1, FLOODS_MOST),
        "change_time": (zones.change_s, *CHANGE_S),
        "valve_watts": (zones.valve_watts, 0, VALVE_WATTS_MOST),
    }
    found = [
        Problem(
            lines.where("zones", key), f"read {read:g}, expected {low:g} to {high:g}.", "Change it."
        )
        for key, (read, low, high) in bounds.items()
        if not low <= read <= high
    ]
    if not zones.groups and max(zones.most, zones.least) > len(site.rows):
        what = f"{max(zones.most, zones.least)} zones for {_rows(len(site.rows))}."
        fix = "A zone is made of whole rows: lower the number, or part a row into two."
        found.append(Problem(lines.where("zones", "most"), what, fix))
    return found


def _rows(count: int) -> str:
    return "one row" if count == 1 else f"{count} rows"


def check_zone_rows(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Zones that are named hold every row once, and no row that is not there."""
    if site.zones is None or not site.zones.groups:
        return []
    return list(_row_problems(site, site.zones, lines))


def _row_problems(site: Site, zones: Zones, lines: KeyLines) -> Iterator[Problem]:
    known, seen = [row.id for row in site.rows], set[str]()
    for n, group in enumerate(zones.groups):
        for i, name in enumerate(group):
            at = lines.where("zones", "rows", n, i)
            if name not in known:
                yield Problem(at, f"read {name!r}, no row or position.", choose_from(name, known))
            elif name in seen:
                yield Problem(at, f"read {name!r} again.", "Let each row stand in one zone.")
            seen.add(name)
    left = [repr(name) for name in known if name not in seen]
    if left:
        what = f"{', '.join(left)} {'stands' if len(left) == 1 else 'stand'} in no zone."
        yield Problem(lines.where("zones", "rows"), what, "Put every row into a zone.")


def check_zones_alone(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Zones are not asked for together with what cannot soundly be counted with them."""
    if site.zones is None:
        return []
    return [
        Problem(lines.where("zones"), f"cannot be had together with {what}.", fix)
        for what, fix, holds in _beside(site)
        if holds
    ]


def _beside(site: Site) -> Iterator[tuple[str, str, bool]]:
    """Yield what zones do not go with, how to mend it, and whether the site asks for it."""
    yield (
        "[header_tank]: a tank gives every bed water at any time, and zones would not make the "
        "pump smaller",
        "Take out [zones] or [header_tank].",
        site.header_tank is not None,
    )
    yield (
        "[fish_tank]: its turnover would change with every turn",
        "Take out [zones] or [fish_tank].",
        site.fish_tank is not None,
    )
    yield (
        'bursts = "binomial" or held = "quantile": beds of a zone begin together, so they are not '
        "independent",
        'Write bursts = "all" and held = "worst" under [returns].',
        (site.returns.bursts, site.returns.held) != ("all", "worst"),
    )
    yield (
        "two_sizes_on_a_stretch: which part is wider would be counted for one zone only",
        "Write two_sizes_on_a_stretch = false, or take out [zones].",
        site.purchase.two_sizes_on_a_stretch,
    )
    yield (
        "pump_hours below 24 h: a pump that stops would cut a turn short",
        'Write pump_hours = "24 h", or take out [zones].',
        site.goals.pump_hours_per_day < DAY_H,
    )


def check_zone_parts(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Some timer has enough stations, and every size of supply pipe has a timed valve."""
    zones = site.zones
    if zones is None:
        return []
    most = max((timer.stations for timer in catalog.timers.values()), default=0)
    number = len(zones.groups) or min(max(zones.most, zones.least), len(site.rows))
    found: list[Problem] = []
    if number > max(most, 1):
        what = f"{number} zones, but no timer of timers.csv has more than {most} stations."
        at = lines.where("zones", "rows" if zones.groups else "most")
        found.append(Problem(at, what, "Ask for fewer zones, or add a timer to your catalog."))
    series = site.purchase.pipe_series
    sizes = sizes_of(series, site.purchase.pipes, catalog)
    where = lines.where("buy", "pipe_series")
    return found + lacking_fittings(series, sizes, ("timed_valve",), catalog, where)


ZONE_CHECKS = (check_zone_numbers, check_zone_rows, check_zones_alone, check_zone_parts)
