"""Pumps, money, crops, and the least-cost network."""

from __future__ import annotations

from functools import cache, partial

import numpy as np

from optimizer.milp.size_tree import size_tree
from optimizer.physics import money
from optimizer.physics.fish import feed_supported_kg_per_day
from optimizer.physics.pump import PumpCurve, wire_to_water_efficiency
from optimizer.physics.roots import root_between
from optimizer.rings import RingSizes, size_rings
from tests.milp.two_loop import INCHES, two_loop_network, two_loop_tree
from tests.oracles.enumerate_tree import HazenWilliamsByHand
from tests.validation.outside import Outside

LITRE_PER_MINUTE = 1 / 60_000
PUMPS = "Y. A. Cengel, J. M. Cimbala, Fluid Mechanics, chapter 14 problem"
ECONOMY = "engineering-economy worked example"
FAO = "FAO Technical Paper 589, 2014"
NETWORK = (
    "network: E. Alperovits, U. Shamir, Water Resources Research 13(6), 1977 (numbers read from "
    "the MINLPLib instance waternd_shamir; elevations and 30 m recalled); optimum of the tree: "
    "brute force over 14^6 designs"
)
RINGS = NETWORK.replace(
    "optimum of the tree: brute force over 14^6 designs",
    "optimum: best known, proven by general branch and bound in our run",
)


def checks() -> list[Outside]:
    """Return every check of this file."""
    return [*_pump(), *_money(), *_feed(), *_trees(), *_rings()]


def _pump() -> list[Outside]:
    case = "pump 7.46 - 0.0453 V2 against 3.52 + 0.0261 V2 (m, L/min): "
    return [
        Outside(case + "flow", 7.428, "L/min", 0.0075, PUMPS, "recalled", lambda: _meeting()[0],
                "0.1 %: the curve is given as 27 points"),
        Outside(case + "head", 4.960, "m", 0.005, PUMPS, "recalled", lambda: _meeting()[1],
                "0.1 %: the curve is given as 27 points"),
        Outside("small aquarium pump, best wire-to-water efficiency (0.2 L/s at 2 m on 20 W)", 0.20,
                "", 0.01, "university fluids teaching note: about 20 %", "read",
                partial(wire_to_water_efficiency, 2e-4, 2.0, 20.0)),
    ]  # fmt: skip


@cache
def _meeting() -> tuple[float, float]:
    points = np.linspace(0.0, 12.8, 27)
    pump = PumpCurve(tuple(points * LITRE_PER_MINUTE), tuple(7.46 - 0.0453 * points**2), ())
    flow = root_between(
        lambda q: pump.head_m(q) - 3.52 - 0.0261 * (q / LITRE_PER_MINUTE) ** 2,
        0.0,
        pump.end_flow_m3_s,
    )
    return flow / LITRE_PER_MINUTE, float(pump.head_m(flow))


def _money() -> list[Outside]:
    case = "7,500 first, 500 salvage, 6,000 a year, 10 years at 5 %: "
    worth = 7500 + 6000 * money.present_worth_factor(0.05, 10)
    worth += money.present_worth_single(-500, 0.05, 10)
    yearly = worth * money.capital_recovery_factor(0.05, 10)
    return [
        Outside(case + "present worth", 53_523.45, "", 0.01, ECONOMY, "read", lambda: worth),
        Outside(case + "the same a year", 6_931.53, "", 0.01, ECONOMY, "read", lambda: yearly),
    ]


def _feed() -> list[Outside]:
    published = [("leafy", (0.40, 0.50)), ("fruiting", (0.50, 0.80))]
    return [
        Outside(f"fish feed that 10 m2 of {crop} crop takes up, {end}", kg, "kg/day", 1e-9, FAO,
                "second hand",
                lambda crop=crop, i=i: feed_supported_kg_per_day(10.0, crop)[i])
        for crop, ends in published
        for i, (end, kg) in enumerate(zip(("least", "most"), ends, strict=True))
    ]  # fmt: skip


def _trees() -> list[Outside]:
    trees = [({(4, 5), (5, 7)}, 416_000.0), ({(3, 5), (5, 7)}, 437_000.0),
             ({(2, 3), (5, 7)}, 495_000.0)]  # fmt: skip
    law = HazenWilliamsByHand(130.0)
    return [
        Outside("least cost of the two-loop network as a tree, without pipes "
                + " and ".join(f"{a}-{b}" for a, b in sorted(without)), cost, "", 0.5, NETWORK,
                "read", lambda without=without: size_tree(two_loop_tree(without), INCHES, law).cost)
        for without, cost in trees
    ]  # fmt: skip


def _rings() -> list[Outside]:
    heads = {2: 203.25, 3: 190.46, 4: 198.45, 5: 183.81, 6: 195.45, 7: 190.55}
    case = "two-loop network, both loops kept: "
    return [
        Outside(case + "least cost", 419_000.0, "", 0.5, RINGS, "ran", lambda: _ring().cost),
        Outside(case + "proven bound", 419_000.0, "", 0.5, RINGS, "ran", lambda: _ring().bound),
        *(Outside(case + f"head at node {node}", head, "m", 0.01, RINGS, "ran",
                  lambda node=node: _ring().heads_m[node])
          for node, head in heads.items()),
    ]  # fmt: skip


@cache
def _ring() -> RingSizes:
    return size_rings(two_loop_network(), INCHES, HazenWilliamsByHand(130.0))
