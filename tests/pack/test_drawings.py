"""Drawings are true to scale, stay on their paper and need no colour."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise

import pytest

from optimizer.pack.canvas import TEXT_MM, WIDTH_SHARE, Canvas
from optimizer.pack.lengths import Rule
from optimizer.pack.pieces import cuts_of
from optimizer.pack.scale import SCALES, scale_for
from optimizer.pack.section_bed import bed_section
from optimizer.pack.section_siphon import siphon_section
from optimizer.pack.sticks import sticks_drawing
from tests.builders.random_choice import random_assemblies
from tests.tolerances import FORMULA

PRINTED_MM = 0.0011
"""Places are written to a thousandth of a millimetre; two of them make a length."""

SVG = "{http://www.w3.org/2000/svg}"


def shapes(canvas, tag):
    return list(ET.fromstring(canvas.svg()).iter(f"{SVG}{tag}"))


def boxes(canvas):
    names = ("x", "y", "width", "height")
    return [tuple(float(box.get(name)) for name in names) for box in shapes(canvas, "rect")]


def scale_of(canvas):
    words = "".join(text.text for text in shapes(canvas, "text"))
    return float(re.search(r"1 : ([\d.]+)", words)[1])


def has_box(canvas, width_mm, height_mm):
    return any(
        abs(w - width_mm) < PRINTED_MM and abs(h - height_mm) < PRINTED_MM
        for _, _, w, h in boxes(canvas)
    )


@pytest.fixture(scope="module", params=range(6))
def kind_and_bed(request):
    _, _, (design,) = random_assemblies(200 + request.param, 1)
    bed = design.beds[-1]
    return next(kind for kind in design.kinds if kind.id == bed.kind), bed


def test_the_siphons_walls_stand_at_their_true_scale(kind_and_bed):
    kind, _ = kind_and_bed
    canvas, parts = siphon_section(kind, "metric"), kind.parts
    mm = 1000.0 / scale_of(canvas)
    # the bell's wall: from the top of the slots to over its cap, as thick as its pipe
    wall = (parts.bell_outside_m - parts.bell_bore_m) / 2.0
    assert has_box(canvas, wall * mm, (parts.bell_height_m + wall - parts.slot_height_m) * mm)
    # the slots below it
    assert has_box(canvas, wall * mm, parts.slot_height_m * mm)
    # the bell's cap
    assert has_box(canvas, parts.bell_outside_m * mm, wall * mm)
    # the standpipe's wall: from a plain rim, or from a funnel's neck, to the outlet
    flare = (parts.rim_diameter_m - parts.standpipe_bore_m) / 2.0
    pipe = (parts.standpipe_outside_m - parts.standpipe_bore_m) / 2.0
    long = parts.standpipe_length_m - flare - kind.siphon.outlet_level_m
    assert has_box(canvas, pipe * mm, long * mm)


def test_the_bed_and_its_water_stand_at_their_true_scale(kind_and_bed):
    kind, bed = kind_and_bed
    canvas = bed_section(kind, bed, "metric")
    mm = 1000.0 / scale_of(canvas)
    assert has_box(canvas, kind.width_m * mm, kind.depth_m * mm)
    assert has_box(canvas, kind.width_m * mm, kind.siphon.prime_level_m * mm)
    assert has_box(canvas, kind.parts.guard_bore_m * mm, kind.depth_m * mm)


@pytest.mark.parametrize("units", ["metric", "us"])
def test_nothing_is_drawn_off_the_paper(kind_and_bed, units):
    kind, bed = kind_and_bed
    for canvas in (siphon_section(kind, units), bed_section(kind, bed, units)):
        for x, y, w, h in boxes(canvas):
            assert min(x, y) >= 0.0 and x + w <= canvas.width_mm and y + h <= canvas.height_mm
        for text in shapes(canvas, "text"):
            x, y, wide = float(text.get("x")), float(text.get("y")), len(text.text)
            wide *= WIDTH_SHARE * TEXT_MM * (0.0 if text.get("transform") else 1.0)
            left = x - {"start": 0.0, "middle": wide / 2.0, "end": wide}[text.get("text-anchor")]
            assert left >= 0.0 and left + wide <= canvas.width_mm, text.text
            assert 0.0 <= y <= canvas.height_mm


def test_every_size_on_the_siphons_drawing_is_the_designs(kind_and_bed):
    kind, _ = kind_and_bed
    parts, rule = kind.parts, Rule("metric")
    words = [text.text for text in shapes(siphon_section(kind, "metric"), "text")]
    for said in (
        f"standpipe {rule.nearest(parts.standpipe_length_m)}",
        f"bell inside {rule.nearest(parts.bell_height_m)}",
        f"slots {rule.nearest(parts.slot_height_m)}",
        f"hole {rule.nearest(parts.bulkhead_hole_m)}",
        f"bore {rule.nearest(parts.standpipe_bore_m)}",
        f"bell {rule.nearest(parts.bell_bore_m)}",
        f"guard bore {rule.nearest(parts.guard_bore_m)}",
        f"starts at {rule.nearest(kind.siphon.prime_level_m)}",
    ):
        assert said in words


def test_drawings_are_black_white_and_grey_only(kind_and_bed):
    kind, bed = kind_and_bed
    for canvas in (siphon_section(kind, "us"), bed_section(kind, bed, "us")):
        colours = set(re.findall(r'(?:fill|stroke)="(#[0-9a-f]+)"', canvas.svg()))
        for colour in colours:
            digits = colour[1:] if len(colour) == 7 else "".join(2 * c for c in colour[1:])
            assert digits[:2] == digits[2:4] == digits[4:]


def test_a_stick_is_drawn_in_proportion_with_its_saw_cuts(kind_and_bed):
    _, _, (design,) = random_assemblies(201, 1)
    cuts = max(cuts_of(design), key=lambda each: len(each.plan.sticks))
    stick = max(cuts.plan.sticks, key=lambda each: len(each.pieces))
    drawn = boxes(sticks_drawing(cuts, [stick], Rule("metric")))
    per_mm = drawn[0][2] / cuts.plan.stock
    assert [w / per_mm for _, _, w, _ in drawn[1:]] == pytest.approx(stick.pieces, abs=0.05)
    for (x, _, w, _), (after, *_) in pairwise(drawn[1:]):
        assert (after - x - w) / per_mm == pytest.approx(cuts.plan.kerf, abs=0.05)


def test_words_cannot_break_out_of_a_drawing():
    canvas = Canvas(10.0, 10.0)
    canvas.words((1.0, 1.0), '</text><script>alert("x")</script>')
    assert [text.text for text in shapes(canvas, "text")] == ['</text><script>alert("x")</script>']


def test_the_scale_is_the_largest_listed_that_fits():
    # 0.5 m on 100 mm needs 1:5 at least; 0.51 m the next, 1:6
    assert scale_for(0.1, 0.5, 100.0, 100.0) == 5.0
    assert scale_for(0.1, 0.51, 100.0, 100.0) == 6.0
    assert scale_for(50.0, 1.0, 100.0, 100.0) > SCALES[-1]


def test_a_builders_lengths_are_rounded_up_for_pieces_and_down_for_sticks():
    metric, us = Rule("metric"), Rule("us")
    assert (metric.steps_up(0.5001), metric.steps_down(2.9999)) == (501, 2999)
    assert (metric.steps_up(0.5), metric.steps_down(3.0)) == (500, 3000)
    # 10 ft is 120 in is 1920 sixteenths; a metre is 39 3/8 in, 39.37 rounded up
    assert us.steps_down(3.048) == 1920
    assert us.text(us.steps_up(1.0)) == "39-3/8 in"
    assert us.nearest(0.0254 * 3.5) == "3-1/2 in"
    assert us.step_m * us.steps_up(1.0) >= 1.0 - FORMULA


def test_an_unknown_outside_diameter_still_gives_a_drawing(kind_and_bed):
    kind, _ = kind_and_bed
    bare = replace(kind.parts, standpipe_outside_m=0.0, bell_outside_m=0.0, guard_outside_m=0.0)
    assert shapes(siphon_section(replace(kind, parts=bare), "metric"), "rect")
