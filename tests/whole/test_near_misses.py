"""What nearly decided otherwise: every price against the changed site file designed on its own."""

from __future__ import annotations

import re
import threading
from dataclasses import replace

import pytest

from optimizer import near_misses as module
from optimizer.errors import Infeasible
from optimizer.near_misses import (
    NO_TIME,
    NOT_TRIED,
    NOTHING_SAVED,
    PLACES_MOST,
    STOPPED,
    with_near_misses,
)
from optimizer.pipeline import design_job
from optimizer.records.near_miss import NearMiss
from optimizer.search_settings import SearchSettings
from tests.builders.site_parts import TUB, row_text, sump_text
from tests.whole.site_file import designed, job_of

SIZES = ["25 mm", "32 mm", "50 mm", "63 mm"]
PUMPS = ["pump_015w_mid", "pump_025w_mid", "pump_040w_mid", "pump_065w_mid"]


def quoted(names: list[str]) -> str:
    return str(names).replace("'", '"')


KEYS = {
    "floods": '"2 per hour"',
    "beds": "2",
    "robustness": '"most"',
    "level_drift": '"8 %"',
    "valve_setting_error": '"7 %"',
    "velocity_limit": '"0.4 m/s"',
    "positions": "3",
    "pumps": quoted(PUMPS),
    "supply": quoted(SIZES),
    "returns": quoted(SIZES),
    "more_goals": "",
    "more_to_buy": "",
}
"""An invented site of two beds, with room for three."""


def site(**changes: str) -> str:
    k = {**KEYS, **changes}
    return f"""\
name = "Two tubs"
[goal]
floods = {k["floods"]}
beds = {k["beds"]}
robustness = {k["robustness"]}
level_drift = {k["level_drift"]}
valve_setting_error = {k["valve_setting_error"]}
velocity_limit = {k["velocity_limit"]}
{k["more_goals"]}
[ground]
{sump_text()}{TUB}{row_text("A", (9, 1), k["positions"], "1 m")}[returns]
pipes = {k["returns"]}
[buy]
pipe_series = "pvcu_pn10"
pumps = {k["pumps"]}
sumps = ["sump_0500", "sump_1000"]
pipes = {k["supply"]}
{k["more_to_buy"]}
"""


def least(text: str) -> int | None:
    """The least cost of a site file, by the complete program, to a full proof."""
    try:
        answer = design_job(job_of(text), SearchSettings(gap=0.0, formulation="complete"))
    except Infeasible:
        return None
    return answer.design.record.cost_cents


def nearly(text: str):
    return design_job(job_of(text), SearchSettings(gap=0.0), nearly=True).design


@pytest.fixture(scope="module")
def base():
    return nearly(site())


def told(design, start: str) -> NearMiss:
    """The near miss whose words begin so, or the line of those that save nothing."""
    found = [miss for miss in design.near_misses if miss.what.startswith(start)]
    idle = [m for m in design.near_misses if m.what == NOTHING_SAVED and start in m.note]
    (miss,) = found or idle
    return miss


STEPS = [  # how the words begin, the same step in the site file
    ("one more flood an hour (3", {"floods": '"3 per hour"'}),
    ("one more bed (3", {"beds": "3"}),
    ("half a flood an hour fewer (1.5", {"floods": '"1.5 per hour"'}),
    ("one bed fewer (1", {"beds": "1"}),
    ('robustness "nominal"', {"robustness": '"nominal"'}),
    ("inflows that may drift by 10%", {"level_drift": '"10 %"'}),
    ("valves set to 5%", {"valve_setting_error": '"5 %"'}),
    ("water at up to 0.9 m/s", {"velocity_limit": '"0.9 m/s"'}),
]


@pytest.mark.parametrize(("start", "change"), STEPS, ids=[s for s, _ in STEPS])
def test_a_step_costs_the_difference_to_the_changed_site_file(base, start, change):
    # Independent: the complete program, at gap 0, on the file with the step written into it.
    miss, cost = told(base, start), least(site(**change))
    assert miss.extra_cents == (None if cost is None else cost - base.record.cost_cents)


def test_the_next_best_pump_costs_the_difference_to_the_site_without_ours(base):
    others = [name for name in PUMPS if name != base.pump.id]
    miss = told(base, "any pump but")
    assert base.pump.label in miss.what
    answer = designed(site(pumps=quoted(others))).design
    assert miss.extra_cents == answer.record.cost_cents - base.record.cost_cents
    assert miss.extra_cents >= 0
    assert answer.pump.label in miss.note


def test_a_size_fewer_costs_the_difference_to_the_site_with_the_others_only(base):
    miss = next(m for m in base.near_misses if "sizes of pipe instead of" in m.what)
    gone = re.search(r"without the (.*)$", miss.what)[1]
    supply = {s.nominal for s in base.stretches} - {gone}
    returns = {d.nominal for d in base.drains} - {gone}
    cost = least(site(supply=quoted(sorted(supply)), returns=quoted(sorted(returns))))
    assert miss.extra_cents == (None if cost is None else cost - base.record.cost_cents)


def test_a_size_more_and_more_money_cost_the_difference_where_they_are_limited():
    limits = {"more_to_buy": "pipe_sizes_most = 1"}
    design = nearly(site(**limits))
    two = least(site(more_to_buy="pipe_sizes_most = 2"))
    assert told(design, "2 sizes of pipe").extra_cents == two - design.record.cost_cents
    assert two < design.record.cost_cents
    capital = sum(c.cents for c in design.costs if c.group == "capital") - 1
    tight = f"budget = {capital / 100:.2f}"
    design = nearly(site(more_goals=tight))
    more = least(site(more_goals=f"budget = {1.1 * capital / 100}"))
    assert told(design, "a budget of").extra_cents == more - design.record.cost_cents


def test_a_loud_pump_let_run_costs_the_difference_to_the_site_without_a_limit(base):
    # The pump that is best without a limit, made to hum at 60 dB, gives way to a dearer one.
    job = job_of(site(more_to_buy='[noise]\nlouder_than = "50 dB"\nhours_most = "8 h"'))
    hums = replace(job.catalog.pumps[base.pump.id], noise_db=60.0)
    loud = replace(job.catalog, pumps={**job.catalog.pumps, hums.id: hums})
    design = design_job(replace(job, catalog=loud), SearchSettings(gap=0.0), nearly=True).design
    miss = told(design, "a loud pump that may run all the time")
    assert miss.extra_cents == base.record.cost_cents - design.record.cost_cents
    assert miss.extra_cents < 0


def test_one_more_bed_where_every_place_is_built_takes_a_place_at_the_end_of_a_row():
    design = nearly(site(positions="2"))
    miss, cost = told(design, "one more bed (3"), least(site(beds="3"))
    assert "added at the end of the row" in miss.what
    assert miss.extra_cents == cost - design.record.cost_cents


def test_the_only_pump_allowed_has_no_next_best():
    design = nearly(site(pumps=quoted(PUMPS[2:3])))
    miss = told(design, "any pump but")
    assert miss.extra_cents is None
    assert "no other pump is allowed" in miss.note


def test_a_step_without_a_design_says_so():
    # Six floods an hour cannot be had from this siphon.
    design = nearly(site(floods='"5 per hour"'))
    told_of = told(design, "one more flood")
    assert least(site(floods='"6 per hour"')) is None
    assert told_of.extra_cents is None
    assert told_of.note.startswith("No design is possible then.")


def test_easing_never_costs_and_what_saves_most_comes_first(base):
    saved = [m.extra_cents for m in base.near_misses if (m.extra_cents or 0) < 0]
    assert saved == sorted(saved)
    assert saved


def test_the_same_site_tells_the_same(base):
    assert nearly(site()).near_misses == base.near_misses


def test_a_stopped_search_tells_nothing(base):
    stop = threading.Event()
    stop.set()
    bare, job = replace(base, near_misses=()), job_of(site())
    assert with_near_misses(bare, job, SearchSettings(stop=stop)) == bare
    stopped = replace(bare, record=replace(bare.record, status="stopped"))
    assert with_near_misses(stopped, job) == stopped


def test_steps_for_which_there_is_no_time_say_so(base):
    bare, job = replace(base, near_misses=()), job_of(site())
    misses = with_near_misses(bare, job, SearchSettings(time_limit_s=0.0)).near_misses
    assert {miss.note for miss in misses} == {NO_TIME}
    assert {miss.extra_cents for miss in misses} == {None}


def test_a_stop_between_steps_ends_them(base, monkeypatch):
    stop = threading.Event()
    work = module.least_cost

    def stopping(*given, **how):
        stop.set()
        return work(*given, **how)

    monkeypatch.setattr(module, "least_cost", stopping)
    bare = replace(base, near_misses=())
    misses = with_near_misses(bare, job_of(site()), SearchSettings(stop=stop)).near_misses
    assert {miss.note for miss in misses[1:]} == {STOPPED}


def test_a_site_of_many_places_is_not_priced_and_says_so(base):
    job = job_of(site(positions=str(PLACES_MOST + 1)))
    (miss,) = with_near_misses(replace(base, near_misses=()), job).near_misses
    assert (miss.what, miss.extra_cents) == (NOT_TRIED, None)
