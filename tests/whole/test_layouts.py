"""Layouts of one site, compared: which wins, by how much, and what the proof covers."""

from __future__ import annotations

import threading
from dataclasses import replace

import pytest

from optimizer import alternatives
from optimizer.alternatives import BEATEN, NOT_TRIED, design_layouts
from optimizer.candidates.layouts import layouts_of
from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput, Infeasible, SolverFailed
from optimizer.explore.point import Point, Search, design_point
from optimizer.job import Job
from optimizer.milp.engine import Progress
from optimizer.pipeline import design_job
from optimizer.records.design_io import design_to_text
from optimizer.search_settings import SearchSettings
from tests.builders.random_site import random_site
from tests.oracles.enumerate_site import least_cost_cents
from tests.tolerances import SOLVER
from tests.whole.feature_sites import HEAD, job_of, row_text, site_text

ONE_SIZE = HEAD.replace('["25 mm", "32 mm", "40 mm"]', '["40 mm"]').replace(
    'pumps = ["pump_065w_mid", "pump_100w_mid"]', 'pumps = ["pump_065w_mid"]'
)
NO_RETURNS = "[returns]\ndesigned = false\n"
PRICE_PER_M = 2.0
PRICES = f'[[price]]\npart = "pvcu10_40"\nprice = {PRICE_PER_M}\n'
TWO_ROWS = (row_text("A", (2.65, 0), 1), row_text("B", (2.65, 8), 1))


def symmetric(feed: str, more: str = "") -> str:
    """Two rows 8 m apart, leads at x = 2, the sump half way between them; one size of pipe."""
    sump = 'sump = { x = "0 m", y = "4 m", floor_level = "-0.8 m" }'
    ground = f'{sump}\nheader_fed = "{feed}"'
    return site_text(*TWO_ROWS, NO_RETURNS, PRICES, more, ground=ground, head=ONE_SIZE)


def by_name(design):
    return {layout.name: layout for layout in design.layouts}


def test_on_a_symmetric_site_the_centre_wins_by_the_riser_pipe_an_end_needs_more(tmp_path):
    # By hand: either way the header is 8 m of pipe to both leads. Fed at its centre the riser
    # comes straight across; fed at an end it first runs 4 m along the header, and its one elbow
    # more (that corner) is one fewer where it goes straight on into the near row. So an end costs
    # 4 m of pipe more, and nothing else: one size of pipe, one pump, one sump, the same flow.
    design = design_layouts(job_of(tmp_path, symmetric("any"))).design
    found = by_name(design)
    extra = round(100 * 4.0 * PRICE_PER_M)
    for end in ("south", "north"):
        layout = found[f"header fed at its {end} end"]
        least = layout.cost_cents if layout.note != BEATEN else layout.bound_cents
        assert least is not None and least <= design.record.cost_cents + extra
        assert not layout.chosen
    assert found["header fed where it is nearest to the sump"].chosen
    same = found["header fed at its centre"]
    assert same.note == "its pipes run as with: header fed where it is nearest to the sump"
    ends = [
        design_layouts(job_of(tmp_path, symmetric(end))).design.record.cost_cents
        for end in ("south", "north")
    ]
    assert ends == [design.record.cost_cents + extra] * 2


def test_a_point_of_a_study_on_an_open_layout_is_the_cheapest_layout(tmp_path):
    job = job_of(tmp_path, symmetric("any"))
    row, text = design_point((job, Search()), Point({}))
    best = design_layouts(job).design
    assert (row["outcome"], row["check"]) == ("designed", "passes")
    assert row["cost"] == best.record.cost_cents / 100
    assert text == design_to_text(best)


def test_the_best_layout_costs_what_the_cheapest_of_them_costs_alone(tmp_path):
    # Each layout designed by itself; the sump's places lie 2 m, 5 m and 9 m west of the leads.
    places = "\n".join(
        f'[[ground.sump_place]]\nname = "{n}"\nx = "{x} m"\ny = "3 m"\nfloor_level = "-0.8 m"'
        for n, x in (("far", -7), ("near", 0), ("middle", -3))
    )
    text = site_text(*TWO_ROWS, NO_RETURNS, PRICES, places, ground="", head=ONE_SIZE)
    job = job_of(tmp_path, text)
    design = design_layouts(job).design
    alone = {
        layout.name: design_job(Job(layout.site, job.catalog)).design.record
        for layout in layouts_of(job.site)
    }
    costs = {name: record.cost_cents for name, record in alone.items()}
    assert design.record.cost_cents == min(costs.values()) == costs["sump at 'near'"]
    assert by_name(design)["sump at 'near'"].chosen
    assert (design.sump.x_m, design.sump.y_m) == (0.0, 3.0)
    # Straight west of the header's near end: 3 m and 7 m of riser more, by hand.
    assert costs["sump at 'middle'"] - costs["sump at 'near'"] == round(100 * 3.0 * PRICE_PER_M)
    assert costs["sump at 'far'"] - costs["sump at 'near'"] == round(100 * 7.0 * PRICE_PER_M)
    # No layout costs less than the bound of the whole.
    assert design.record.bound_cents <= min(costs.values()) * (1 + SOLVER)
    assert design.record.bound_cents == min(each.bound_cents for each in design.layouts)


@pytest.mark.parametrize("seed", range(8))
def test_the_least_cost_over_layouts_is_that_of_trying_every_choice_in_every_layout(seed):
    # The enumeration tries every count, kit, size, valve, pump and sump of each layout.
    site, catalog = random_site(seed, 3, tiny=True)
    ground = replace(site.ground, corridors=(), keep_outs=(), header_fed="any")
    site = replace(site, ground=ground)
    costs = [
        least_cost_cents(layout.site, catalog, candidate_network(layout.site))
        for layout in layouts_of(site)
    ]
    possible = [cost for cost in costs if cost is not None]
    if possible:
        record = design_layouts(Job(site, catalog), SearchSettings(gap=0.0)).design.record
        assert (record.cost_cents, record.status) == (min(possible), "optimal")
        assert record.bound_cents <= min(possible)
    else:
        with pytest.raises(Infeasible):
            design_layouts(Job(site, catalog), SearchSettings(gap=0.0))


POND = '[[ground.keep_out]]\nname = "pond"\nfrom = ["1.5 m", "-0.5 m"]\nto = ["1.9 m", "0.5 m"]'


def test_a_layout_whose_pipe_is_blocked_is_listed_with_the_reason(tmp_path):
    # The pond lies across the riser's last piece to the south end, and on no other way.
    design = design_layouts(job_of(tmp_path, symmetric("end", POND))).design
    south, north = design.layouts
    assert (south.cost_cents, south.bound_cents, south.chosen) == (None, None, False)
    assert "keep-out 'pond'" in south.note
    assert north.chosen and design.record.status == "optimal"


def test_where_every_layout_is_blocked_each_position_is_named_once(tmp_path):
    other = POND.replace("pond", "shed").replace("-0.5 m", "7.5 m").replace('"0.5 m"', '"8.5 m"')
    with pytest.raises(BadInput) as caught:
        design_layouts(job_of(tmp_path, symmetric("end", POND + "\n" + other)))
    assert {p.where for p in caught.value.problems} == {"position A1", "position B1"}


def test_where_no_layout_has_a_design_each_says_what_stands_in_its_way(tmp_path):
    # A tall stand: no way to lay the header makes the pump stronger.
    text = symmetric("end").replace("spacing", 'level = "4 m"\nspacing')
    with pytest.raises(Infeasible) as caught:
        design_layouts(job_of(tmp_path, text))
    for end in ("south", "north"):
        assert f"header fed at its {end} end: " in caught.value.clash
    assert {r.requirement.split(": ")[0] for r in caught.value.remedies} <= {
        "header fed at its south end",
        "header fed at its north end",
    }


def test_a_layout_that_cannot_win_is_given_up_with_a_bound_above_the_winner(tmp_path, monkeypatch):
    # The second search reports a bound above the first one's cost before it has any design.
    job = job_of(tmp_path, symmetric("end"))
    first, calls = design_job(Job(layouts_of(job.site)[0].site, job.catalog)), []

    def pretend(job, search):
        calls.append(job)
        if len(calls) == 1:
            return first
        search.progress(Progress(0.1, None, first.design.record.cost_cents + 1.0))
        assert search.stop.is_set()
        raise SolverFailed("The search was stopped before a first design.")

    monkeypatch.setattr(alternatives, "design_job", pretend)
    record, (south, north) = (answer := design_layouts(job)).design.record, answer.design.layouts
    assert south.chosen and record.status == "optimal"
    assert (north.cost_cents, north.note) == (None, BEATEN)
    assert north.bound_cents > record.cost_cents >= record.bound_cents


def test_a_stop_keeps_the_best_layout_so_far_and_claims_nothing_of_the_others(
    tmp_path, monkeypatch
):
    job, stop = job_of(tmp_path, symmetric("end")), threading.Event()
    first = design_job(Job(layouts_of(job.site)[0].site, job.catalog))

    def pretend(job, search):
        search.stop.set()  # as Ctrl-C does
        return first

    monkeypatch.setattr(alternatives, "design_job", pretend)
    design = design_layouts(job, SearchSettings(stop=stop)).design
    assert stop.is_set()
    assert (design.record.status, design.record.bound_cents) == ("stopped", 0.0)
    assert [layout.note for layout in design.layouts] == ["", NOT_TRIED]


def test_a_stop_before_any_design_is_no_answer(tmp_path):
    stop = threading.Event()
    stop.set()
    with pytest.raises(SolverFailed):
        design_layouts(job_of(tmp_path, symmetric("end")), SearchSettings(stop=stop))
