"""Siphons, part-full return pipe, and how many beds drain at once."""

from __future__ import annotations

from functools import partial

from scipy.optimize import minimize_scalar

from optimizer.physics import part_full
from optimizer.physics.roots import root_between
from optimizer.physics.simultaneity import chance_of_more, least_simultaneous
from optimizer.physics.siphon import SELF_VENTING_FROUDE, froude_flow, primed_flow
from optimizer.physics.slopes import least_slope
from tests.validation.outside import Outside

INCH_M, GPM_M3_S = 0.0254, 3.785411784e-3 / 60

HILLS = "P. D. Hills, Designing piping for gravity flow, Chemical Engineering, 5 September 1983"
MAKER = "a maker's printed table for automatic dosing siphons (brand withheld)"
CHOW = "V. T. Chow, Open-Channel Hydraulics, 1959, table 2-2"
ELEMENTS = "hydraulic elements of a circular pipe, Manning with constant n: standard result"
HUNTER = "S. G. Buchberger, slides on Hunter's method, 2013"
CODE = "Chicago Plumbing Code 18-29-704.1"

PIPE = (0.1034, 0.01, 0.011)
"""An invented drain: bore 103.4 mm, slope 1 %, n 0.011; the ratios below hold for any."""


def checks() -> list[Outside]:
    """Return every check of this file."""
    return [*_vertical_pipe(), *_dosing_siphon(), *_part_full(), *_at_once(), *_slopes()]


def _vertical_pipe() -> list[Outside]:
    table = [(2, 56), (10, 107), (25, 155), (100, 269)]
    return [
        *(
            Outside(f"self-venting bore (Froude number 0.3) for {flow} m3/h", bore, "mm", 1.0,
                    f"table printed with {HILLS}", "read", partial(_venting_bore_mm, flow))
            for flow, bore in table
        ),
        Outside("Froude number of 36 m3/h in 180 mm", 0.296, "", 0.001, f"worked example, {HILLS}",
                "second hand", lambda: (36 / 3600) / froude_flow(1.0, 0.180)),
    ]  # fmt: skip


def _venting_bore_mm(flow_m3_h: float) -> float:
    return 1000 * root_between(
        lambda bore: froude_flow(SELF_VENTING_FROUDE, bore) * 3600 - flow_m3_h, 0.01, 1.0
    )


def _dosing_siphon() -> list[Outside]:
    table = [(13, 140), (17, 150), (23, 160), (30, 170)]
    return [
        Outside(f"4 in dosing siphon, draw-down {inches} in to 8 in above the outlet, mean flow",
                gpm, "US gal/min", 0.02 * gpm, MAKER, "read", partial(_mean_gpm, inches),
                "2 %: one coefficient 0.42 for all, the table rounds to 10")
        for inches, gpm in table
    ]  # fmt: skip


def _mean_gpm(draw_down_in: float) -> float:
    loss = 1 / 0.42**2
    low = primed_flow(8 * INCH_M, 0.0, 4 * INCH_M, loss)
    high = primed_flow((8 + draw_down_in) * INCH_M, 0.0, 4 * INCH_M, loss)
    return (low + high) / 2 / GPM_M3_S


def _part_full() -> list[Outside]:
    full, fast = part_full.full_flow_m3_s(*PIPE), part_full.velocity_m_s(1.0, *PIPE)
    flow = partial(_greatest, part_full.flow_m3_s)
    speed = partial(_greatest, part_full.velocity_m_s)
    return [
        Outside("wet area at 0.6 of the depth, over the bore squared", 0.4920, "", 5e-5, CHOW,
                "read", lambda: part_full.wet_area_m2(0.6, 1.0)),
        Outside("hydraulic radius at 0.6 of the depth, over the bore", 0.2776, "", 5e-5, CHOW,
                "read", lambda: part_full.hydraulic_radius_m(0.6, 1.0)),
        Outside("greatest flow over the full pipe's", 1.0757, "", 5e-4, ELEMENTS, "read",
                lambda: flow()[1] / full),
        Outside("depth of the greatest flow", 0.938, "of bore", 1e-3, ELEMENTS, "read",
                lambda: flow()[0]),
        Outside("greatest velocity over the full pipe's", 1.140, "", 5e-4, ELEMENTS, "read",
                lambda: speed()[1] / fast),
        Outside("depth of the greatest velocity", 0.813, "of bore", 1e-3, ELEMENTS, "read",
                lambda: speed()[0]),
        *(
            Outside(f"flow at {depth} of the depth over the full pipe's", share, "", 5e-4, ELEMENTS,
                    "read", lambda depth=depth: part_full.flow_m3_s(depth, *PIPE) / full)
            for depth, share in [(0.5, 0.500), (0.8, 0.977)]
        ),
    ]  # fmt: skip


def _greatest(law) -> tuple[float, float]:
    """Return where a law of depth is greatest, and its value there."""
    found = minimize_scalar(lambda depth: -law(depth, *PIPE), bounds=(0.5, 1), method="bounded")
    return float(found.x), float(-found.fun)


def _at_once() -> list[Outside]:
    return [
        Outside("7 fixtures in use 0.20 of the time: most at once in 99 %", 4, "", 0.0, HUNTER,
                "read", lambda: least_simultaneous(7, 0.20, 0.99)),
        Outside("the same: chance of 3 or fewer", 0.96666, "", 5e-6, HUNTER, "read",
                lambda: 1 - chance_of_more(3, 7, 0.20)),
        Outside("the same: chance of 4 or fewer", 0.99533, "", 5e-6, HUNTER, "read",
                lambda: 1 - chance_of_more(4, 7, 0.20)),
    ]  # fmt: skip


def _slopes() -> list[Outside]:
    rows = [(2.5, 1 / 4), (3.0, 1 / 8), (6.0, 1 / 8), (8.0, 1 / 16)]
    return [
        Outside(f"least slope of a drain of {inches:g} in", fall, "in/ft", 1e-9, CODE, "read",
                lambda inches=inches: 12 * least_slope(inches * INCH_M))
        for inches, fall in rows
    ]  # fmt: skip
