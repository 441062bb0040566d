"""Sump tanks, how many, and the band of levels the pump runs in."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from optimizer.formulate.fittings_price import cents
from optimizer.formulate.kept import Kept
from optimizer.records.header_tank import HeaderTank
from optimizer.records.parts import Catalog, Pump, Sump
from optimizer.records.problem import LevelBand, SumpOption
from optimizer.records.site import Site

ROOMS_M = (0.05, 0.10, 0.20, 0.40)
"""Room for pipe water over the highest running level to choose from, beside all that there is. Less
room lets return pipe end lower (a design rule of ours)."""

SWINGS_M = (0.15, 0.30, 0.45, 0.60, 0.90)
"""Level swings to choose from. A wider swing wants a smaller sump and a stiffer pump (A11)."""

LEVEL_ROUNDING_M = 1e-9
"""Levels this near are the same; for rounding alone."""

OFFERS_KEPT = 64
"""Lists of sump options kept ready: designing a site again at another goal needs the same."""


@dataclass(frozen=True)
class SumpOffer:
    """A tank, how many stand, the work of putting it in another's place, whether more are sold."""

    sump: Sump
    there: int
    change_cents: int
    sold: bool


def allowed_sumps(site: Site, catalog: Catalog) -> list[Sump]:
    """Return the sumps the site may use, by id."""
    names: Sequence[str] = site.purchase.sumps or tuple(catalog.sumps)
    wanted = set(names) | ({site.standing.sump} if site.standing.sump else set())
    return [catalog.sumps[name] for name in sorted(wanted)]


def level_bands(
    pumps: Sequence[Pump],
    sumps: Sequence[Sump],
    least_m: float = 0.0,
    lowest_siphon_outlet_m: float = math.inf,
) -> tuple[LevelBand, ...]:
    """Return the bands of running levels.

    The lowest level keeps every allowed pump under water, so that one may replace another; a pump
    too tall for every sump does not count. A swing deeper than every sump is left out, as is one
    that reaches the lowest siphon outlet.

    Args:
        pumps: the pumps to choose from.
        sumps: the sumps to choose from.
        least_m: lowest level above the floor that is kept whatever the pumps.
        lowest_siphon_outlet_m: lowest drain outlet of any bed above the sump's floor, which the
            water stays below; infinite where it is not known.
    """
    deepest = _deepest_m(sumps, lowest_siphon_outlet_m)
    low = lowest_level_m(pumps, sumps, least_m, lowest_siphon_outlet_m)
    return tuple(
        LevelBand(f"swing {swing:.2f} m", low, low + swing)
        for swing in SWINGS_M
        if low + swing <= deepest + LEVEL_ROUNDING_M
    )


def lowest_level_m(
    pumps: Sequence[Pump],
    sumps: Sequence[Sump],
    least_m: float = 0.0,
    lowest_siphon_outlet_m: float = math.inf,
) -> float:
    """Return the sump's lowest running level above its floor; arguments as for level bands."""
    fitting = fitting_pumps(pumps, sumps, lowest_siphon_outlet_m)
    return max([least_m, *(pump.submergence_m for pump in fitting)])


def _deepest_m(sumps: Sequence[Sump], lowest_siphon_outlet_m: float) -> float:
    """Return the deepest water of any sump: below its freeboard and the lowest siphon outlet."""
    return min(max(s.depth_m - s.freeboard_m for s in sumps), lowest_siphon_outlet_m)


def fitting_pumps(
    pumps: Sequence[Pump], sumps: Sequence[Sump], lowest_siphon_outlet_m: float = math.inf
) -> list[Pump]:
    """Return the pumps that stay under water in some sump with the least swing.

    Args:
        pumps: the pumps.
        sumps: the sumps.
        lowest_siphon_outlet_m: lowest drain outlet of any bed above the sump's floor, which the
            water stays below; infinite where it is not known yet.
    """
    deepest = _deepest_m(sumps, lowest_siphon_outlet_m)
    most = deepest - SWINGS_M[0] + LEVEL_ROUNDING_M
    return [pump for pump in pumps if pump.submergence_m <= most]


def sump_options(
    site: Site, catalog: Catalog, bands: Sequence[LevelBand], lowest_siphon_outlet_m: float
) -> tuple[SumpOption, ...]:
    """Return every tank, number and band that holds water below all that runs into it.

    Args:
        site: the site.
        catalog: the catalog.
        bands: level bands.
        lowest_siphon_outlet_m: lowest drain outlet of any bed, or water of a fish tank on the
            return if that is lower, above the sump's floor; the sump's water stays below it.
    """
    standing = site.standing
    kept = Kept(site)
    offers = tuple(
        SumpOffer(
            sump,
            standing.sump_count if standing.sump == sump.id else 0,
            kept.other_sump_cents(sump.id),
            sump.id not in standing.not_sold,
        )
        for sump in allowed_sumps(site, catalog)
    )
    rooms_m = ROOMS_M if site.returns.designed else ()  # only for return pipe does less room help
    most = site.purchase.sumps_most
    found = _options(offers, most, tuple(bands), lowest_siphon_outlet_m, rooms_m)
    runs_down = above_outlet_m3(site.header_tank, catalog) if site.header_tank else 0.0
    fish_m = fish_water_m(site)
    return tuple(
        replace(
            k,
            spare_m3=k.spare_m3 - runs_down,
            top_m=k.top_m if math.isinf(fish_m) else max(k.top_m, fish_m),
        )
        for k in found
    )


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


def fish_water_m(site: Site) -> float:
    """Return how far above the sump's floor stands the water of a fish tank on the return.

    The sump's water stays below it, or the tank would not run into the sump. Infinite where no such
    tank stands.
    """
    if site.fish_tank is None or site.fish_feed_beds:
        return math.inf
    return site.fish_tank.water_level_m - site.ground.sump_floor_level_m


@lru_cache(maxsize=OFFERS_KEPT)
def _options(
    offers: tuple[SumpOffer, ...],
    most: int,
    bands: tuple[LevelBand, ...],
    lowest_siphon_outlet_m: float,
    rooms_m: tuple[float, ...],
) -> tuple[SumpOption, ...]:
    """Return the options of some tanks, each with how many stand already."""
    found: list[SumpOption] = []
    for offer in offers:
        sump, standing = offer.sump, offer.there
        top = min(sump.depth_m - sump.freeboard_m, lowest_siphon_outlet_m)
        for band in bands:
            if band.high_m > top + LEVEL_ROUNDING_M:
                continue
            most_room = max(0.0, top - band.high_m)
            rooms = [*(room for room in rooms_m if room < most_room), most_room]
            for count in range(1, (most if offer.sold else min(most, standing)) + 1):
                money = cents(sump.price) * max(0, count - standing) + offer.change_cents
                found += [_option(sump, count, money, band, room) for room in rooms]
    return tuple(_undominated(found))


def _option(sump: Sump, count: int, money: int, band: LevelBand, room_m: float) -> SumpOption:
    area = sump.area_m2 * count
    return SumpOption(
        id=f"{count} x {sump.id}, {band.id}, room {room_m:.3f} m",
        sump=sump.id,
        count=count,
        band=band.id,
        cost_cents=money,
        working_m3=area * (band.high_m - band.low_m),
        spare_m3=area * room_m,
        top_m=band.high_m + room_m,
    )


def _undominated(found: Sequence[SumpOption]) -> list[SumpOption]:
    """Leave out a sump if another in the same band costs no more and has no less room."""
    kept: list[SumpOption] = []
    rooms: dict[str, dict[float, _Rooms]] = defaultdict(dict)
    for option in sorted(found, key=lambda o: (o.cost_cents, -o.working_m3, -o.spare_m3, o.id)):
        by_top = rooms[option.band]
        room = (option.working_m3, option.spare_m3)
        if not any(by_top[top].hold(*room) for top in by_top if top <= option.top_m):
            kept.append(option)
            by_top.setdefault(option.top_m, _Rooms()).add(*room)
    return kept


class _Rooms:
    """Pairs of working and spare room of which none beats another."""

    def __init__(self) -> None:
        self._working: list[float] = []  # rising
        self._spare: list[float] = []  # falling

    def hold(self, working_m3: float, spare_m3: float) -> bool:
        """Return whether some pair has no less of either."""
        at = bisect_left(self._working, working_m3)
        return at < len(self._spare) and self._spare[at] >= spare_m3

    def add(self, working_m3: float, spare_m3: float) -> None:
        """Add a pair that none beats, and drop those it beats."""
        end = bisect_right(self._working, working_m3)
        at = end
        while at > 0 and self._spare[at - 1] <= spare_m3:
            at -= 1
        self._working[at:end] = [working_m3]
        self._spare[at:end] = [spare_m3]
