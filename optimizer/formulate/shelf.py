"""The parts of the catalog that a design uses, with their prices, for whoever buys them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from optimizer.candidates.zones import TIMED_VALVE
from optimizer.records.design import BedKind
from optimizer.records.parts import Catalog, Fitting, Pipe
from optimizer.records.shelf import ShelfPart


def shelf_of(
    catalog: Catalog,
    kinds: Sequence[BedKind],
    pipe_ids: Iterable[str],
    valve_ids: Iterable[str],
    pump_id: str,
    tank_ids: Iterable[str],
    timer_ids: Iterable[str] = (),
) -> tuple[ShelfPart, ...]:
    """Return every part a design uses, and every fitting of its pipes' sizes.

    Args:
        catalog: the catalog.
        kinds: the kinds of bed built.
        pipe_ids: pipes laid, supply and return.
        valve_ids: valves built in.
        pump_id: the pump.
        tank_ids: the sump, and a tank over the beds.
        timer_ids: the timer of zones; without one no timed valve is on the shelf.
    """
    pipes = {name: catalog.pipes[name] for name in pipe_ids}
    pipes |= {pipe.id: pipe for kind in kinds for pipe in _siphon_pipes(catalog, kind)}
    sizes = {(pipe.series, pipe.nominal) for pipe in pipes.values()}
    pump, tanks = catalog.pumps[pump_id], [catalog.sumps[name] for name in sorted(set(tank_ids))]
    timers = [catalog.timers[name] for name in timer_ids]
    parts = [
        *(_pipe(pipe) for pipe in pipes.values()),
        *(_fitting(f) for f in _cheapest(catalog, sizes) if timers or f.kind != TIMED_VALVE),
        *(_valve(catalog, name) for name in set(valve_ids)),
        *(part for kind in kinds for part in _bed_parts(catalog, kind)),
        ShelfPart(pump.id, "pumps", pump.label, pump.price),
        *(ShelfPart(tank.id, "sumps", tank.label, tank.price) for tank in tanks),
        *(ShelfPart(timer.id, "timers", timer.label, timer.price) for timer in timers),
        *(ShelfPart(s.id, "services", s.label, s.price, s.per) for s in catalog.services.values()),
    ]
    named = {(part.table, part.id): part for part in parts}
    return tuple(named[key] for key in sorted(named))


def _siphon_pipes(catalog: Catalog, kind: BedKind) -> Iterator[Pipe]:
    """Yield the pipes a kit's standpipe, bell and guard are cut from; a basket is none."""
    kit = catalog.kits[kind.kit]
    wanted = {kind.parts.standpipe, kind.parts.bell, kind.parts.guard}
    for pipe in catalog.pipes.values():
        if pipe.series == kit.series and pipe.nominal in wanted:
            yield pipe


def _cheapest(catalog: Catalog, sizes: set[tuple[str, str]]) -> list[Fitting]:
    """Return each kind of fitting in each size once, the cheapest where it is listed twice."""
    found: dict[tuple[str, str, str], Fitting] = {}
    for fitting in catalog.fittings.values():
        key = (fitting.kind, fitting.series, fitting.nominal)
        if key[1:] in sizes and (key not in found or fitting.price < found[key].price):
            found[key] = fitting
    return list(found.values())


def _pipe(pipe: Pipe) -> ShelfPart:
    return ShelfPart(
        id=pipe.id,
        table="pipes",
        label=f"{pipe.material} pipe {pipe.nominal}",
        price=pipe.price_per_m,
        per="metre",
        series=pipe.series,
        nominal=pipe.nominal,
        stock_length_m=pipe.stock_length_m,
        outside_m=pipe.outside_m,
    )


def _fitting(fitting: Fitting) -> ShelfPart:
    label = f"{fitting.kind.replace('_', ' ')} {fitting.nominal}"
    return ShelfPart(
        fitting.id, "fittings", label, fitting.price, "each", fitting.kind, fitting.series,
        fitting.nominal,
    )  # fmt: skip


def _valve(catalog: Catalog, name: str) -> ShelfPart:
    valve = catalog.valves[name]
    label = f"{valve.kind} valve {valve.nominal}"
    return ShelfPart(
        name, "valves", label, valve.price, "each", valve.kind, valve.series, valve.nominal
    )


def _bed_parts(catalog: Catalog, kind: BedKind) -> Iterator[ShelfPart]:
    container, medium = catalog.containers[kind.container_id], catalog.media[kind.medium_id]
    stand, kit = catalog.stands[kind.stand_id], catalog.kits[kind.kit]
    yield ShelfPart(container.id, "containers", container.label, container.price)
    yield ShelfPart(medium.id, "media", medium.label, medium.price_per_m3, "m3")
    yield ShelfPart(stand.id, "stands", stand.label, stand.price)
    yield ShelfPart(
        kit.id, "kits", kit.label, kit.price, "each", kit.style, kit.series, kit.nominal
    )
