"""Whether some pump that may run can stand under water in some sump that may be used."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TypeVar

from optimizer.errors import Problem
from optimizer.reading.review_paths import length_text
from optimizer.reading.site_text import KeyLines
from optimizer.records.parts import Catalog, Pump, Sump
from optimizer.records.site import Site

Part = TypeVar("Part")


def known_pumps(site: Site, catalog: Catalog) -> list[Pump]:
    """Return the pumps the site may use, by id; names not known are passed over."""
    return _known(site.purchase.pumps, site.standing.pump, catalog.pumps)


def known_sumps(site: Site, catalog: Catalog) -> list[Sump]:
    """Return the sumps the site may use, by id; names not known are passed over."""
    return _known(site.purchase.sumps, site.standing.sump, catalog.sumps)


def least_submergence_m(site: Site, catalog: Catalog) -> float:
    """Return the depth of water below which no allowed pump may run; 0 where none is known."""
    return min((pump.submergence_m for pump in known_pumps(site, catalog)), default=0.0)


def check_pump_fits_a_sump(site: Site, catalog: Catalog, lines: KeyLines) -> list[Problem]:
    """Some allowed sump is deep enough for some allowed pump to stay under water."""
    pumps, sumps = known_pumps(site, catalog), known_sumps(site, catalog)
    if not pumps or not sumps:
        return []
    pump = min(pumps, key=lambda each: each.submergence_m)
    sump = max(sumps, key=_usable_depth_m)
    if _usable_depth_m(sump) > pump.submergence_m:
        return []
    what = (
        f"sump {sump.id!r} is shallower than the submergence of pump {pump.id!r}: "
        f"{length_text(_usable_depth_m(sump), site)} of water at most, "
        f"{length_text(pump.submergence_m, site)} needed; no allowed pair fits better."
    )
    fix = "Allow a deeper sump or a pump that needs less water over it."
    return [Problem(lines.where("buy", "sumps"), what, fix)]


def _usable_depth_m(sump: Sump) -> float:
    return sump.depth_m - sump.freeboard_m


def _known(bought: Iterable[str], standing: str | None, parts: Mapping[str, Part]) -> list[Part]:
    names = set(bought) or set(parts)
    names |= {standing} if standing is not None else set()
    return [parts[name] for name in sorted(names) if name in parts]


def check_two_sizes_alone(site: Site, _: Catalog, lines: KeyLines) -> list[Problem]:
    """Two sizes on a stretch are not counted against a budget, a number of sizes or a stock."""
    buy = site.purchase
    asked = {
        "a budget": site.goals.budget is not None,
        "pipe_sizes_most": buy.pipe_sizes_most is not None,
        "pipe in stock": bool(site.standing.stock),
    }
    beside = " and ".join(name for name, holds in asked.items() if holds)
    if not buy.two_sizes_on_a_stretch or not beside:
        return []
    what = f"read true, which cannot be had together with {beside}."
    at = lines.where("buy", "two_sizes_on_a_stretch")
    return [Problem(at, what, f"Write false, or leave out {beside}.")]


PLANT_CHECKS = (check_pump_fits_a_sump, check_two_sizes_alone)
