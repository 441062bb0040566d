"""The loss coefficient of a primed bell siphon, built from its parts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from optimizer.physics.bell import annulus_area_m2
from optimizer.physics.friction import friction_factor
from optimizer.physics.pipe import bore_area_m2
from optimizer.physics.siphon import RIM_DISCHARGE
from optimizer.physics.water import GRAVITY, kinematic_viscosity_m2_s

RIM_LOSS = 0.5
"""Sharp entrance flush with a wall: 0.50-0.57 in handbooks (fluids 1.3.1, ran)."""

EXIT_LOSS = 1.0
"""All of the velocity head is lost where the pipe discharges freely."""

_AGREED = 1e-14
_ROUNDS = 500


@dataclass(frozen=True, kw_only=True)
class SiphonGeometry:
    """Sizes of a bell siphon and the loss coefficients of its parts, referred to the bore.

    Attributes:
        standpipe_bore_m: standpipe bore, which every K refers to.
        standpipe_outside_m: standpipe outside diameter.
        standpipe_length_m: all pipe from rim to outlet.
        bell_bore_m: inside diameter of the bell, above ``standpipe_outside_m``.
        bell_height_m: length of the annulus between bell and standpipe.
        slot_area_m2: area of all slots of the bell.
        slot_discharge: discharge coefficient of the slots.
        turn_loss: K of the turn under the cap; no handbook has it: between a close return (1.1)
            and two mitre bends (2.4).
        rim_loss: K of the standpipe's mouth.
        elbows_loss: sum of K of elbows below the standpipe.
        exit_loss: K of the outlet, 1.
        roughness_m: wall roughness of all pipe.
        temperature_c: water temperature.

    Raises:
        ValueError: for sizes not above 0, a bell inside its standpipe or a negative K.
    """

    standpipe_bore_m: float
    standpipe_outside_m: float
    standpipe_length_m: float
    bell_bore_m: float
    bell_height_m: float
    slot_area_m2: float
    slot_discharge: float = RIM_DISCHARGE
    turn_loss: float
    rim_loss: float = RIM_LOSS
    elbows_loss: float
    exit_loss: float = EXIT_LOSS
    roughness_m: float
    temperature_c: float = 20.0

    def __post_init__(self) -> None:
        if min(self.slot_area_m2, self.slot_discharge, self.standpipe_bore_m) <= 0.0:
            raise ValueError("slots and standpipe of a siphon must be open")
        if not self.standpipe_bore_m < self.standpipe_outside_m < self.bell_bore_m:
            raise ValueError("a bell must be wider than the standpipe inside it")
        lengths = (self.standpipe_length_m, self.bell_height_m, self.roughness_m)
        losses = (self.turn_loss, self.rim_loss, self.elbows_loss, self.exit_loss)
        if min(*lengths, *losses) < 0.0:
            raise ValueError("lengths and losses of a siphon must not be negative")


def _friction(geometry: SiphonGeometry, diameter_m: float, speed_m_s: float) -> float:
    """Return the Darcy factor at a speed in a passage of a hydraulic diameter."""
    reynolds = speed_m_s * diameter_m / kinematic_viscosity_m2_s(geometry.temperature_c)
    return friction_factor(reynolds, geometry.roughness_m / diameter_m)


def _parts_at(geometry: SiphonGeometry, flow_m3_s: float) -> dict[str, float]:
    """Return each part's K at a flow. The annulus is taken as a pipe of its hydraulic diameter."""
    g = geometry
    bore_area = bore_area_m2(g.standpipe_bore_m)
    annulus_area = annulus_area_m2(g.bell_bore_m, g.standpipe_outside_m)
    gap = g.bell_bore_m - g.standpipe_outside_m
    in_annulus = _friction(g, gap, flow_m3_s / annulus_area) * g.bell_height_m / gap
    in_pipe = _friction(g, g.standpipe_bore_m, flow_m3_s / bore_area)
    return {
        "slots": (bore_area / (g.slot_discharge * g.slot_area_m2)) ** 2,
        "annulus": in_annulus * (bore_area / annulus_area) ** 2,
        "turn": g.turn_loss,
        "rim": g.rim_loss,
        "friction": in_pipe * g.standpipe_length_m / g.standpipe_bore_m,
        "elbows": g.elbows_loss,
        "exit": g.exit_loss,
    }


def siphon_loss_parts(geometry: SiphonGeometry, driving_head_m: float) -> dict[str, float]:
    """Return the loss coefficient of each part of a primed siphon, referred to the bore.

    Slots lose (a / (C A))^2, the annulus and the pipe by friction at the flow that the sum of all
    parts gives: Q = a sqrt(2 g H / K), found by repeated substitution (a contraction, as friction
    depends on flow by a power between -1 and 1.8 and Q on K by -1/2).

    Args:
        geometry: the siphon.
        driving_head_m: water level above the outlet H, above 0.

    Returns:
        K by part: slots, annulus, turn, rim, friction, elbows, exit.

    Raises:
        ValueError: for a driving head not above 0.
        ArithmeticError: if the substitution does not settle, which the contraction rules out.
    """
    if not driving_head_m > 0.0:
        raise ValueError(f"a siphon needs a driving head above 0, not {driving_head_m} m")
    still = bore_area_m2(geometry.standpipe_bore_m) * math.sqrt(2.0 * GRAVITY * driving_head_m)
    total = 5.0
    for _ in range(_ROUNDS):
        parts = _parts_at(geometry, still / math.sqrt(total))
        before, total = total, math.fsum(parts.values())
        if abs(total - before) <= _AGREED * total:
            return parts
    raise ArithmeticError("the siphon's flow did not settle")


@lru_cache(maxsize=2048)
def siphon_loss_coefficient(geometry: SiphonGeometry, driving_head_m: float) -> float:
    """Return K of a primed siphon, every part from slot to outlet, referred to the bore.

    Published dosing siphons show an overall coefficient 1/sqrt(K) of 0.39-0.50 (K 4 to 6.6).

    Args:
        geometry: the siphon.
        driving_head_m: water level above the outlet, above 0.

    Raises:
        ValueError: for a driving head not above 0.
    """
    return math.fsum(siphon_loss_parts(geometry, driving_head_m).values())
