"""Limits on the whole example design (money, sizes, stock, noise) and ways to break them."""

from __future__ import annotations

import dataclasses

from optimizer.records.design import CostLine, Design
from optimizer.records.noise import NoiseLimit
from tests.builders.make_design import make_design
from tests.simulate.spoil_tools import PUMP, Spoiled, changed

CAPITAL_CENTS = 4 * 9000 + 4 * 2400 + 12_900 + 8_900
"""What the example's bill says of beds, kits, pump and sump."""


def _laid_m() -> dict[str, float]:
    design, metres = make_design(), {}
    for each in (*design.stretches, *design.drains):
        metres[each.pipe] = metres.get(each.pipe, 0.0) + each.length_m
    return metres


def _stocked(on_hand_share: float, billed_share: float) -> Design:
    """One of its pipes lies ready, by these shares of what is laid of it."""
    pipe, metres = min(_laid_m().items())
    design = changed("promise", stock_m={pipe: on_hand_share * metres})
    line = CostLine("stock", "Pipe", pipe, billed_share * metres, "m", 0)
    return dataclasses.replace(design, costs=(*design.costs, line))


def limited() -> Design:
    """The example within a budget and a number of sizes, both just enough."""
    return changed("promise", budget_cents=CAPITAL_CENTS, pipe_sizes_most=len(_laid_m()))


def with_stock() -> Design:
    """The example with pipe of one size taken from stock, just enough."""
    return _stocked(1.0, 1.0)


def dearer_than_its_budget() -> Spoiled:
    design = changed("promise", budget_cents=CAPITAL_CENTS - 1)
    return design, {("cost", "money to buy with")}


def one_size_too_many() -> Spoiled:
    design = changed("promise", pipe_sizes_most=len(_laid_m()) - 1)
    return design, {("pipe", "sizes of pipe laid anew")}


def more_taken_than_lies_ready() -> Spoiled:
    return _stocked(0.9, 1.0), {(min(_laid_m()), "pipe taken from stock")}


def less_billed_than_is_laid() -> Spoiled:
    promise = "pipe bought and taken from stock is what is laid"
    return _stocked(1.0, 0.9), {(min(_laid_m()), promise)}


QUIET = NoiseLimit(louder_than_db=43.0, hours_per_day_most=8.0)


def heard(noise_db: float | None) -> Design:
    """The example design, which may be loud for 8 hours a day, with a pump of so many decibels."""
    design = changed("promise", noise=QUIET)
    return dataclasses.replace(design, pump=dataclasses.replace(design.pump, noise_db=noise_db))


def pump_heard_too_long() -> Spoiled:
    # 43.1 dB is louder than 43, and the pump runs for 24 hours.
    return heard(43.1), {(PUMP, "hours a day of a loud pump")}


def pump_of_no_told_level() -> Spoiled:
    return heard(None), {(PUMP, "hours a day of a loud pump")}
