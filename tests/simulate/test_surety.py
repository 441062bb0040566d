"""A design works in as many random draws as it promises, or its check says that it does not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.physics.band import Band
from optimizer.physics.window import inflow_window
from optimizer.records.design import BedKind, Design, Window
from optimizer.records.reliability import Reliability
from optimizer.simulate.day.pump_inflows import PumpInflows
from optimizer.simulate.day.reliability import reliability
from optimizer.simulate.surety_findings import SUBJECT, draws_for, surety_findings
from optimizer.simulate.tolerances import SAMPLING_ERRORS
from optimizer.simulate.whole_check import check_whole
from tests.builders.make_design import make_design, make_design_of
from tests.simulate.spoil_tools import changed
from tests.tolerances import EXACT, FORMULA, SAMPLING_SIGMAS

PROMISE = "starts and stops in as many draws as promised"


def failures(design: Design) -> set[tuple[str, str]]:
    return {(found.subject, found.promise) for found in check_whole(design).failures}


def with_start_bands(design: Design, share: float) -> Design:
    """Both kinds start in just this share of draws, stop in all, and nothing else is in doubt.

    The band of the start Froude number is stretched until the least inflow of the kind's beds, at
    the lowest sump level, lies at that share of it.
    """
    low = PumpInflows.of(design, 0.0).low[1]
    kinds = []
    for kind in design.kinds:
        least = min(q for q, bed in zip(low, design.beds, strict=True) if bed.kind == kind.id)
        reached = kind.siphon.start_froude * least / kind.siphon.start_flow_m3_s
        kinds.append(with_band(kind, 0.20 + (reached - 0.20) / share))
    promise = replace(design.promise, valve_setting_error=0.0, pump_tolerance=0.0)
    return replace(design, kinds=tuple(kinds), promise=promise)


def with_band(kind: BedKind, high: float) -> BedKind:
    start = Band(kind.siphon.start_froude, 0.20, high, "example")
    bands = start, kind.stop_ratio, kind.loss_coefficient
    window = inflow_window(kind.siphon, *bands, "most")
    return replace(kind, start_froude=start, windows={"most": Window(*window)})


def test_a_sound_design_is_drawn_for_and_keeps_its_promise():
    report = check_whole(make_design())
    assert report.passed
    assert report.reliability is not None
    assert [f.subject for f in report.findings if f.promise == PROMISE] == [SUBJECT]


def test_two_kinds_each_just_sure_enough_are_not_sure_enough_together():
    # Each kind starts in 95.1 % of draws, so its own window is kept; both start in 90.4 %.
    design = with_start_bands(make_design(), 0.951)
    assert failures(design) == {(SUBJECT, PROMISE)}
    drawn = check_whole(design).reliability
    assert drawn is not None
    assert abs(drawn.share - 0.951**2) <= SAMPLING_SIGMAS * drawn.standard_error
    assert drawn.most_to_blame == "start Froude number"


def test_two_kinds_as_sure_as_each_must_be_keep_the_promise_together():
    # 97.6 % each are 95.3 % together.
    assert failures(with_start_bands(make_design(), 0.976)) == set()


def test_a_pump_that_may_fall_far_below_its_curve_breaks_the_promise_and_is_to_blame():
    # At 80 % less head the pump no longer lifts the water to the outlets as asked.
    design = changed("promise", pump_tolerance=0.80)
    assert failures(design) == {(SUBJECT, PROMISE)}
    drawn = check_whole(design).reliability
    assert drawn is not None
    assert drawn.most_to_blame == "pump curve"
    assert drawn.weakest[1] == min(drawn.by_bed.values()) < 1.0


def test_the_whole_band_allows_no_draw_to_fail_and_nominal_promises_none():
    drawn = drawn_with(0.9999)
    for robustness, passed in (("most", [True]), ("whole", [False]), ("nominal", [])):
        design = changed("promise", robustness=robustness)
        assert [found.passed for found in surety_findings(design, drawn)] == passed


def test_a_sampled_share_may_miss_95_percent_by_three_of_its_standard_errors():
    # 10,000 draws: standard error sqrt(0.95 x 0.05 / 10,000) = 0.00218, three of them 0.00654.
    assert SAMPLING_ERRORS == EXACT + 3.0
    design = make_design()
    assert surety_findings(design, drawn_with(0.9436))[0].passed
    assert not surety_findings(design, drawn_with(0.9434))[0].passed


def drawn_with(share: float) -> Reliability:
    return Reliability(10_000, share, {"a": share}, share, share, share, {"pump curve": 1.0})


def test_nothing_is_drawn_for_a_design_that_fails_already():
    assert check_whole(changed("promise", level_drift=0.001)).reliability is None


def test_a_thousand_beds_are_drawn_for_less_often_than_four():
    assert draws_for(make_design()) == 20_000
    assert draws_for(make_design_of(50, 20)) == 4_000


def test_the_promised_pump_tolerance_is_the_one_drawn():
    design = changed("promise", pump_tolerance=0.80)
    assert reliability(design, 500).share == reliability(design, 500, pump_tolerance=0.80).share
    assert reliability(design, 500, pump_tolerance=0.0).share == EXACT + 1.0


def test_inflows_of_a_pump_off_its_curve_never_fall_where_the_valve_still_has_room():
    # The example's valves take over a metre; 5 % of the pump's head is far less.
    found = PumpInflows.of(make_design(), 0.05)
    setting = [k.inflow_m3_s for b in make_design().beds for k in make_design().kinds
               if k.id == b.kind]  # fmt: skip
    drift = make_design().promise.level_drift
    for row in found.low:
        assert all(q >= set_to * (1.0 - drift) for q, set_to in zip(row, setting, strict=True))
    weak, nominal, strong = found.low
    assert all(weak <= nominal * (1.0 + FORMULA))
    assert all(nominal <= strong * (1.0 + FORMULA))


@pytest.mark.parametrize(("draws", "tolerance"), [(0, 0.05), (10, 1.0), (10, -0.1)])
def test_no_draws_or_an_impossible_pump_are_refused(draws, tolerance):
    with pytest.raises(ValueError, match="reliability"):
        reliability(make_design(), draws, pump_tolerance=tolerance)
