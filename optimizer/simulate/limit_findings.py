"""Limits over the whole site: money, sizes of pipe, pipe that lay ready, a pump that is heard."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.physics.noise import loud_hours_per_day
from optimizer.records.check import Finding
from optimizer.records.design import Design
from optimizer.simulate.findings import at_most, near
from optimizer.simulate.tolerances import METRES_OF_PIPE

CAPITAL = "capital"
STOCK = "stock"


def limit_findings(design: Design) -> Iterator[Finding]:
    """Yield the findings about limits that tie the whole design together, where there are any.

    Metres are added up again from the pipe as built, not taken from the bill.
    """
    promise = design.promise
    if promise.budget_cents is not None:
        paid = float(sum(line.cents for line in design.costs if line.group == CAPITAL))
        yield at_most("cost", "money to buy with", float(promise.budget_cents), paid, "cents")
    if promise.pipe_sizes_most is not None:
        sizes, most = float(len(_laid_m(design))), float(promise.pipe_sizes_most)
        yield at_most("pipe", "sizes of pipe laid anew", most, sizes, "sizes")
    yield from _stock_findings(design)
    yield from _noise_findings(design)


def _noise_findings(design: Design) -> Iterator[Finding]:
    limit, pump, hours = design.promise.noise, design.pump, design.promise.pump_hours_per_day
    if limit is None:
        return
    heard = loud_hours_per_day(pump.noise_db, pump.count, limit.louder_than_db, hours)
    yield at_most(pump.id, "hours a day of a loud pump", limit.hours_per_day_most, heard, "h")


def _stock_findings(design: Design) -> Iterator[Finding]:
    on_hand = design.promise.stock_m
    laid = _laid_m(design)
    taken = {line.part for line in design.costs if line.group == STOCK}
    for pipe in sorted(taken | set(on_hand)):
        used, bought = _billed_m(design, pipe, STOCK), _billed_m(design, pipe, CAPITAL)
        ready = on_hand.get(pipe, 0.0)
        yield at_most(pipe, "pipe taken from stock", ready, used, "m")
        promise, metres = "pipe bought and taken from stock is what is laid", laid.get(pipe, 0.0)
        yield near(pipe, promise, used + bought, metres, "m", tolerance=METRES_OF_PIPE)


def _laid_m(design: Design) -> dict[str, float]:
    """Return the metres laid anew of each size, supply, return and a tank's overflow, as built."""
    metres: dict[str, float] = {}
    for pipe, length in (
        *((s.pipe, s.length_m) for s in design.stretches if not s.standing),
        *((d.pipe, d.length_m) for d in design.drains if not d.standing),
        *((t.overflow_pipe, t.overflow_length_m) for t in (design.tank,) if t is not None),
    ):
        metres[pipe] = metres.get(pipe, 0.0) + length
    return metres


def _billed_m(design: Design, pipe: str, group: str) -> float:
    lines = (c for c in design.costs if c.part == pipe and c.unit == "m")
    return sum(line.quantity for line in lines if line.group == group)
