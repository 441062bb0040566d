"""What a pump brings up risers, against one root sought alone by bisection."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import bisect

from optimizer.formulate.tank_lifting import Risers
from optimizer.physics.pipe import head_loss_m
from optimizer.physics.pump import PumpCurve
from tests.tolerances import FORMULA

CURVE = PumpCurve((0.0, 0.0006, 0.0011), (4.0, 3.1, 1.2), ())  # an invented pump
BORES, ROUGHNESS, LOCAL = (0.0215, 0.0266, 0.0409), (7e-6, 7e-6, 4.5e-5), (3.5, 3.5, 9.0)


def risers(rise_m=2.9, length_m=9.0):
    return Risers(BORES, ROUGHNESS, LOCAL, length_m, rise_m, 12.0)


def test_each_riser_s_flow_at_each_level_is_where_curve_rise_and_loss_meet():
    levels = np.linspace(0.0, 0.9, 4).tolist()

    def left_m(flow, bore, rough, local, level_m):
        lost = head_loss_m(flow, 9.0, bore, rough, 12.0, local)
        return CURVE.head_m(flow) - (2.9 - level_m) - lost

    alone = [
        [bisect(left_m, 0.0, 0.0011, args=(*pipe, level), xtol=1e-19) for level in levels]
        for pipe in zip(BORES, ROUGHNESS, LOCAL, strict=True)
    ]
    found = risers().brought_m3_s(CURVE, levels)
    assert found == pytest.approx(np.array(alone), rel=FORMULA)
    assert np.all(np.diff(found, axis=0) > 0.0) and np.all(np.diff(found, axis=1) > 0.0)


def test_a_rise_above_the_pump_s_head_at_no_flow_gets_nothing():
    # 4 m at no flow lifts water by 4.6 m from 0.7 m above the floor, and not from 0.5 m
    for low, high in risers(rise_m=4.6).brought_m3_s(CURVE, [0.5, 0.7]).tolist():
        assert math.isnan(low) and high > 0.0


def test_what_lies_past_the_end_of_the_pump_s_curve_is_not_known():
    # with hardly any rise or pipe, 1.2 m at the curve's end are more than the widest riser loses
    *_, (wide,) = risers(rise_m=0.3, length_m=0.1).brought_m3_s(CURVE, [0.2]).tolist()
    assert math.isnan(wide)
    assert head_loss_m(0.0011, 0.1, BORES[2], ROUGHNESS[2], 12.0, LOCAL[2]) < 1.2 - 0.1


def test_an_answer_given_before_is_not_changed_by_who_got_it():
    first = risers().brought_m3_s(CURVE, [0.3])
    first[:] = -1.0
    assert np.all(risers().brought_m3_s(CURVE, [0.3]) > 0.0)
