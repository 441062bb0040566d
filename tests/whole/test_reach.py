"""How many beds fit on today's pump: tees stand where rows are built, and what runs fits."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import combinations

import pytest

from optimizer.candidates.network import candidate_network
from optimizer.errors import Infeasible
from optimizer.extension import standing_job
from optimizer.job import Job
from optimizer.pipeline import find_design, job_of
from optimizer.reach import (
    closed,
    on_standing_pump,
    room_on_pump,
    undecided,
    with_beds,
    without_open_tees,
)
from optimizer.reading.site import read_site_text
from optimizer.records.extension import bought_cents
from optimizer.search_settings import SearchSettings
from tests.phasing.phase_texts import YARD

FAR_ROW = """
[[row]]
name = "C"
start = ["1.5 m", "4 m"]
towards = "east"
positions = 2
spacing = "1 m"
"""


@cache
def stood(first="B", far=False):
    """A yard of three rows of which one stands, on a pump that is the only one for sale.

    ``far``: the sump is so far away, by one thin pipe, that what pipe loses decides.
    """
    text = YARD.replace("\n[buy]", FAR_ROW + "\n[buy]")
    pump, pipes = ("pump_040w_mid", '"25 mm", "32 mm"') if not far else ("pump_065w_mid", '"25 mm"')
    text = text.replace('pipes = ["25 mm", "32 mm"]', f"pipes = [{pipes}]")
    text = text.replace('x = "0 m"', 'x = "-45 m"' if far else 'x = "0 m"')
    job = job_of(read_site_text(text, "yard.toml"))
    site = replace(job.site, purchase=replace(job.site.purchase, pumps=(pump,)))
    names = [row.id for row in site.rows if row.id != first]
    bare = closed(replace(site, rows=tuple(_optional(row) for row in site.rows)), names)
    old = find_design(Job(with_goal(bare, 2), job.catalog), SearchSettings(gap=0.0))
    return standing_job(Job(site, job.catalog), old)


def _optional(row):
    return replace(row, beds_least=0)


def with_goal(site, beds):
    return replace(site, goals=replace(site.goals, beds_least=beds))


def weaker(job, share):
    """The job with every head of its standing pump times a share."""
    pumps = dict(job.catalog.pumps)
    pump = pumps[job.site.standing.pump]
    pumps[pump.id] = replace(pump, heads_m=tuple(share * head for head in pump.heads_m))
    return replace(job, catalog=replace(job.catalog, pumps=pumps))


def fits(job, site):
    try:
        find_design(Job(on_standing_pump(site, job.catalog), job.catalog))
    except Infeasible:
        return False
    return True


def by_trying_every_set_of_rows(job):
    """Return the most beds that fit, each set of rows closed in turn; the halving is not used."""
    open_rows = [row.id for row in undecided(with_beds(job.site, 1))]
    sets = [s for n in range(len(open_rows) + 1) for s in combinations(open_rows, n)]
    most = 0
    for beds in range(1, sum(row.positions for row in job.site.rows) + 1):
        sites = [closed(with_beds(job.site, beds), names) for names in sets]
        sites = [s for s in sites if sum(row.beds_most for row in s.rows) >= beds]
        if any(fits(job, site) for site in sites):
            most = beds
    return most


SHARES = (1.0, 0.86, 0.8, 0.76)


@pytest.mark.parametrize("share", SHARES)
def test_the_number_is_what_trying_every_set_of_rows_finds(share):
    job = weaker(stood(), share)
    room = room_on_pump(job)
    assert (room.fits or 0) == by_trying_every_set_of_rows(job)
    assert room.fits_at_most == room.fits


def test_a_bed_that_only_an_unbuilt_row_s_tee_would_forbid_fits():
    # Row C stands farthest out; A and B before it are not built. Halving finds the least share of
    # the pump's heads at which two beds of C run with those rows' tees counted, and without. In
    # between the program alone refuses what stands, and one bed more is found with rows closed.
    job = stood("C", far=True)
    standing = len([row for row in job.site.rows if row.standing_beds])
    assert standing == 1
    beds = 2

    def least_share(site):
        low, high = 0.3, 1.0
        assert fits(weaker(job, high), site)
        for _ in range(14):
            middle = (low + high) / 2.0
            low, high = (low, middle) if fits(weaker(job, middle), site) else (middle, high)
        return high

    open_site = with_beds(job.site, beds)
    with_tees = least_share(open_site)
    without = least_share(closed(open_site, ["A", "B"]))
    assert without < with_tees - 1e-4
    between = weaker(job, (without + with_tees) / 2.0)
    assert not fits(between, open_site)
    assert room_on_pump(between).fits >= beds
    # The twin: below both no set of rows has a design, and the room says so.
    below = weaker(job, without - 0.01)
    assert room_on_pump(below).fits is None
    assert by_trying_every_set_of_rows(below) < beds


def test_without_undecided_tees_only_losses_at_rows_that_may_stay_empty_go():
    job = stood("C", far=True)
    site = with_beds(job.site, 2)
    whole = candidate_network(site)
    bare = without_open_tees(whole, {row.id for row in undecided(site)})
    for before, after in zip(whole.stretches, bare.stretches, strict=True):
        lost = set(before.fittings) - set(after.fittings)
        assert {name for name, _ in lost} <= {"tee_run", "tee_branch"}
        if before.tail.startswith("take_off C"):  # a bed's own tee is there with the bed
            assert not lost
    same = without_open_tees(whole, set())
    assert same == whole


def test_a_row_that_stays_empty_buys_no_tee_in_the_design_of_the_number_that_fits():
    # Twin search: with the empty rows closed by hand it costs no less.
    job = weaker(stood(), SHARES[1])
    design = room_on_pump(job).on_pump
    empty = {row.id for row in job.site.rows} - {bed.row for bed in design.beds}
    site = closed(with_beds(job.site, len(design.beds)), empty)
    again = find_design(Job(on_standing_pump(site, job.catalog), job.catalog))
    assert bought_cents(design) <= bought_cents(again)
