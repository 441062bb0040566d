"""The findings of a simulated day: all pass on a sound design, the right one fails on a spoiled."""

from __future__ import annotations

from dataclasses import replace

from optimizer.simulate.day.day_findings import day_findings
from optimizer.simulate.day.scenario import Scenario
from tests.builders.make_design import make_design, make_design_of

SHORT = Scenario(hours=6.0, seed=1)


def failed(design):
    return {(f.subject, f.promise) for f in day_findings(design, SHORT) if not f.passed}


def test_a_sound_design_passes_every_finding_of_a_day():
    for design in (make_design(), make_design_of(2, 4)):
        assert failed(design) == set()


def test_a_siphon_that_cannot_start_is_found_by_its_stalls():
    design = make_design()
    kind = design.kinds[0]
    stalling = replace(kind, siphon=replace(kind.siphon, start_froude=0.9))
    found = failed(replace(design, kinds=(stalling, *design.kinds[1:])))
    assert ("bed_1_1", "stalls in a simulated day") in found
    assert ("bed_1_1", "floods an hour over a simulated day") in found
    assert not any(subject.startswith("bed_2") for subject, _ in found)


def test_a_siphon_that_cannot_stop_is_found_by_its_failure_to_break():
    design = make_design()
    kind = design.kinds[0]
    stuck = replace(kind, siphon=replace(kind.siphon, stop_ratio=0.3))
    found = failed(replace(design, kinds=(stuck, *design.kinds[1:])))
    assert ("bed_1_1", "failures to break in a simulated day") in found
    assert not any(subject.startswith("bed_2") for subject, _ in found)


def test_a_sump_too_shallow_fails_at_the_power_cut_alone():
    # Deep enough for any running level, but not for the water that runs back from the pipes.
    design = make_design()
    sump = design.sump
    depth = (sump.highest_m + sump.power_cut_m) / 2.0
    shallow = replace(design, sump=replace(sump, depth_m=depth, freeboard_m=0.0))
    assert failed(shallow) == {(sump.id, "freeboard kept in the worst power cut")}


def test_a_sump_with_too_little_water_bares_the_pump():
    # 0.3 m less water: the highest running level is 0.2 m, and the beds take up to 0.2 m of it.
    design = make_design()
    sump = design.sump
    less = replace(sump, fill_m3=sump.fill_m3 - 0.3 * sump.area_m2)
    found = failed(replace(design, sump=less))
    assert (design.pump.id, "submerged over a simulated day") in found


def test_a_return_pipe_too_small_is_found_by_the_days_peak():
    design = make_design()
    drain = replace(design.drains[-1], capacity_m3_s=1e-5)
    found = failed(replace(design, drains=(*design.drains[:-1], drain)))
    assert found == {(drain.id, "carries a simulated day's peak")}
