from __future__ import annotations

import json
import math
from dataclasses import replace
from itertools import combinations

import pytest

from optimizer.report.charts.plan import plan_chart
from optimizer.report.plan_frame import bed_corners, frame_of
from optimizer.report.plan_key import RETURN, VENT, key_of
from optimizer.report.plan_layout import words_on_plan
from optimizer.report.plan_returns import (
    STANDS_OFF_PX,
    arrow_into_sump,
    drain_groups,
    route_m,
    shift_m,
    vents_m,
)
from optimizer.report.plan_sump import sump_tanks
from optimizer.report.shapes import half_extent, legs, length_inside, rectangle
from tests.builders.make_design import make_design_of
from tests.report.make_returns import with_returns
from tests.tolerances import FORMULA


def _area(corners):
    pairs = zip(corners, corners[1:] + corners[:1], strict=True)
    return abs(sum(a[0] * b[1] - a[1] * b[0] for a, b in pairs)) / 2.0  # shoelace formula


@pytest.mark.parametrize("count", [1, 2, 3, 4, 7])
def test_the_sump_is_drawn_as_its_tanks_each_of_its_true_area(design, count):
    sump = replace(design.sump, count=count, area_m2=0.9)
    tanks = sump_tanks(replace(design, sump=sump)).corners
    assert len(tanks) == count
    for corners in tanks:
        assert _area(corners) == pytest.approx(0.9, rel=FORMULA)
    for one, two in combinations(tanks, 2):
        apart = max(abs(one[0][0] - two[0][0]), abs(one[0][1] - two[0][1]))
        assert apart > math.sqrt(0.9)


def test_the_pump_stands_in_the_first_tank(design):
    sump = replace(design.sump, count=3, area_m2=0.9)
    tanks = sump_tanks(replace(design, sump=sump))
    (x1, y1), (x0, y0) = tanks.corners[0][0], tanks.corners[0][2]
    assert x0 < sump.x_m < x1 and y0 < sump.y_m < y1


def test_tanks_keep_off_the_beds_where_there_is_room_and_say_so_where_not(big):
    # one square of all three tanks, 3 m wide about the sump, would lie over the beds at 2 m, 1.6 m
    sump = replace(big.sump, count=3, area_m2=3.0)
    assert sump_tanks(replace(big, sump=sump)).clear
    beset = replace(sump, x_m=big.beds[7].x_m, y_m=big.beds[7].y_m)
    assert not sump_tanks(replace(big, sump=beset)).clear


@pytest.mark.parametrize("width_px", [340, 1040])
def test_return_pipe_is_drawn_in_one_piece_clear_of_the_supply(draining, width_px):
    frame = frame_of(draining, width_px)
    shift = shift_m(draining, frame)
    routes = {d.tail: route_m(d, shift) for d in draining.drains}
    for drain in draining.drains:
        if drain.head in routes:
            assert routes[drain.tail][-1] == pytest.approx(routes[drain.head][0], rel=FORMULA)
    for drain in draining.drains:
        for leg in legs(drain.points):
            long = math.dist(*leg)
            if long > 0.0:
                (x0, y0), (x1, y1) = leg
                off = abs((x1 - x0) * shift[1] - (y1 - y0) * shift[0]) / long * frame.px_per_m
                assert off == pytest.approx(STANDS_OFF_PX[frame.narrow], rel=1e-6)


def test_the_arrow_points_into_the_sump_down_the_last_stretch(draining):
    arrow = arrow_into_sump(draining, (0.0, 0.0))
    # the only header runs along +x from the sump at the origin: water comes back heading west
    assert arrow.at == pytest.approx((0.0, 0.0), abs=FORMULA)
    assert arrow.bearing_degrees == pytest.approx(270.0, rel=FORMULA)
    assert arrow_into_sump(replace(draining, drains=()), (0.0, 0.0)) is None


def test_every_bed_that_drains_has_its_vented_tee_marked(draining):
    assert [name for name, _ in vents_m(draining, (0.0, 0.0))] == [b.id for b in draining.beds]
    some = replace(draining, beds=(replace(draining.beds[0], drain=""), *draining.beds[1:]))
    assert len(vents_m(some, (0.0, 0.0))) == len(draining.beds) - 1


def test_the_plan_says_size_and_slope_of_return_pipe_in_the_readers_units(draining):
    words = {w.words for w in words_on_plan(draining, frame_of(draining, 1040))}
    assert "90 mm falls 2 %" in words
    # 0.02 x 12 in = 0.24 in to the foot
    us = replace(draining, units="us")
    assert "90 mm falls 0.24 in/ft" in {w.words for w in words_on_plan(us, frame_of(us, 1040))}


def test_runs_of_one_size_and_slope_share_a_label(draining):
    # one shared run, and one for each of two rows
    assert [len(group) for group in drain_groups(draining)] == [3, 2, 2]


def test_return_pipe_differs_from_supply_by_its_dashes(draining):
    spec = plan_chart(draining).to_dict()
    dashed = [
        layer["encoding"]["strokeDash"]["scale"]
        for layer in spec["layer"]
        if layer["encoding"].get("strokeDash", {}).get("field") == "pipe"
    ]
    (scale,) = dashed
    assert scale["domain"][1] == RETURN and scale["range"][0] == [1, 0] != scale["range"][1]
    assert VENT in json.dumps(spec)


def test_the_key_names_only_what_is_drawn_and_never_runs_out_of_the_picture(design, draining):
    assert RETURN not in [entry.words for entry in key_of(design, 1040, 12.0)]
    for width, size in ((340, 10.0), (1040, 12.0)):
        entries = key_of(draining, width, size)
        assert len(entries) == 4
        assert all(e.x_px + 38.0 + 0.6 * size * len(e.words) <= width for e in entries)


def test_words_never_enter_the_key():
    design = with_returns(make_design_of(2, 2))
    frame = frame_of(design, 340)
    top = frame.width_px * frame.ratio - frame.key_px
    assert all(word.box.bottom <= top for word in words_on_plan(design, frame))


def test_the_length_of_a_piece_inside_a_rectangle_is_that_between_its_sides():
    # from (-1, 1) to (3, 1) through the square of side 2 at the origin: 2 m of its 4 m
    assert length_inside(((-1.0, 1.0), (3.0, 1.0)), (0.0, 0.0), (2.0, 2.0)) == pytest.approx(2.0)
    # the diagonal of that square, 2 sqrt 2, out of a piece twice as long
    inside = length_inside(((-1.0, -1.0), (3.0, 3.0)), (0.0, 0.0), (2.0, 2.0))
    assert inside == pytest.approx(2.0 * math.sqrt(2.0), rel=FORMULA)
    assert length_inside(((-1.0, 3.0), (3.0, 3.0)), (0.0, 0.0), (2.0, 2.0)) == 0.0
    assert length_inside(((5.0, 1.0), (5.0, 1.0)), (0.0, 0.0), (2.0, 2.0)) == 0.0


def test_a_rectangle_reaches_as_far_as_its_corners(design):
    along, across = (0.6, 0.8), (0.0, 1.0)
    corners = rectangle((0.0, 0.0), along, 2.0, 1.0)
    assert half_extent(along, 2.0, 1.0, across) == pytest.approx(
        max(y for _, y in corners), rel=FORMULA
    )
    kind, bed = design.kinds[0], design.beds[0]
    assert len(bed_corners(bed, kind)) == 4
