"""Extending what was built: what stands is free, the rest is proven least, the pump's reach."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache

import pandas as pd
import pytest
from click.testing import CliRunner

from optimizer.candidates.network import candidate_network
from optimizer.cli import main
from optimizer.errors import BadInput, Infeasible
from optimizer.extension import extend_design, standing_job
from optimizer.formulate.build import formulate
from optimizer.job import Job
from optimizer.pipeline import find_design
from optimizer.reach import on_standing_pump, room_on_pump, with_beds
from optimizer.records.extension import NEW, STAYS, bought_cents
from optimizer.search_settings import SearchSettings
from tests.builders.random_site import random_site
from tests.cli.site_texts import ONE_BED
from tests.oracles.enumerate_problem import least_cost
from tests.tolerances import FORMULA

SEEDS = (2, 3, 5, 6, 9, 11, 14)
"""Tiny invented sites with a row that can grow."""

ALIKE = tuple(seed for seed in SEEDS if seed != 6)
"""All new, the site of seed 6 would leave the place of a standing bed empty: no bound there."""


@cache
def built(seed):
    """A tiny site with nothing standing, and its proven least-cost design."""
    site, catalog = random_site(seed, tiny=True)
    rows = tuple(replace(row, standing_beds=0, standing_type=None) for row in site.rows)
    bare = replace(site, rows=rows, standing=replace(site.standing, pump=None, sump=None, pipes=()))
    job = Job(bare, catalog)
    return job, find_design(job, SearchSettings(gap=0.0))


def grown(job, more=1):
    """The site with its first row longer by so many places, each of them to be built."""
    row = next(row for row in job.site.rows if not row.named)
    longer = replace(
        row,
        positions=row.positions + more,
        beds_most=row.beds_most + more,
        beds_least=row.beds_least + more,
    )
    rows = tuple(longer if each is row else each for each in job.site.rows)
    return replace(job, site=replace(job.site, rows=rows))


def parts_cents(design):
    return sum(c.cents for c in design.costs if c.group == "capital" and c.unit != "site")


@pytest.mark.parametrize("seed", SEEDS)
def test_with_no_new_beds_there_is_nothing_to_buy_and_everything_stays(seed):
    # Hand argument: the old design was least with every part paid. To keep it now costs what it
    # runs for; any other design runs for no less than it saves, as else it would have been chosen.
    job, old = built(seed)
    extension = extend_design(job, old, gap=0.0, room=False)
    running = sum(line.cents for line in old.costs if line.group == "running")
    fixed = sum(c.cents for c in old.costs if c.unit == "site")
    assert extension.design.record.cost_cents == running + fixed
    assert bought_cents(extension.design) == 0
    assert {each.fate for each in extension.fates} == {STAYS}
    assert extension.check.passed


@pytest.mark.parametrize("seed", ALIKE)
def test_an_extension_costs_no_more_than_all_new_and_no_less_than_that_without_what_stands(seed):
    # No more: every part of an all-new design may be bought here, too, or stands for nothing. No
    # less: buying all that stands as well would make it a design of the bare site.
    job, old = built(seed)
    new = grown(job)
    fresh = find_design(new, SearchSettings(gap=0.0))
    extension = extend_design(new, old, gap=0.0, room=False)
    stand = {(bed.id, bed.kind) for bed in old.beds}
    assert stand <= {(bed.id, bed.kind) for bed in extension.design.beds}
    assert stand <= {(bed.id, bed.kind) for bed in fresh.beds}, "so the all-new design is allowed"
    assert extension.design.record.cost_cents <= fresh.record.cost_cents
    assert extension.design.record.cost_cents >= fresh.record.bound_cents - parts_cents(old)


@pytest.mark.parametrize("seed", SEEDS)
def test_an_extension_costs_what_trying_every_combination_finds(seed):
    job, old = built(seed)
    stood = standing_job(grown(job), old)
    oracle = least_cost(formulate(stood.site, stood.catalog, candidate_network(stood.site)).problem)
    assert find_design(stood, SearchSettings(gap=0.0)).record.cost_cents == oracle


@pytest.mark.parametrize("seed", SEEDS[:4])
def test_the_number_that_fits_on_the_standing_pump_is_where_trying_each_number_stops(seed):
    # The twin: with one bed more the same pumps have no design.
    job, old = built(seed)
    stood = standing_job(grown(job, 3), old)
    room = room_on_pump(stood, SearchSettings(gap=0.0))
    able = []
    for beds in range(len(old.beds), room.places + 1):
        try:
            find_design(
                Job(on_standing_pump(with_beds(stood.site, beds), stood.catalog), stood.catalog)
            )
        except Infeasible:
            break
        able.append(beds)
    assert room.fits == (able[-1] if able else None)
    if room.on_pump and room.beyond:
        assert len(room.on_pump.beds) == room.fits < len(room.beyond.beds)
        assert room.why
    if room.on_pump:
        assert (room.on_pump.pump.id, room.on_pump.pump.count) <= (old.pump.id, old.pump.count)


@pytest.mark.parametrize("seed", SEEDS)
def test_what_stays_is_replaced_or_new_adds_up_to_what_is_there(seed):
    job, old = built(seed)
    extension = extend_design(grown(job, 2), old, room=False)
    amounts = {}
    for each in extension.fates:
        if each.after:
            amounts[each.what] = amounts.get(each.what, 0.0) + each.quantity
    design = extension.design
    assert amounts["bed"] == amounts["siphon"] == amounts["valve"] == len(design.beds)
    laid = sum(stretch.length_m for stretch in design.stretches)
    assert amounts["supply pipe"] == pytest.approx(laid, rel=FORMULA, abs=1e-5)
    assert amounts["pump"] == design.pump.count + design.pump.spares
    kept = [each for each in extension.fates if each.fate == STAYS and each.what == "bed"]
    assert sum(each.quantity for each in kept) == len(old.beds)
    new = [each for each in extension.fates if each.fate == NEW and each.what == "bed"]
    assert sum(each.quantity for each in new) == len(design.beds) - len(old.beds)


def test_a_bed_that_has_no_place_stands_elsewhere_or_has_an_unknown_part_is_told_at_once():
    job, old = built(3)
    row = next(row for row in job.site.rows if not row.named)
    moved = replace(row, start=(row.start[0] + 0.5, row.start[1]))
    rows = tuple(moved if each is row else each for each in job.site.rows)
    pumps = {key: pump for key, pump in job.catalog.pumps.items() if key != old.pump.id}
    other = Job(replace(job.site, rows=rows), replace(job.catalog, pumps=pumps))
    with pytest.raises(BadInput) as told:
        standing_job(other, old)
    words = [problem.what for problem in told.value.problems]
    assert any("not in the catalog" in what for what in words)
    assert any("stands at" in what for what in words)
    renamed = tuple(replace(each, id=f"{each.id}x") for each in job.site.rows)
    with pytest.raises(BadInput, match="has no place"):
        standing_job(replace(job, site=replace(job.site, rows=renamed)), old)


def test_the_verb_tells_what_stays_what_is_new_and_how_far_the_pump_reaches(tmp_path):
    now, later = tmp_path / "now.toml", tmp_path / "later.toml"
    now.write_text(ONE_BED)
    later.write_text(ONE_BED.replace("positions = 2", "positions = 4"))
    runner = CliRunner()
    assert runner.invoke(main, ["design", str(now), "--no-nearly"]).exit_code == 0
    design = str(tmp_path / "now-design" / "design.json")
    answer = runner.invoke(main, ["extend", design, str(later), "--json"])
    assert answer.exit_code == 0, answer.output
    told = json.loads(answer.stdout)
    assert (told["beds_before"], told["beds"], told["passed"]) == (2, 4, True)
    assert 0 < told["bought_cents"] < told["cost_cents"]
    assert 2 <= told["room"]["beds_fit"] <= told["room"]["places"] == 4
    table = pd.read_csv(tmp_path / "later-extension" / "extension.csv")
    assert set(table["fate"]) <= {"stays", "replaced", "new", "taken out"}
    assert table.loc[(table["what"] == "bed") & (table["fate"] == "new"), "quantity"].sum() == 2
    assert (tmp_path / "later-extension" / "page.html").is_file()
    words = runner.invoke(main, ["extend", design, str(later), "--no-room"])
    assert words.exit_code == 0
    assert "2 beds more, 4 in all" in words.stdout
