"""Sump tanks, how many, and the band of levels the pump runs in."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.formulate.fittings_price import cents
from optimizer.records.header_tank import HeaderTank
from optimizer.records.parts import Catalog, Pump, Sump
from optimizer.records.problem import LevelBand, SumpOption
from optimizer.records.site import Site

SWINGS_M = (0.15, 0.30, 0.45, 0.60, 0.90)
"""Level swings to choose from. A wider swing wants a smaller sump and a stiffer pump (A11)."""


def allowed_sumps(site: Site, catalog: Catalog) -> list[Sump]:
    """Return the sumps the site may use, by id."""
    names: Sequence[str] = site.purchase.sumps or tuple(catalog.sumps)
    wanted = set(names) | ({site.standing.sump} if site.standing.sump else set())
    return [catalog.sumps[name] for name in sorted(wanted)]


def level_bands(pumps: Sequence[Pump], sumps: Sequence[Sump]) -> tuple[LevelBand, ...]:
    """Return the bands of running levels.

    The lowest level keeps every allowed pump under water, so that one may replace another; a pump
    too tall for every sump does not count. A swing deeper than every sump is left out.
    """
    deepest = max(sump.depth_m - sump.freeboard_m for sump in sumps)
    low = max((p.submergence_m for p in fitting_pumps(pumps, sumps)), default=0.0)
    return tuple(
        LevelBand(f"swing {swing:.2f} m", low, low + swing)
        for swing in SWINGS_M
        if swing <= deepest - low
    )


def fitting_pumps(pumps: Sequence[Pump], sumps: Sequence[Sump]) -> list[Pump]:
    """Return the pumps that stay under water in some sump with the least swing."""
    deepest = max(sump.depth_m - sump.freeboard_m for sump in sumps)
    return [pump for pump in pumps if pump.submergence_m + SWINGS_M[0] <= deepest]


def sump_options(
    site: Site, catalog: Catalog, bands: Sequence[LevelBand], lowest_siphon_outlet_m: float
) -> tuple[SumpOption, ...]:
    """Return every tank, number and band that holds water below the lowest siphon outlet.

    Args:
        site: the site.
        catalog: the catalog.
        bands: level bands.
        lowest_siphon_outlet_m: lowest drain outlet of any bed, above the sump's floor; the water
            must stay below it or beds would not drain.

    Where a fish tank stands on the return, return pipe ends above its water instead.
    """
    found: list[SumpOption] = []
    runs_down = above_outlet_m3(site.header_tank, catalog) if site.header_tank else 0.0
    for sump in allowed_sumps(site, catalog):
        top = min(sump.depth_m - sump.freeboard_m, lowest_siphon_outlet_m)
        for band in bands:
            if band.high_m > top:
                continue
            for count in range(1, site.purchase.sumps_most + 1):
                area = sump.area_m2 * count
                found.append(
                    SumpOption(
                        id=f"{count} x {sump.id}, {band.id}",
                        sump=sump.id,
                        count=count,
                        band=band.id,
                        cost_cents=_price_cents(site, sump, count),
                        working_m3=area * (band.high_m - band.low_m),
                        spare_m3=area * (top - band.high_m) - runs_down,
                        top_m=max(top, _fish_water_m(site)),
                    )
                )
    return tuple(_undominated(found))


def drain_back_share(site: Site) -> float:
    """Return the share of the water in supply pipe that the sump must take in a power cut.

    A non-return valve holds it; below a tank nothing does, and all of it is counted.
    """
    held = site.purchase.non_return_valve and site.header_tank is None
    return 0.0 if held else 1.0


def above_outlet_m3(tank: HeaderTank, catalog: Catalog) -> float:
    """Return the water over a tank's outlet, which runs down when the pump stops."""
    area = catalog.sumps[tank.part].area_m2 if tank.part else (tank.surface_m2 or 0.0)
    return area * tank.outlet_below_water_m


def _fish_water_m(site: Site) -> float:
    """Return how far above the sump's floor stands the water of a fish tank on the return."""
    if site.fish_tank is None or site.fish_feed_beds:
        return 0.0
    return site.fish_tank.water_level_m - site.ground.sump_floor_level_m


def _price_cents(site: Site, sump: Sump, count: int) -> int:
    standing = site.standing.sump_count if site.standing.sump == sump.id else 0
    return cents(sump.price) * max(0, count - standing)


def _undominated(found: Sequence[SumpOption]) -> list[SumpOption]:
    """Leave out a sump if another in the same band costs no more and has no less room."""
    kept: list[SumpOption] = []
    for option in sorted(found, key=lambda o: (o.cost_cents, -o.working_m3, -o.spare_m3, o.id)):
        if not any(
            k.band == option.band
            and k.working_m3 >= option.working_m3
            and k.spare_m3 >= option.spare_m3
            and k.top_m <= option.top_m
            for k in kept
        ):
            kept.append(option)
    return kept
