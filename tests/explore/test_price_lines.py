"""Least cost against a price: every corner found, against an enumeration at many prices."""

from __future__ import annotations

from itertools import pairwise

import pytest

from optimizer.errors import FloodwrightError
from optimizer.explore.changes import changed
from optimizer.explore.cost_line import Line, energy_line
from optimizer.explore.price_lines import (
    Piece,
    break_evens,
    break_evens_between,
    cheapest_pieces,
    energy_front,
)
from optimizer.explore.reprice import repriced
from tests.builders.zoned_design import SITE, ZONES, job_of, zoned_design
from tests.explore.small import CENT, enumerated_cost, tiny_study
from tests.tolerances import FORMULA

LINES_ROUNDED = 3 * CENT
"""A price moves at most three lines of a bill, each rounded to a cent."""

HIGH = 1.0


def at(pieces, price):
    return next(piece.line.at(price) for piece in pieces if piece.low <= price <= piece.high)


@pytest.mark.parametrize("seed", [0, 1, 3, 4, 6, 7])
def test_the_cheapest_pieces_cost_what_an_enumeration_finds_at_every_price(seed):
    study = tiny_study(seed)
    pieces = cheapest_pieces(study, "energy_price", 0.0, HIGH)
    for step in range(11):
        price = HIGH * step / 10.0
        cost = enumerated_cost(study.job, energy_price=price)
        assert at(pieces, price) == pytest.approx(cost, abs=LINES_ROUNDED)


@pytest.mark.parametrize("price", [0.0, 0.5, 3.0])
def test_a_line_against_the_energy_price_counts_what_timed_valves_draw(price):
    # The stored design billed anew at the price, line by line, each valve's power rounded apart.
    job, design = job_of(SITE + ZONES), zoned_design()
    bill = repriced(design, changed(job, {"energy_price": price})).record.cost_cents / 100.0
    rounded = LINES_ROUNDED + len(design.zones.valves) * CENT
    assert energy_line(design, job).at(price) == pytest.approx(bill, abs=rounded)


def test_pieces_join_without_a_gap_and_bend_downward_only():
    pieces = cheapest_pieces(tiny_study(1), "energy_price", 0.0, HIGH)
    assert len(pieces) == 2  # seed 1: a strong pump while energy is all but free, then a weak one
    assert (pieces[0].low, pieces[-1].high) == (0.0, HIGH)
    for left, right in pairwise(pieces):
        assert left.high == right.low
        assert left.line.per_price > right.line.per_price
        assert left.line.at(left.high) == pytest.approx(right.line.at(left.high), rel=FORMULA)


def test_at_a_break_even_energy_price_both_designs_bill_the_same():
    # Independent of the lines: both stored designs are billed anew at the price, line by line.
    study = tiny_study(1)
    (met,) = break_evens(cheapest_pieces(study, "energy_price", 0.0, HIGH))
    job = changed(study.job, {"energy_price": met.price})
    bills = [
        repriced(study.design(row), job).record.cost_cents / 100.0 for row in (met.below, met.above)
    ]
    assert bills[0] == pytest.approx(bills[1], abs=LINES_ROUNDED)
    assert met.below["chosen_pump"] != met.above["chosen_pump"]


def test_just_beside_a_break_even_price_the_program_chooses_as_told():
    study = tiny_study(1)
    (met,) = break_evens(cheapest_pieces(study, "energy_price", 0.0, HIGH))
    below, above = study.rows(
        [{"energy_price": 0.5 * met.price}, {"energy_price": 2.0 * met.price}]
    )
    assert below["chosen_pump"] == met.below["chosen_pump"]
    assert above["chosen_pump"] == met.above["chosen_pump"]


@pytest.mark.parametrize("seed", [0, 3])
def test_least_cost_against_the_price_of_the_chosen_pump_agrees_with_an_enumeration(seed):
    study = tiny_study(seed)
    pump = study.design(study.base).pump.id
    name, high = f"pump_price {pump}", 20.0 * study.job.catalog.pumps[pump].price
    pieces = cheapest_pieces(study, name, 0.0, high)
    for step in range(6):
        price = high * step / 5.0
        cost = enumerated_cost(study.job, **{name: price})
        assert at(pieces, price) == pytest.approx(cost, abs=LINES_ROUNDED)


def test_a_site_without_a_design_has_no_pieces():
    assert cheapest_pieces(tiny_study(5), "energy_price", 0.0, HIGH) == []


def test_a_bill_that_does_not_follow_the_price_is_refused(monkeypatch):
    monkeypatch.setattr("optimizer.explore.cost_line.energy_line", lambda *_: Line(1.0, 1.0))
    with pytest.raises(FloodwrightError, match="straight line"):
        cheapest_pieces(tiny_study(1), "energy_price", 0.0, HIGH)


def piece(pump, fixed, slope, low, high):
    return Piece({"chosen_pump": pump}, Line(fixed, slope), low, high, 0.0)


def test_two_families_trade_places_where_their_lines_cross():
    # X: 100 + 10 p. Y: 120 + 5 p up to p = 6, then 132 + 3 p. X = Y at p = 4, and not again:
    # at p = 6 X costs 160, Y 150.
    x = [piece("X", 100.0, 10.0, 0.0, 10.0)]
    y = [piece("Y", 120.0, 5.0, 0.0, 6.0), piece("Y", 132.0, 3.0, 6.0, 10.0)]
    (met,) = break_evens_between(x, y)
    assert (met.price, met.cost) == (4.0, 140.0)
    assert (met.below["chosen_pump"], met.above["chosen_pump"]) == ("X", "Y")


def test_two_families_that_never_cross_have_no_break_even():
    assert not break_evens_between(
        [piece("X", 100.0, 5.0, 0.0, 10.0)], [piece("Y", 120.0, 5.0, 0.0, 10.0)]
    )


def test_the_energy_front_trades_energy_for_all_else():
    rows = energy_front(tiny_study(1), HIGH).rows
    energies = [row["energy_kwh_per_year"] for row in rows]
    others = [row["cost_without_energy"] for row in rows]
    assert energies == sorted(energies, reverse=True) and others == sorted(others)
    assert rows[0]["most_until_next"] == others[1]
    assert rows[0]["least_until_next"] <= others[0]
