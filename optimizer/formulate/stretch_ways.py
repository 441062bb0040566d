"""How each stretch may be built: the pipes, valves and fittings it may be bought with."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.formulate.fittings_price import cents
from optimizer.formulate.kept import Kept
from optimizer.physics.pressure import rating_at_temperature
from optimizer.physics.water import GRAVITY, density_kg_m3
from optimizer.records.network import CandidateNetwork, Stretch
from optimizer.records.parts import Catalog, Pipe, Valve
from optimizer.records.shelf import CountedPart
from optimizer.records.site import Site
from optimizer.records.standing import StandingStretch

NO_PART = frozenset({"entrance", "exit", "tee_run", "tee_branch", "timed_valve"})
"""Losses that are no bought part of their stretch: a tee is bought by the stretch ending at it, a
timed valve is priced apart, also on pipe that is laid already."""

TEE_OUTLETS = frozenset({"tee_run", "tee_branch"})
"""A stretch that begins at a tee gets a reducer there (A9: counted at every tee outlet)."""


@dataclass(frozen=True)
class BuildWay:
    """A pipe size, with a valve at a drop.

    ``standing`` pipe is already laid; ``valve_standing`` is a valve that is in it already.
    ``other`` is what stands in the stretch and is taken out for this.
    """

    id: str
    pipe: Pipe
    valve: Valve | None
    standing: bool = False
    valve_standing: bool = False
    other: StandingStretch | None = None


class Ways:
    """The ways to build the stretches of one site, found once for each sort of stretch.

    Args:
        site: the site.
        catalog: the parts.
    """

    def __init__(self, site: Site, catalog: Catalog) -> None:
        self.site = site
        self.catalog = catalog
        self.kept = Kept(site)
        self._known: dict[tuple[object, ...], list[BuildWay]] = {}

    def of(self, stretch: Stretch) -> list[BuildWay]:
        """Return the ways to build a stretch; the list is shared with its like."""
        key = (stretch.kind == "drop", *self.there(stretch))
        if key not in self._known:
            self._known[key] = build_ways(stretch, self.site, self.catalog, self.kept)
        return self._known[key]

    def there(self, stretch: Stretch) -> tuple[str, str | None]:
        """Return the pipe (empty: none) and the valve that stand in a stretch."""
        found = self.kept.stretch(stretch)
        return ("", None) if found is None else (found.pipe, found.valve)


def build_ways(
    stretch: Stretch, site: Site, catalog: Catalog, kept: Kept | None = None
) -> list[BuildWay]:
    """Return the ways to build a stretch: each pipe, with each valve of its size at a drop.

    Args:
        stretch: the stretch.
        site: the site.
        catalog: the parts.
        kept: what stands on the site, where it is looked up already.
    """
    there = (kept or Kept(site)).stretch(stretch)
    laid = None if there is None else there.pipe
    pipes = [p for p in catalog.pipes.values() if may_buy(p, site) or p.id == laid]
    if stretch.kind != "drop":
        return [
            BuildWay(p.id, p, None, p.id == laid, other=None if p.id == laid else there)
            for p in pipes
        ]
    return [
        _drop_way(p, v, there)
        for p in pipes
        for v in catalog.valves.values()
        if (v.series, v.nominal) == (p.series, p.nominal) and _may_fit(v, site, there)
    ]


def _may_fit(valve: Valve, site: Site, there: StandingStretch | None) -> bool:
    kinds = site.purchase.valve_kinds
    return not kinds or valve.kind in kinds or (there is not None and valve.id == there.valve)


def _drop_way(pipe: Pipe, valve: Valve, there: StandingStretch | None) -> BuildWay:
    """Return a drop of a pipe and a valve; a run of standing pipe names no drop's valve."""
    name = f"{pipe.id} + {valve.id}"
    if there is None:
        return BuildWay(name, pipe, valve)
    stays, same_valve = pipe.id == there.pipe, valve.id == there.valve
    other = None if stays and same_valve else there
    return BuildWay(name, pipe, valve, stays, stays and same_valve, other)


def change_cents(way: BuildWay, length_m: float, kept: Kept) -> int:
    """Return the work of taking out what stands in a stretch and does not stay in this way."""
    if way.other is None:
        return 0
    pipe = 0 if way.standing else kept.taking_out_cents(length_m)
    valve = cents(kept.labour.valve) if way.other.valve and not way.valve_standing else 0
    return pipe + valve


def parts_in(stretch: Stretch, last: bool, tees_at_end: int) -> tuple[CountedPart, ...]:
    """Return the fittings a stretch is bought with.

    Its own elbows, unions, strainer and non-return valve; a reducer where it begins at a tee; the
    tees it ends at; a clean-out that closes the tee at the last bed of a row.
    """
    counts = {name: count for name, count in stretch.fittings if name not in NO_PART}
    if any(name in TEE_OUTLETS for name, _ in stretch.fittings):
        counts["reducer"] = counts.get("reducer", 0) + 1
    if tees_at_end:
        counts["tee"] = tees_at_end
    if last and tees_at_end:
        counts["clean_out"] = 1
    return tuple(CountedPart(kind, count) for kind, count in sorted(counts.items()))


def loss_coefficient(stretch: Stretch, way: BuildWay, catalog: Catalog) -> float:
    """Return the sum of local losses, valve fully open, referred to the stretch's bore."""
    return fittings_loss(stretch, catalog) + (way.valve.losses[-1] if way.valve else 0.0)


def fittings_loss(stretch: Stretch, catalog: Catalog) -> float:
    """Return the sum of the local K of a stretch's fittings, its valve apart."""
    return sum(count * catalog.losses[name].value for name, count in stretch.fittings)


def rating_head_m(pipe: Pipe, temperature_c: float) -> float:
    """Return the head of water that a pipe is rated for at a temperature."""
    rating_pa = rating_at_temperature(pipe.rating_pa, pipe.material, temperature_c)
    return float(rating_pa / (density_kg_m3(temperature_c) * GRAVITY))


def tees_at_ends(network: CandidateNetwork) -> dict[str, int]:
    """Return, per stretch, the tees bought where it ends.

    One fewer than the stretches that leave there; at a row's last bed one, its run closed for
    flushing and later beds; none at a lone bed. The pipe that closes a ring ends at a tee that the
    header's own stretch is bought with.
    """
    leaving: dict[str, list[Stretch]] = {}
    closing = () if network.closing is None else (network.closing,)
    for stretch in (*network.stretches, *closing):
        leaving.setdefault(stretch.tail, []).append(stretch)
    tees: dict[str, int] = {stretch.id: 0 for stretch in closing}
    for stretch in network.stretches:
        after = leaving.get(stretch.head, [])
        at_tee = any(name in TEE_OUTLETS for s in after for name, _ in s.fittings)
        tees[stretch.id] = max(len(after) - 1, 1) if at_tee else 0
    return tees


def may_buy(pipe: Pipe, site: Site) -> bool:
    """Return whether a size of supply pipe may be bought: of the series, and among those named."""
    wanted = site.purchase.pipes
    return pipe.series == site.purchase.pipe_series and (not wanted or pipe.id in wanted)
