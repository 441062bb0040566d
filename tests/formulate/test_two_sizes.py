"""Where a stretch may have two sizes, and where its route is cut."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimizer.formulate.assemble_mixes import split_route
from optimizer.records.site import Standing
from optimizer.records.standing import StandingStretch
from tests.formulate.two_rows import BUY, SITE, made
from tests.tolerances import FORMULA

MAY = replace(SITE, purchase=replace(BUY, two_sizes_on_a_stretch=True))


def with_two_sizes(site):
    return {s.id for s in made(site).formulation.problem.stretches if s.mixes}


def test_pipe_that_stands_is_kept_or_taken_out_as_a_whole():
    # Only the stretch that stands loses its choice of two sizes.
    laid = "lateral to A2"
    standing = Standing(stretches=(StandingStretch(laid, "pvcu10_25"),))
    assert with_two_sizes(MAY) - with_two_sizes(replace(MAY, standing=standing)) == {laid}


def test_a_route_is_cut_where_the_share_of_its_length_is_passed():
    # An L of 3 m and 1 m: half its length is 2 m along the first leg, 0.9 of it 0.6 m up the other.
    corner = ((0.0, 0.0, 1.0), (3.0, 0.0, 1.0), (3.0, 1.0, 1.0))
    first, second = split_route(corner, 0.5)
    assert first == (corner[0], pytest.approx((2.0, 0.0, 1.0), rel=FORMULA))
    assert second == (pytest.approx((2.0, 0.0, 1.0), rel=FORMULA), *corner[1:])
    first, second = split_route(corner, 0.9)
    assert first == (*corner[:2], pytest.approx((3.0, 0.6, 1.0), rel=FORMULA))
    assert second == (pytest.approx((3.0, 0.6, 1.0), rel=FORMULA), corner[2])
