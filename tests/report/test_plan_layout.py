from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from optimizer.report.labels import Box, Label, place
from optimizer.report.plan_frame import bed_corners, frame_of, scale_bar_m
from optimizer.report.plan_layout import line_boxes, pipe_groups, words_on_plan
from optimizer.report.shapes import legs
from tests.builders.make_design import make_design_of
from tests.report.make_returns import with_returns, without_returns
from tests.tolerances import FORMULA


@pytest.mark.parametrize("width_px", [340, 480, 1040])
@pytest.mark.parametrize(("rows", "beds"), [(1, 1), (2, 2), (4, 6), (6, 4), (1, 24), (24, 1)])
@pytest.mark.parametrize("returns", [False, True])
def test_no_word_on_the_plan_lies_on_another_or_leaves_the_picture(rows, beds, width_px, returns):
    design = make_design_of(rows, beds)
    design = with_returns(design) if returns else without_returns(design)
    frame = frame_of(design, width_px)
    placed = words_on_plan(design, frame)
    assert all(word.box.inside(frame.box) for word in placed)
    clashes = [(a.words, b.words) for a, b in combinations(placed, 2) if a.box.overlaps(b.box)]
    assert clashes == []


@pytest.mark.parametrize("width_px", [340, 1040])
def test_every_one_of_24_beds_is_named_or_numbered(big, width_px):
    words = [word.words for word in words_on_plan(big, frame_of(big, width_px))]
    ids = [bed.id for bed in big.beds]
    numbers = [str(n) for n in range(1, 25)]
    assert words[:24] in (ids, numbers)


def test_a_wide_plan_of_24_beds_names_beds_and_every_pipe_size_and_flow(big):
    words = {word.words for word in words_on_plan(big, frame_of(big, 1040))}
    assert {bed.id for bed in big.beds} <= words
    assert sum(", " in word and "L/min" in word for word in words) >= len(
        {(g[0].kind, g[0].nominal) for g in pipe_groups(big)}
    )


def test_a_bed_keeps_its_area_and_turns_with_its_row(design):
    kind, bed = design.kinds[0], design.beds[0]
    for along in ((0.0, 1.0), (0.6, 0.8)):
        corners = bed_corners(replace(bed, along=along), kind)
        # shoelace formula
        pairs = zip(corners, corners[1:] + corners[:1], strict=True)
        doubled = sum(a[0] * b[1] - a[1] * b[0] for a, b in pairs)
        assert abs(doubled) / 2.0 == pytest.approx(kind.length_m * kind.width_m, rel=FORMULA)
        (ax, ay), (bx, by) = corners[0], corners[3]
        side = ((ax - bx) ** 2 + (ay - by) ** 2) ** 0.5
        assert side == pytest.approx(kind.length_m, rel=FORMULA)
        across = (ax - bx) * along[0] + (ay - by) * along[1]
        assert abs(across) == pytest.approx(kind.length_m, rel=FORMULA)


def test_pixels_and_metres_are_inverse(design):
    frame = frame_of(design, 700)
    x, y = frame.to_px((1.25, 0.5))
    assert frame.to_m(x, y) == pytest.approx((1.25, 0.5), rel=FORMULA)


def test_the_scale_bar_is_a_round_length_in_the_readers_units(design):
    frame = frame_of(design, 1040)
    for units, step in (("metric", 1.0), ("us", 0.3048)):
        bar = scale_bar_m(frame, units) / step
        assert f"{bar:.0e}"[0] in "125"
        assert bar * step <= (frame.right_m - frame.left_m) / 4.0


def test_a_label_takes_its_first_free_place_and_shortens_before_it_gives_up():
    frame = Box(0.0, 0.0, 100.0, 100.0)
    busy = [Box(0.0, 0.0, 100.0, 40.0)]
    label = Label(("a long name of a pipe", "pipe"), ((50.0, 20.0, 0.0), (50.0, 70.0, 0.0)), 10.0)
    (placed,) = place([label], busy, frame)
    # 21 letters of 6 px do not fit 100 px; 4 letters do, at the second place
    assert (placed.words, placed.y_px) == ("pipe", 70.0)
    full = [Box(0.0, 0.0, 100.0, 100.0)]
    assert place([label], full, frame) == []


def test_words_keep_clear_of_lines_where_a_place_is_free():
    frame = Box(0.0, 0.0, 100.0, 100.0)
    line = [Box(0.0, 0.0, 100.0, 40.0)]
    label = Label(("A1",), ((50.0, 20.0, 0.0), (50.0, 70.0, 0.0)), 10.0)
    assert place([label], [], frame, line)[0].y_px == 70.0
    # with no place clear of lines the first place is taken all the same
    crossed = Label(("A1",), ((50.0, 20.0, 0.0),), 10.0)
    assert place([crossed], [], frame, line)[0].y_px == 20.0


def test_a_slanting_line_is_covered_without_covering_what_lies_beside_it(design):
    frame = frame_of(design, 1040)
    leg = (frame.to_m(100.0, 100.0), frame.to_m(300.0, 300.0))
    boxes = line_boxes(leg, frame, 2.0)
    on_it = [Box(100.0 + k, 100.0 + k, 100.5 + k, 100.5 + k) for k in range(200)]
    assert all(any(spot.overlaps(box) for box in boxes) for spot in on_it)
    # 20 px to the side of the line's middle; one box around the whole line would cover it
    beside = Box(219.0, 179.0, 221.0, 181.0)
    assert not any(beside.overlaps(box) for box in boxes)
    assert len(line_boxes((frame.to_m(100.0, 50.0), frame.to_m(300.0, 50.0)), frame, 2.0)) == 1


def test_no_word_lies_on_slanting_pipe_but_the_names_of_beds_for_want_of_room(design):
    turned = tuple(
        replace(s, points=tuple((0.6 * x - 0.8 * y, 0.8 * x + 0.6 * y, z) for x, y, z in s.points))
        for s in design.stretches
    )
    beds = tuple(
        replace(b, x_m=0.6 * b.x_m - 0.8 * b.y_m, y_m=0.8 * b.x_m + 0.6 * b.y_m, along=(-0.8, 0.6))
        for b in design.beds
    )
    slant = replace(design, stretches=turned, beds=beds)
    frame = frame_of(slant, 1040)
    lines = [box for s in turned for leg in legs(s.points) for box in line_boxes(leg, frame, 0.5)]
    placed = words_on_plan(slant, frame)[len(beds) :]
    assert placed
    assert not [w.words for w in placed for box in lines if w.box.overlaps(box)]
