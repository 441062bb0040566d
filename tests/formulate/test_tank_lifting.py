"""What a pump brings up a riser, against one root sought alone by bisection."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import bisect

from optimizer.formulate.tank_lifting import Lifting
from optimizer.physics.laws import DarcyWeisbach
from optimizer.physics.pipe import head_loss_m
from optimizer.physics.pump import PumpCurve
from tests.tolerances import FORMULA

CURVE = PumpCurve((0.0, 0.0006, 0.0011), (4.0, 3.1, 1.2), ())  # an invented pump
BRINGS = Lifting(CURVE, DarcyWeisbach(7e-6, 12.0), 9.0, 0.0266, 3.5, 2.9)


def left_m(flow, level_m, rise_m=2.9):
    lost = head_loss_m(flow, 9.0, 0.0266, 7e-6, 12.0, 3.5)
    return CURVE.head_m(flow) - (rise_m - level_m) - lost


def test_every_level_s_flow_is_where_curve_rise_and_loss_meet():
    levels = np.linspace(0.0, 0.9, 7)
    alone = [bisect(left_m, 0.0, 0.0011, args=(level,), xtol=1e-19) for level in levels.tolist()]
    assert BRINGS.flows_m3_s(levels) == pytest.approx(alone, rel=FORMULA)
    assert BRINGS.flow_m3_s(0.9) == pytest.approx(alone[-1], rel=FORMULA)


def test_too_high_a_rise_gets_nothing_and_one_past_the_curve_s_end_is_not_known():
    # 4 m at no flow lifts water from 0.5 m by 4.4 m and not by 4.6 m; a rise of nothing is below
    # what the curve still gives at its end, so where they would meet is past it
    levels = np.array([0.5, 0.7])
    high = Lifting(CURVE, BRINGS.law, 9.0, 0.0266, 3.5, 4.6)
    assert math.isnan(high.flows_m3_s(levels)[0]) and high.flows_m3_s(levels)[1] > 0.0
    assert high.flow_m3_s(0.5) is None
    short = Lifting(CURVE, BRINGS.law, 0.1, 0.1, 0.0, 0.3)
    assert short.flow_m3_s(0.2) is None


@pytest.mark.parametrize("level_m", [0.0, 0.4])
def test_more_than_a_flow_is_brought_exactly_below_the_flow_brought(level_m):
    flow = BRINGS.flow_m3_s(level_m)
    assert BRINGS.brings_more(0.999 * flow, level_m)
    assert not BRINGS.brings_more(1.001 * flow, level_m)
    assert not BRINGS.brings_more(2.0 * CURVE.end_flow_m3_s, level_m)
