"""Flow in one full round pipe: velocity, head loss and the flow a head drives."""

from __future__ import annotations

import math

import numpy as np

from optimizer.physics.arrays import Array, FloatOrArray, like
from optimizer.physics.friction import friction_factor
from optimizer.physics.roots import root_between
from optimizer.physics.water import GRAVITY, kinematic_viscosity_m2_s

_STILL_REYNOLDS = 1e-12
"""Reynolds number below which water counts as still, so that 64/Re stays finite."""


def bore_area_m2(bore_m: float) -> float:
    """Return the area of a round bore, in m2.

    Raises:
        ValueError: if the bore is not above 0.
    """
    if not bore_m > 0.0:
        raise ValueError(f"a bore must be above 0, not {bore_m} m")
    return math.pi * bore_m**2 / 4.0


def velocity_m_s(flow_m3_s: FloatOrArray, bore_m: float) -> FloatOrArray:
    """Return the mean velocity of a flow in a full round pipe, in m/s, signed as the flow.

    Args:
        flow_m3_s: flow, a number or an array.
        bore_m: inside diameter, above 0.

    Raises:
        ValueError: if the bore is not above 0.
    """
    return like(flow_m3_s, np.asarray(flow_m3_s) / bore_area_m2(bore_m))


def reynolds(flow_m3_s: FloatOrArray, bore_m: float, temperature_c: float = 20.0) -> FloatOrArray:
    """Return the Reynolds number |V| d / nu (no unit).

    Args:
        flow_m3_s: flow, a number or an array.
        bore_m: inside diameter, above 0.
        temperature_c: water temperature, 0 to 100.

    Raises:
        ValueError: for a bore or temperature outside its limits.
    """
    speed = np.abs(velocity_m_s(np.asarray(flow_m3_s, dtype=np.float64), bore_m))
    return like(flow_m3_s, speed * bore_m / kinematic_viscosity_m2_s(temperature_c))


def _check_run(length_m: float, loss_coefficient: float) -> None:
    if length_m < 0.0 or loss_coefficient < 0.0:
        raise ValueError("length and loss coefficient must not be negative")


def head_loss_m(
    flow_m3_s: FloatOrArray,
    length_m: float,
    bore_m: float,
    roughness_m: float,
    temperature_c: float = 20.0,
    loss_coefficient: float = 0.0,
) -> FloatOrArray:
    """Return the head a flow loses: h = (f L/d + K) V^2 / 2g (Darcy-Weisbach).

    Odd in the flow, 0 at 0 and strictly rising, through the laminar-turbulent blend too
    (:func:`optimizer.physics.friction.friction_factor`).

    Args:
        flow_m3_s: flow, a number or an array; negative flows lose negative head.
        length_m: pipe length, 0 or more.
        bore_m: inside diameter, above 0.
        roughness_m: wall roughness, at most a tenth of the bore.
        temperature_c: water temperature, 0 to 100.
        loss_coefficient: sum of local K referred to this bore.

    Returns:
        Head loss in metres of water.

    Raises:
        ValueError: for an argument outside its limits.
    """
    _check_run(length_m, loss_coefficient)
    bore_area_m2(bore_m)
    flow = np.asarray(flow_m3_s, dtype=np.float64)
    lost = head_losses_m(flow, length_m, bore_m, roughness_m, temperature_c, loss_coefficient)
    return like(flow_m3_s, lost)


def head_losses_m(
    flows_m3_s: Array,
    lengths_m: Array | float,
    bores_m: Array | float,
    roughness_m: Array | float,
    temperature_c: float,
    loss_coefficients: Array | float,
) -> Array:
    """Return the heads that flows lose in pipes of their own, as :func:`head_loss_m` of each.

    Args:
        flows_m3_s: flows; with it lengths, bores, roughness and coefficients are broadcast.
        lengths_m: pipe lengths, 0 or more.
        bores_m: inside diameters, above 0.
        roughness_m: wall roughness, at most a tenth of the bore.
        temperature_c: water temperature, 0 to 100.
        loss_coefficients: sums of local K.
    """
    speeds = flows_m3_s / (math.pi * bores_m**2 / 4.0)
    reynolds_numbers = np.abs(speeds) * bores_m / kinematic_viscosity_m2_s(temperature_c)
    moving = np.maximum(reynolds_numbers, _STILL_REYNOLDS)
    factors: Array = np.asarray(friction_factor(moving, roughness_m / bores_m))
    total = factors * lengths_m / bores_m + loss_coefficients
    return np.asarray(total * speeds * np.abs(speeds) / (2.0 * GRAVITY))


def flow_for_head_loss(
    head_loss_m: float,
    length_m: float,
    bore_m: float,
    roughness_m: float,
    temperature_c: float = 20.0,
    loss_coefficient: float = 0.0,
) -> float:
    """Return the flow that loses a given head: the inverse of :func:`head_loss_m`.

    Args:
        head_loss_m: head to lose, in metres; negative heads give negative flows.
        length_m: pipe length, 0 or more.
        bore_m: inside diameter, above 0.
        roughness_m: wall roughness, at most a tenth of the bore.
        temperature_c: water temperature, 0 to 100.
        loss_coefficient: sum of local K referred to this bore.

    Returns:
        Flow in m3/s, to about 1e-14 of itself.

    Raises:
        ValueError: for an argument outside its limits, or a pipe that loses nothing.

    >>> loss = head_loss_m(5e-4, 20.0, 0.0266, 1.5e-6)
    >>> round(flow_for_head_loss(loss, 20.0, 0.0266, 1.5e-6), 12)
    0.0005
    """
    _check_run(length_m, loss_coefficient)
    if length_m == 0.0 and loss_coefficient == 0.0:
        raise ValueError("a pipe without length or local loss sets no flow")
    if head_loss_m == 0.0:
        return 0.0
    wanted = abs(head_loss_m)

    def excess(flow: float) -> float:
        lost = _loss(flow, length_m, bore_m, roughness_m, temperature_c, loss_coefficient)
        return lost - wanted

    high = bore_area_m2(bore_m) * math.sqrt(
        2.0 * GRAVITY * wanted / (0.02 * length_m / bore_m + loss_coefficient)
    )
    while excess(high) < 0.0:
        high *= 2.0
    return math.copysign(root_between(excess, 0.0, high), head_loss_m)


_loss = head_loss_m
"""The forward law by a name that the argument ``head_loss_m`` does not hide."""
