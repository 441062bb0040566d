"""The check passes what holds and catches each spoiled promise, that one and no other."""

from __future__ import annotations

import dataclasses

import pytest

from optimizer.errors import BadInput
from optimizer.records.check import CheckReport
from optimizer.simulate.check import check_design
from optimizer.simulate.findings import at_least, at_most, near
from optimizer.simulate.fish_findings import fish_findings
from tests.builders.make_design import make_design, make_design_of
from tests.builders.tank_design import with_tank
from tests.simulate.random_designs import random_design
from tests.simulate.spoil_fish import fish_under_siphons, with_fish
from tests.simulate.spoil_limits import heard, limited, with_stock
from tests.simulate.spoil_returns import dropping_straight_into_the_sump
from tests.simulate.spoil_tank import tank_of_fish
from tests.simulate.spoil_tools import changed
from tests.simulate.spoils import SPOILS
from tests.tolerances import FORMULA

REFUSED_BY_ITS_RECORD = {"drain level below the crest"}
"""SiphonBed itself cannot be made with a drain level at or above its crest."""

"""Wall time for a thousand beds: measured 0.2 s alone; a busy machine gets a wide margin."""


SOUND = (
    make_design(),
    changed("promise", floods_per_hour_most=9.0),
    with_fish(),
    dropping_straight_into_the_sump(fall_m=0.01),
    with_tank(),
    tank_of_fish(),
    fish_under_siphons(),
    limited(),
    heard(43.0),
    with_stock(),
)
"""Designs whose every promise holds, and that between them make every promise but one."""


def failed(report: CheckReport) -> set[tuple[str, str]]:
    return {(finding.subject, finding.promise) for finding in report.failures}


@pytest.mark.parametrize("design", SOUND)
def test_a_consistent_design_passes_every_finding(design):
    report = check_design(design)
    assert failed(report) == set()
    assert report.passed


@pytest.mark.parametrize("spoil", SPOILS, ids=lambda spoil: spoil.__name__)
def test_a_spoiled_design_fails_by_exactly_the_right_findings(spoil):
    design, expected = spoil()
    assert failed(check_design(design)) == expected


def test_every_promise_has_a_spoil_that_breaks_it():
    broken = {promise for spoil in SPOILS for _, promise in spoil()[1]}
    made = {finding.promise for design in SOUND for finding in check_design(design).findings}
    unbroken = {
        "duty inside its curve at the lowest level",
        "duty inside its curve at the setting level",
        "floods an hour not above at the target's low end",
    }  # the same rule as another spoil breaks, at another level or end
    assert made - broken == REFUSED_BY_ITS_RECORD | unbroken, (
        "Add a spoil to tests/simulate/spoils.py for each promise that none breaks."
    )


def test_every_limit_that_a_design_may_promise_is_promised_by_a_sound_one():
    # A limit that no design in SOUND has would need no finding and no spoil above.
    plain = make_design().promise
    missing = [
        field.name
        for field in dataclasses.fields(plain)
        if not getattr(plain, field.name)
        and not any(getattr(design.promise, field.name) for design in SOUND)
    ]
    assert missing == [], "Add a design to SOUND that promises it; then a finding and a spoil."


def test_the_report_tells_how_every_bed_runs_at_the_three_levels():
    design = make_design()
    report = check_design(design)
    assert [run.bed for run in report.beds] == [bed.id for bed in design.beds]
    for run in report.beds:
        low, middle, high = run.inflow_m3_s
        assert low < middle < high
        # floods an hour are 3600 over filling plus draining
        cycle_s = run.fill_s + run.drain_s
        assert run.floods_per_hour[1] == pytest.approx(3600.0 / cycle_s, rel=FORMULA)
    assert report.pump_flow_m3_s[1] == pytest.approx(
        sum(run.inflow_m3_s[1] for run in report.beds), rel=FORMULA
    )


def test_a_network_with_rings_is_checked_like_a_tree():
    # Losses are the example's, so only they, speeds and volumes may be off; the valves are set.
    design, _ = random_design(3, 8, rings=2)
    inflow = {f.passed for f in check_design(design).findings if "setting level" in f.promise}
    assert inflow == {True}


def test_a_thousand_beds_keep_every_promise():
    assert check_design(make_design_of(50, 20)).passed


def test_a_design_that_refers_to_parts_not_there_is_refused_whole():
    design = make_design()
    bed = dataclasses.replace(design.beds[0], kind="none_such", drop="nowhere")
    with pytest.raises(BadInput) as refused:
        check_design(dataclasses.replace(design, beds=(bed, *design.beds[1:])))
    assert len(refused.value.problems) == 2


def test_a_limit_has_no_tolerance_but_rounding():
    assert at_most("x", "p", 1.0, 1.0 + 1e-12, "m").passed
    assert not at_most("x", "p", 1.0, 1.0 + 1e-8, "m").passed
    assert at_least("x", "p", 1.0, 1.0 - 1e-12, "m").passed
    assert not at_least("x", "p", 1.0, 1.0 - 1e-8, "m").passed
    assert not near("x", "p", 1.0, 1.0021, "m", tolerance=0.002).passed
    assert not at_most("x", "p", 1.0, float("nan"), "m").passed


def test_a_fish_tank_that_no_bed_drains_into_is_held_to_the_sump_s_water_alone():
    # Without beds and return pipe nothing ends above its water, so nothing is promised of an end.
    design = dataclasses.replace(with_fish(), beds=(), drains=())
    promises = {f.promise for f in fish_findings(design, design.pump.duty_flow_m3_s)}
    assert "water above the sump's highest" in promises
    assert not any("end above its water" in promise for promise in promises)
