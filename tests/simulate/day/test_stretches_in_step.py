"""A staggered start keeps siphons apart on every return stretch, and each stretch is judged."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimizer.simulate.day import staggered
from optimizer.simulate.day.drainings import beds_through, drainings, worst_shares_over
from optimizer.simulate.day.plant import plant_of
from optimizer.simulate.day.run import run_plant
from optimizer.simulate.day.scenario import Scenario
from optimizer.simulate.day.staggered import staggered_start
from tests.builders.make_design import make_design_of

GRID_S = 1.0
SNUG = 3.2
"""Bursts that a pipe for three carries: sizes come in steps."""

CONFIDENCE = 0.98


def four_to_a_row():
    """Rows of four beds, the pipe of each row made for three of their bursts, not four.

    They drain for 0.34 of their cycle, so independent ones all drain for 0.34^4 = 1.3 % of the
    time: a pipe for three serves four at 98 %.
    """
    design = make_design_of(6, 4)
    tubs, through = plant_of(design).beds, beds_through(design)
    bursts = tubs.siphon_m3_s(tubs.prime_m3)
    drains = tuple(
        replace(drain, capacity_m3_s=SNUG * float(bursts[through[drain.id]].max()))
        if len(through[drain.id]) == 4
        else drain
        for drain in design.drains
    )
    promise = replace(design.promise, bursts="binomial", confidence=CONFIDENCE)
    return replace(design, drains=drains, promise=promise)


def test_a_share_of_time_over_a_flow_is_that_of_a_fine_grid():
    # By definition: at each second the discharges of all drainings under way, each falling in a
    # straight line from its first value to its last, are added and held against the flow.
    plant = plant_of(four_to_a_row())
    run = run_plant(plant, Scenario(hours=3.0, start="drained"))
    found, through = drainings(run), beds_through(plant.design)
    window = (1800.0, 9000.0)
    times = np.arange(*window, GRID_S) + GRID_S / 2.0
    high, low = plant.beds.siphon_m3_s(plant.beds.prime_m3), plant.beds.slots_m3_s
    shares = worst_shares_over(run, [window])
    seen = set()
    for drain in plant.design.drains:
        flow = np.zeros(times.size)
        for bed, begin, end in zip(found.bed, found.begin_s, found.end_s, strict=True):
            if bed in through[drain.id]:
                part = (times - begin) / max(end - begin, 1.0)
                flow += np.where(
                    (part >= 0.0) & (part < 1.0), high[bed] + part * (low - high)[bed], 0.0
                )
        by_grid = float(np.mean(flow > drain.capacity_m3_s))
        # Each draining takes the sum over the flow and back under it once at most, each time
        # half a step of the grid off.
        mine = sum(bed in through[drain.id] for bed in found.bed)
        error = mine * GRID_S / (window[1] - window[0])
        assert shares[drain.id] == pytest.approx(by_grid, abs=error)
        seen.add(by_grid > 2.0 * error)
    assert seen == {True, False}


def test_a_share_of_time_is_that_of_the_worst_window():
    plant = plant_of(four_to_a_row())
    run = run_plant(plant, Scenario(hours=2.0, start="drained"))
    windows = [(0.0, 3600.0), (3600.0, 7200.0)]
    apart = [worst_shares_over(run, [window]) for window in windows]
    worst = worst_shares_over(run, windows)
    assert worst == {name: max(each[name] for each in apart) for name in worst}


def test_a_stretch_through_which_nothing_drains_is_never_over():
    plant = plant_of(four_to_a_row())
    shut = tuple((bed.id, 0.0) for bed in plant.design.beds)
    run = run_plant(plant, Scenario(hours=1.0, start="drained", valve_shut=shut))
    assert set(worst_shares_over(run, [(0.0, 3600.0)]).values()) == {0.0}


def orders_of(beds):
    design = four_to_a_row()
    return list(staggered._orders(replace(design, beds=design.beds[:1] * beds)))


def test_beds_that_follow_one_another_open_far_apart():
    # Four beds of 24 that follow one another: by rows they open within 4 parts of 24. Multiples of
    # the golden section never bring two of four nearer than 0.146 of the cycle (the three distances
    # of four points are 0.382, 0.236 and 0.146): 3 parts of 24, a part being rounded away. Of the
    # silver mean it is 0.172 and 0.414: 4 parts and 9.
    golden, silver, golden_back, silver_back, along = orders_of(24)
    for turns in (golden, silver, golden_back, silver_back):
        assert sorted(turns) == list(range(24))
        for first in range(21):
            four = np.sort(turns[first : first + 4])
            gaps = [*np.diff(four), 24 + four[0] - four[-1]]
            assert min(gaps) >= 2
            assert max(gaps) <= 11
    assert list(along) == list(range(24))


@pytest.mark.parametrize("beds", [1, 5, 24, 25, 60, 1000])
def test_openings_are_filled_alike_in_every_order(beds):
    for turns in orders_of(beds):
        filled = np.bincount(turns, minlength=min(24, beds))
        assert filled.sum() == beds
        assert filled.max() - filled.min() <= 1


def test_four_beds_of_a_row_stay_apart_where_their_pipe_carries_three():
    # By hand: four points with gaps of 0.236, 0.382, 0.236 and 0.146 of a cycle have two in any
    # 0.34 of it at most.
    found = staggered_start(four_to_a_row(), days=1.0)
    assert found.holds
    assert found.share_over <= 1.0 - found.confidence


def test_opened_row_by_row_the_same_beds_overfill_their_pipe(monkeypatch):
    # A row opens within 4 / 24 = 0.17 of a cycle, and all four drain together for the other half of
    # 0.34. All beds together tell nothing of it.
    monkeypatch.setattr(staggered, "_orders", lambda _: [np.arange(24)])
    found = staggered_start(four_to_a_row(), days=1.0)
    assert found.worst_share_above <= 1.0 - found.confidence
    assert "lateral" in found.stretch
    assert found.share_over > 1.0 - found.confidence
    assert not found.holds


def test_the_first_order_that_holds_is_taken_or_the_one_that_falls_short_by_least(monkeypatch):
    design, golden = four_to_a_row(), orders_of(24)[0]
    along, pairs = np.arange(24), np.arange(24) // 2  # in pairs a row opens sooner still

    def first_of(*orders):
        monkeypatch.setattr(staggered, "_orders", lambda _: iter(orders))
        found = staggered_start(design, days=1.0, draws=0)
        return found, tuple(each.beds for each in found.openings)

    mended, opened = first_of(along, golden)
    assert mended.holds
    assert opened == first_of(golden)[1]
    alone = {name: first_of(turns)[0] for name, turns in (("along", along), ("pairs", pairs))}
    assert not any(found.holds for found in alone.values())
    least = min(found.worst_of_all for found in alone.values())
    for both in ((along, pairs), (pairs, along)):
        assert first_of(*both)[0].worst_of_all == least


def test_where_every_burst_is_counted_one_order_is_enough():
    design = four_to_a_row()
    sure = replace(design, promise=replace(design.promise, bursts="all"))
    assert len(list(staggered._orders(sure))) == 1
    assert len(list(staggered._orders(design))) == 5


def test_a_site_without_return_pipe_opens_its_beds_in_their_order():
    design = make_design_of(2, 4)
    bare = replace(design, drains=(), beds=tuple(replace(bed, drain="") for bed in design.beds))
    opened = staggered_start(bare, days=1.0).frame()["bed"]
    assert list(opened) == [bed.id for bed in design.beds]
