"""Phases of a file become steps: rows that are open, years that count, what money is worth."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput
from optimizer.phasing.steps import steps_of, without_used_stock
from optimizer.pipeline import find_design, job_of
from optimizer.reading.site import read_site_text
from optimizer.records.site import StockPipe
from tests.phasing.phase_texts import FAULTY_PHASES, THREE_PHASES, YARD
from tests.tolerances import FORMULA


def yard(phases=THREE_PHASES):
    return job_of(read_site_text(YARD + phases, "yard.toml"))


def test_each_step_runs_until_the_next_and_money_of_its_year_is_discounted():
    # By hand: 8 planning years, phases in years 0, 1.5 and 4, 6 % a year; energy 2 % dearer a year.
    first, more, last = steps_of(yard())
    assert [s.years for s in (first, more, last)] == pytest.approx([1.5, 2.5, 4.0], rel=FORMULA)
    assert [s.worth for s in (first, more, last)] == pytest.approx(
        [1.0, 1.06**-1.5, 1.06**-4.0], rel=FORMULA
    )
    base = yard().site.goals.energy_price_per_kwh
    assert more.job.site.goals.energy_price_per_kwh == pytest.approx(base * 1.02**1.5, rel=FORMULA)
    assert [s.name for s in (first, more, last)] == ["phase 1", "more", "phase 3"]


def test_a_step_asks_for_the_beds_that_are_there_by_then():
    asked = [step.job.site.goals.beds_least for step in steps_of(yard())]
    assert asked == [2, 3, 5]


def test_no_pipe_leads_to_a_row_that_is_not_open_and_the_header_lies_where_the_whole_has_it():
    first, *_, last = steps_of(yard())
    early, whole = (candidate_network(step.job.site) for step in (first, last))
    assert {p.row for p in early.positions} == {"A"}
    assert all(s.row in ("A", None) for s in early.stretches)
    assert {p.id: (p.x_m, p.y_m) for p in early.positions}.items() <= {
        p.id: (p.x_m, p.y_m) for p in whole.positions
    }.items()
    # The whole has a tee where B's lateral leaves; with B closed no stretch begins at one on the
    # way to A's first bed.
    to_first = next(s for s in early.stretches if s.tail == "pump")
    assert not {"tee_run", "tee_branch"} & {name for name, _ in to_first.fittings}


def test_pipe_that_a_step_took_from_the_shed_is_not_there_for_the_next():
    job = yard()
    stock = (StockPipe("pvcu10_32", 2.0), StockPipe("pvcu10_25", 3.0))
    standing = replace(job.site.standing, stock=stock)
    job = replace(job, site=replace(job.site, standing=standing, phases=()))
    design = find_design(job)
    used = {c.part: c.quantity for c in design.costs if c.group == "stock"}
    assert used, "the design lays some of it"
    left = {s.pipe: s.length_m for s in without_used_stock(job, design).site.standing.stock}
    for each in stock:
        rest = each.length_m - used.get(each.pipe, 0.0)
        assert left.get(each.pipe, 0.0) == pytest.approx(rest, abs=FORMULA)


def test_every_fault_of_the_phases_is_told_at_once_with_its_line():
    with pytest.raises(BadInput) as told:
        yard(FAULTY_PHASES)
    faults = {(p.where.rpartition(", ")[2], p.what) for p in told.value.problems}
    wheres = {where for where, _ in faults}
    assert wheres >= {
        "phase[1].year",
        "phase[2].year",
        "phase[3].year",
        "phase[1].rows[2]",
        "phase[2].rows[1]",
        "phase[3].rows",
        "phase[2].beds",
        "phase[3].beds",
    }
    assert all(p.where.startswith("yard.toml line ") for p in told.value.problems)
    assert any("no phase builds B" in what for _, what in faults)


def test_a_file_without_phases_is_refused_and_says_what_to_add():
    with pytest.raises(BadInput, match=r"no \[\[phase\]\]") as told:
        steps_of(yard(""))
    assert "year = 0" in told.value.problems[0].fix


@pytest.mark.parametrize(
    ("table", "key"),
    [
        ('[zones]\nrows = [["A"], ["B"]]\n', "zones"),
        ('[header_tank]\nat = ["1 m", "1 m"]\nwater_level = "2.2 m"\npart = "sump_0300"\n', "tank"),
        ('[header_ring]\nthrough = [["1 m", "0 m"]]\n', "header_ring"),
    ],
)
def test_phases_beside_a_tank_zones_or_a_ring_are_refused(table, key):
    with pytest.raises(BadInput, match=key):
        yard(THREE_PHASES + table)


PHASE_FAULTS = [
    ('year = 0\nname = "one"\nbeds = 1\n', 'year = 2\nname = "one"\n', "phase[2].name", "again"),
    ("year = 0\nbeds = 1\n", 'year = 2\nrows = ["A", "B"]\n', "phase[1]", "the first does not"),
    ("year = 0\n", "year = 2\n", "phase[1]", "how many beds neither by itself nor by rows"),
]


@pytest.mark.parametrize(("first", "second", "where", "what"), PHASE_FAULTS)
def test_a_fault_of_the_phases_is_named_by_its_key(first, second, where, what):
    optional = YARD.replace("positions = 2\n", "positions = 2\nbeds_least = 0\n")
    optional = optional.replace("positions = 3\n", "positions = 3\nbeds_least = 0\n")
    phases = f"[[phase]]\n{first}[[phase]]\n{second}"
    with pytest.raises(BadInput) as told:
        job_of(read_site_text(optional.replace("[goal]", "[goal]\nbeds = 2") + phases, "yard.toml"))
    assert any(p.where.endswith(where) and what in p.what for p in told.value.problems)


def test_a_row_whose_beds_stand_already_belongs_to_the_first_phase():
    standing = 'standing_beds = 1\nstanding_type = "tub"\n'
    text = YARD.replace("positions = 3\n", f"positions = 3\n{standing}")
    with pytest.raises(BadInput, match="beds stand in row B already") as told:
        job_of(read_site_text(text + THREE_PHASES, "yard.toml"))
    (problem,) = [p for p in told.value.problems if "stand in row" in p.what]
    assert problem.fix == "Add 'B' to these rows."
