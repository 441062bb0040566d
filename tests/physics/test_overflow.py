"""The overflow pipe of a tank: self-venting upright, not full at its slope."""

from __future__ import annotations

import math

import pytest

from optimizer.physics.overflow import overflow_capacity_m3_s
from tests.tolerances import FORMULA

BORE_ROUNDING_M = 0.001
"""The printed table gives whole millimetres."""


@pytest.mark.parametrize(("flow_m3_h", "bore_mm"), [(2, 56), (10, 107), (25, 155), (100, 269)])
def test_an_upright_overflow_takes_what_the_self_venting_table_gives_its_bore(flow_m3_h, bore_mm):
    # Table printed with P. D. Hills, Designing piping for gravity flow, Chemical Engineering,
    # 5 September 1983 (read): self-venting bore for 2, 10, 25, 100 m3/h.
    wide = overflow_capacity_m3_s(bore_mm / 1000 + BORE_ROUNDING_M, 1.0, 0.009)
    narrow = overflow_capacity_m3_s(bore_mm / 1000 - BORE_ROUNDING_M, 1.0, 0.009)
    assert narrow < flow_m3_h / 3600.0 < wide


def test_a_flat_overflow_takes_what_manning_gives_it_full():
    # Full: R = D/4, so Q = (pi D^2/4) (D/4)^(2/3) sqrt(S) / n.
    d, s, n = 0.1, 0.001, 0.011
    full = math.pi * d**2 / 4 * (d / 4) ** (2 / 3) * math.sqrt(s) / n
    assert overflow_capacity_m3_s(d, s, n) == pytest.approx(full, rel=FORMULA)


def test_an_overflow_that_does_not_fall_takes_nothing():
    assert overflow_capacity_m3_s(0.1, 0.0, 0.011) == 0.0
    with pytest.raises(ValueError):
        overflow_capacity_m3_s(0.1, -0.1, 0.011)
