"""Water, friction, fittings and pressure."""

from __future__ import annotations

from functools import partial

from optimizer.physics.fittings import (
    EQUIVALENT_DIAMETERS,
    fitting_loss_coefficient,
    many_outlet_factor,
)
from optimizer.physics.friction import friction_factor
from optimizer.physics.laws import HazenWilliams
from optimizer.physics.pipe import head_loss_m, reynolds
from optimizer.physics.pressure import rating_at_temperature
from optimizer.physics.valve import loss_at_opening
from optimizer.physics.water import GRAVITY, density_kg_m3, dynamic_viscosity_pa_s
from tests.validation.outside import Outside

FOOT_M, INCH_M, PSI_PA, GPM_M3_S = 0.3048, 0.0254, 6894.757293168, 3.785411784e-3 / 60
ONE_INCH_BORE_M = 0.02664

FLUIDS = "fluids 1.3.1, friction_factor and Colebrook, two methods agree"
CRANE = "fluids 1.3.1 after Crane TP-410 and others"
EXHIBIT = "Illinois Administrative Code, title 77, part 906, appendix A, exhibit I"
EXAMPLE = "Y. A. Cengel, J. M. Cimbala, Fluid Mechanics, Example 8-3"
PERRY = "fittings table of Perry's Chemical Engineers' Handbook"
DERATING = "two pipe makers' tables of temperature factors for PVC"
KELL = "G. S. Kell, J. Chem. Eng. Data 20(1), 1975"

EXAMPLE_FLOW_M3_S, EXAMPLE_BORE_M = 0.2 * FOOT_M**3, 2 * INCH_M
EXAMPLE_WARM_C, EXAMPLE_ROUGH_M = (60 - 32) / 1.8, 7e-6 * FOOT_M
GATE = (0.25, 0.5, 0.75, 1.0), (24.0, 4.5, 0.9, 0.17)


def checks() -> list[Outside]:
    """Return every check of this file."""
    return [*_water(), *_friction(), *_worked_example(), *_fittings(), *_pressure()]


def _water() -> list[Outside]:
    density = [(0, 999.84), (4, 999.975), (20, 998.204), (40, 992.22)]
    viscosity = [(0, 1.792), (10, 1.306), (20, 1.0016), (40, 0.653)]
    return [
        *(
            Outside(f"density of water at {warm} C", kg, "kg/m3", 0.01, KELL, "recalled",
                    partial(density_kg_m3, warm))
            for warm, kg in density
        ),
        *(
            Outside(f"viscosity of water at {warm} C", mpa_s, "mPa s", 0.0005,
                    "international tables of water viscosity at 0.1 MPa", "recalled",
                    lambda warm=warm: 1000 * dynamic_viscosity_pa_s(warm))
            for warm, mpa_s in viscosity
        ),
    ]  # fmt: skip


def _friction() -> list[Outside]:
    factors = [
        (1e5, 1e-4, 0.01851386607747, 1e-13), (1e4, 0.0, 0.03088295035, 1e-11),
        (1e6, 1e-3, 0.01994346584, 1e-11), (1e5, 2e-3, 0.02510664589, 1e-11),
    ]  # fmt: skip
    exhibit = [(10, 1.315, 0.133, 5.50), (20, 1.900, 0.145, 2.46), (50, 2.375, 0.154, 3.98),
               (100, 3.500, 0.216, 2.09)]  # fmt: skip
    return [
        *(
            Outside(f"friction factor (Darcy), Re {re:g}, roughness over bore {rough:g}", factor,
                    "", within, FLUIDS, "ran", partial(friction_factor, re, rough))
            for re, rough, factor, within in factors
        ),
        Outside("friction factor (Darcy), laminar, Re 2000", 0.032, "", 0.0,
                "64/Re, Hagen and Poiseuille", "recalled", partial(friction_factor, 2000.0, 0.01)),
        *(
            Outside(f"loss of {gpm} US gal/min in Schedule 40 of {outside:g} in outside, C 150",
                    feet, "ft per 100 ft", 0.02 * feet, EXHIBIT, "read",
                    partial(_exhibit_loss, gpm, outside, wall),
                    "2 %: the table keeps three figures and its own bores")
            for gpm, outside, wall, feet in exhibit
        ),
    ]  # fmt: skip


def _exhibit_loss(gpm: float, outside_in: float, wall_in: float) -> float:
    bore_m = (outside_in - 2 * wall_in) * INCH_M
    return float(HazenWilliams(150.0).head_loss_m(gpm * GPM_M3_S, 100.0, bore_m))


def _worked_example() -> list[Outside]:
    case = "water at 60 F, 0.2 ft3/s through 200 ft of 2 in tube, roughness 7e-6 ft: "
    factor = friction_factor(
        reynolds(EXAMPLE_FLOW_M3_S, EXAMPLE_BORE_M, EXAMPLE_WARM_C),
        EXAMPLE_ROUGH_M / EXAMPLE_BORE_M,
    )
    loss_m = head_loss_m(
        EXAMPLE_FLOW_M3_S, 200 * FOOT_M, EXAMPLE_BORE_M, EXAMPLE_ROUGH_M, EXAMPLE_WARM_C
    )
    pressure_pa = density_kg_m3(EXAMPLE_WARM_C) * GRAVITY * loss_m
    found = [
        ("friction factor", 0.0174, "", factor),
        ("head lost", 27.3, "ft", loss_m / FOOT_M),
        ("pressure lost", 11.8, "psi", pressure_pa / PSI_PA),
        ("power", 461.0, "W", pressure_pa * EXAMPLE_FLOW_M3_S),
    ]
    return [
        Outside(case + what, printed, unit, 0.005 * printed, EXAMPLE, "recalled",
                lambda ours=ours: float(ours), "0.5 %: the book reads its properties from tables")
        for what, printed, unit, ours in found
    ]  # fmt: skip


def _fittings() -> list[Outside]:
    sums = [(5, 0.4568), (10, 0.4022), (20, 0.3760)]
    inch = [("ball_valve_open", 0.067), ("elbow_90", 0.67), ("tee_run", 0.45),
            ("tee_branch", 1.34), ("close_return", 1.11)]  # fmt: skip
    return [
        *(
            Outside(f"many-outlet factor, {outlets} outlets, exponent 1.852", factor, "", 5e-5,
                    "exact sum; J. E. Christiansen, Bulletin 670, 1942, agrees within 0.1 %",
                    "recalled", partial(many_outlet_factor, outlets, 1.852))
            for outlets, factor in sums
        ),
        *(
            Outside(f"loss coefficient, 1 in, {name.replace('_', ' ')}", printed, "",
                    0.014 * printed, CRANE, "ran",
                    partial(fitting_loss_coefficient, EQUIVALENT_DIAMETERS[name], ONE_INCH_BORE_M),
                    "1.4 %: the library takes friction at Re 7.5e6 d, not at the fully rough limit")
            for name, printed in inch
        ),
        *(
            Outside(f"loss coefficient of a gate valve {opening:g} open", loss, "", 1e-9 * loss,
                    PERRY, "second hand", partial(loss_at_opening, opening, *GATE),
                    "our curve runs through the printed points")
            for opening, loss in zip(*GATE, strict=True)
        ),
    ]  # fmt: skip


def _pressure() -> list[Outside]:
    factors = [(73, 1.0), (80, 0.88), (90, 0.75), (100, 0.62), (110, 0.50), (120, 0.40),
               (130, 0.30), (140, 0.22)]  # fmt: skip
    return [
        Outside(f"what a PVC pipe's rating keeps at {warm} F", factor, "", 1e-9, DERATING, "read",
                partial(rating_at_temperature, 1.0, "PVC", (warm - 32) / 1.8))
        for warm, factor in factors
    ]  # fmt: skip
