"""A header closed into a ring, in words: where its two sides meet, and what is proven of it."""

from __future__ import annotations

from optimizer.records.design import Design
from optimizer.report.scales import Reader, money

LEAST_FLOW_M3_S = 1e-9
"""Water that flows no faster than this stands still (0.06 mL/min)."""


def ring_sentences(design: Design) -> list[str]:
    """Return what a ring is and what is proven of its cost; empty without one."""
    ring = design.ring
    if ring is None:
        return []
    cost, bound = (money(cents, design.currency) for cents in (ring.pipe_cents, ring.bound_cents))
    return [
        f"The header is closed into a ring of {len(ring.stretches)} pipes, so water reaches every "
        f"row from two sides. {_meeting(design)}",
        f"Supply pipe, fittings and valves cost {cost}, {_proven(design)} these beds and this "
        f"pump. Both were chosen for {ring.chosen_for}: other beds or another pump might make a "
        f"cheaper ring. No ring costs less than {bound} in all, whatever its beds and pump "
        "(proven).",
    ]


def _proven(design: Design) -> str:
    assert design.ring is not None
    cents, least = design.ring.pipe_cents, design.ring.pipe_bound_cents
    if cents - least < 1.0:
        return "proven the least for"
    return f"where {money(least, design.currency)} is proven the least for"


def _meeting(design: Design) -> str:
    """Return where the two sides meet: at a node both reach, or in a pipe that stands still."""
    assert design.ring is not None
    pipes = [s for s in design.stretches if s.id in design.ring.stretches]
    still = [s for s in pipes if s.flow_m3_s <= LEAST_FLOW_M3_S]
    if still:
        return f"They meet in the {still[0].id}, where water stands still."
    # Head falls along every pipe, so they cannot all lead on round the ring: two end at one node.
    heads = [s.head for s in pipes]
    node = max(heads, key=heads.count)
    reader = Reader(design.units)
    flows = " and ".join(reader.text("flow", s.flow_m3_s) for s in pipes if s.head == node)
    return f"They meet at {node}, with {flows}."
