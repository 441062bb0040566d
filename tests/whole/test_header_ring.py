"""A site whose header is a ring: sized as trying everything says, and checked like any design."""

from __future__ import annotations

import threading
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from optimizer import ring_header
from optimizer.alternatives import design_layouts
from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput, Infeasible
from optimizer.extension import extend_design
from optimizer.formulate.ring_tables import lossless
from optimizer.job import Job
from optimizer.milp.formulations import solve
from optimizer.milp.ring_search import GAP_LEAST, RingSearch
from optimizer.pipeline import design_job, find_design
from optimizer.records.design_io import design_from_dict, design_to_dict, design_to_text
from optimizer.records.header_ring import CLOSING
from optimizer.report.summary import summary
from optimizer.report.words_ring import ring_sentences
from optimizer.ring_built import ring_ground
from optimizer.ring_header import NoRing
from optimizer.search_settings import SearchSettings
from optimizer.simulate.check import check_design
from optimizer.simulate.day.power_cut import power_cut
from optimizer.simulate.valves import set_valves
from tests.builders.ring_site import LONG_WAY, ring_text
from tests.oracles.enumerate_ring_site import cheapest_pipe_cents
from tests.tolerances import FORMULA
from tests.whole.feature_sites import HEAD, job_of

TWO_SIZES = HEAD.replace('["25 mm", "32 mm", "40 mm"]', '["32 mm", "40 mm"]')
NARROW = HEAD.replace('["25 mm", "32 mm", "40 mm"]', '["25 mm"]')
SLOW = HEAD.replace('floods = "2 per hour"', 'floods = "2 per hour"\nvelocity_limit = "0.4 m/s"')
STRONG, WEAK = "pump_100w_mid", "pump_065w_mid"
HALF_A_CENT = 0.5


def job(text: str) -> Job:
    with TemporaryDirectory() as folder:
        return job_of(Path(folder), text)


@cache
def ringed(**how: str | int):
    """The design of a site with a ring, and its check."""
    made = job(ring_text(**how))
    return made, design_job(made)


def sized(made: Job, pumps: tuple[str, ...] = ()):
    """A site's ring as the program sizes it, beside what trying everything says."""
    site = replace(made.site, purchase=replace(made.site.purchase, pumps=pumps))
    network = candidate_network(site)
    ground = ring_ground(site, made.catalog, network)
    problem, shared = ground.made.problem, ground.shared
    choice = solve(lossless(problem, network, shared))
    ring = ground.ring(choice)
    again = cheapest_pipe_cents(site, made.catalog, network, problem, shared, choice)
    return ring, shared, again


CASES = {
    "three rows, short way": {"rows": 3, "positions": 1},
    "three rows, long way": {"rows": 3, "positions": 1, "through": LONG_WAY},
    "fed in the middle": {"rows": 3, "positions": 1, "feed": "centre"},
    "four rows": {"rows": 4, "positions": 1, "head": TWO_SIZES},
    "two beds a row": {"rows": 3, "positions": 2, "head": TWO_SIZES},
    "water held slow": {"rows": 3, "positions": 1, "head": SLOW},
}


@pytest.mark.parametrize("pump", [STRONG, WEAK])
@pytest.mark.parametrize("case", CASES)
def test_a_small_ring_costs_what_trying_every_size_of_every_pipe_says(case, pump):
    made = job(ring_text(**CASES[case]))
    ring, _, again = sized(made, (pump,))
    found = RingSearch(ring.network, GAP_LEAST, threading.Event()).run()
    assert again is not None
    assert 100.0 * found.cost == pytest.approx(again[0], abs=HALF_A_CENT)
    assert found.bound == pytest.approx(found.cost, rel=GAP_LEAST)


def test_a_limit_of_velocity_asks_for_wider_pipe_in_a_ring_too():
    costs = [
        RingSearch(sized(job(ring_text(**CASES[case])))[0].network, GAP_LEAST, threading.Event())
        .run()
        .cost
        for case in ("three rows, short way", "water held slow")
    ]
    assert costs[0] < costs[1]


def test_where_trying_everything_finds_no_sizes_the_program_proves_there_are_none():
    made = job(ring_text(rows=4, positions=1))
    ring, _, _ = sized(made)
    thin = replace(ring.network, available_m=float(min(ring.network.required_m[-4:])) + 0.01)
    with pytest.raises(Infeasible, match="No sizes keep all heads"):
        RingSearch(thin, GAP_LEAST, threading.Event()).run()
    # 25 mm pipe alone: the riser would carry the water of twelve beds far above 1.5 m/s.
    with pytest.raises(Infeasible):
        design_job(job(ring_text(rows=4, positions=3, head=NARROW)))


def test_sizes_that_are_not_wanted_give_way_to_others_that_cost_no_less():
    made = job(ring_text(rows=3, positions=1))
    ring, _, _ = sized(made)
    first = RingSearch(ring.network, GAP_LEAST, threading.Event()).run()
    banned = frozenset({first.chosen})
    second = RingSearch(ring.network, GAP_LEAST, threading.Event(), banned=banned).run()
    assert second.chosen != first.chosen
    assert second.cost >= first.cost
    third = RingSearch(
        ring.network, GAP_LEAST, threading.Event(), banned=banned | {second.chosen}
    ).run()
    assert third.cost >= second.cost


@pytest.mark.parametrize("case", ["three rows, long way", "fed in the middle"])
def test_a_ring_keeps_every_promise_through_a_day_and_a_power_cut(case):
    _, answer = ringed(**CASES[case])
    assert answer.check.passed
    assert any(f.promise.startswith("floods") for f in answer.check.findings)
    cut = power_cut(answer.design)
    assert cut.keeps_freeboard
    # The bed's valves, set by the check's own flows, stand as the design says.
    settings = set_valves(answer.design).settings
    for bed in answer.design.beds:
        assert bed.valve_head_m == pytest.approx(settings[bed.id].head_m, abs=1e-6)


@pytest.mark.parametrize("case", CASES)
def test_water_runs_from_tail_to_head_and_what_comes_to_a_node_leaves_it(case):
    _, answer = ringed(**CASES[case])
    design = answer.design
    flows: dict[str, float] = {}
    for s in design.stretches:
        assert s.flow_m3_s >= 0.0
        assert s.loss_m >= 0.0
        flows[s.tail] = flows.get(s.tail, 0.0) - s.flow_m3_s
        flows[s.head] = flows.get(s.head, 0.0) + s.flow_m3_s
    inner = set(flows) - {"pump"} - {bed.id for bed in design.beds}
    for node in inner:
        assert flows[node] == pytest.approx(0.0, abs=1e-12)


def without_offering(catalog, pump):
    """The catalog with a pump that nobody would pay: allowed as before, so that sumps stay deep."""
    dear = replace(catalog.pumps[pump], price=catalog.pumps[pump].price + 1e5)
    return replace(catalog, pumps={**catalog.pumps, pump: dear})


def test_the_bound_lies_below_what_the_ring_costs_with_either_pump():
    made, answer = ringed(rows=3, positions=2)
    bound, costs = answer.design.ring.bound_cents, []
    for pump in (STRONG, WEAK):
        design = find_design(Job(made.site, without_offering(made.catalog, pump)))
        assert design.pump.id != pump
        costs.append(design.record.cost_cents)
    assert bound <= min(costs)
    assert answer.design.record.cost_cents == min(costs)


def test_open_and_ring_are_both_priced_and_the_cheaper_is_offered():
    made = job(ring_text(rows=3, positions=2, wanted="cheaper"))
    design = design_layouts(made).design
    found = {layout.name: layout for layout in design.layouts}
    opened, ring = found["header left open"], found["header closed into a ring"]
    assert opened.cost_cents == design.record.cost_cents
    assert ring.cost_cents > opened.cost_cents
    assert design.ring is None
    assert design.record.bound_cents <= min(opened.bound_cents, ring.bound_cents)
    alone = find_design(Job(replace(made.site, header_ring=None), made.catalog))
    assert alone.record.cost_cents == opened.cost_cents


def narrower(design, name):
    """The design with one stretch's bore cut by a third, nothing else."""
    return replace(
        design,
        stretches=tuple(
            replace(s, bore_m=s.bore_m * 2.0 / 3.0) if s.id == name else s for s in design.stretches
        ),
    )


def test_a_ring_with_one_stretch_narrower_than_it_says_is_caught():
    _, answer = ringed(rows=4, positions=3)
    for name in answer.design.ring.stretches:
        flow = next(s.flow_m3_s for s in answer.design.stretches if s.id == name)
        if flow > 1e-5:  # where water nearly stands still a bore changes nothing
            report = check_design(narrower(answer.design, name))
            assert not report.passed, name


def test_a_ring_without_its_closing_pipe_is_caught():
    _, answer = ringed(rows=4, positions=3)
    kept = tuple(s for s in answer.design.stretches if s.id != CLOSING)
    with pytest.raises(BadInput, match="leads to no such part"):
        check_design(replace(answer.design, stretches=kept))
    report = check_design(replace(answer.design, stretches=kept, ring=None))
    assert not report.passed


def test_pipes_that_make_no_ring_are_refused_when_a_design_is_read():
    _, answer = ringed(rows=3, positions=1)
    plain = design_to_dict(answer.design)
    assert design_from_dict(plain).ring == answer.design.ring
    plain["ring"]["stretches"] = plain["ring"]["stretches"][1:]
    with pytest.raises(BadInput, match="do not close"):
        design_from_dict(plain)
    plain["ring"]["stretches"] = []
    with pytest.raises(BadInput, match="ring, stretches: There are none"):
        design_from_dict(plain)


def test_the_same_site_gives_the_same_ring_to_the_byte():
    made, answer = ringed(rows=3, positions=1)
    again = design_job(made)
    assert design_to_text(again.design) == design_to_text(answer.design)


def test_the_complete_program_chooses_beds_and_pump_of_the_same_cost():
    made, answer = ringed(rows=3, positions=1)
    again = find_design(made, SearchSettings(formulation="complete"))
    assert again.record.cost_cents == pytest.approx(answer.design.record.cost_cents, rel=2e-4)


def test_rings_that_all_fail_their_check_are_not_handed_over(monkeypatch):
    made = job(ring_text(rows=3, positions=1))
    refused = []

    def refusing(design):
        refused.append(design.ring)
        report = check_design(design)
        bad = replace(report.findings[0], passed=False, promise="a promise of this test")
        return replace(report, findings=(bad, *report.findings[1:]))

    monkeypatch.setattr(ring_header, "check_whole", refusing)
    monkeypatch.setattr(ring_header, "TRIES", 3)
    with pytest.raises(NoRing, match="3 cheapest rings fail their check") as raised:
        find_design(made)
    assert len(refused) in (3, 6)
    assert raised.value.bound_cents > 0.0


def test_a_ring_that_fails_at_first_is_followed_by_the_next_cheapest(monkeypatch):
    made = job(ring_text(rows=3, positions=1))
    seen = []

    def choosy(design):
        seen.append(design.record.cost_cents)
        report = check_design(design)
        if len(seen) > 1:
            return report
        return replace(report, findings=(replace(report.findings[0], passed=False),))

    monkeypatch.setattr(ring_header, "check_whole", choosy)
    design = find_design(made)
    assert seen[1] >= seen[0]
    assert design.ring.pipe_cents >= design.ring.pipe_bound_cents


def test_words_say_what_is_proven_and_what_is_not():
    _, answer = ringed(rows=3, positions=1, through=LONG_WAY)
    said = " ".join(ring_sentences(answer.design))
    assert "They meet" in said
    assert "proven the least for these beds and this pump" in said
    assert "other beds or another pump might make a cheaper ring" in said
    assert answer.design.ring.pipe_bound_cents == pytest.approx(
        answer.design.ring.pipe_cents, rel=FORMULA
    )
    assert summary(answer.design, answer.check, []) is not None


def test_a_ring_is_not_extended_but_refused_in_words():
    made, answer = ringed(rows=3, positions=1)
    with pytest.raises(BadInput, match="by one way to every bed"):
        extend_design(made, answer.design)


def test_a_search_that_runs_out_of_time_says_so_and_still_has_a_checked_ring():
    made = job(ring_text(rows=3, positions=1))
    design = find_design(made, SearchSettings(time_limit_s=0.0))
    assert design.record.status == "stopped"
    assert check_design(design).passed
    assert design.record.bound_cents <= design.record.cost_cents


def test_a_row_in_the_middle_may_stay_empty_and_the_ring_still_closes():
    loose = HEAD.replace('floods = "2 per hour"', 'floods = "2 per hour"\nbeds = 2')
    design = find_design(job(ring_text(rows=4, positions=1, head=loose)))
    assert sorted(bed.row for bed in design.beds) == ["A", "D"]
    assert len(design.ring.stretches) == 4
    assert check_design(design).passed
