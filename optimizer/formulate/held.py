"""How much water the beds may hold at once, by the site's rule."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from optimizer.formulate.bed_options import BedCandidate
from optimizer.physics.held_volume import held_quantile_m3
from optimizer.records.design import Design
from optimizer.records.problem import BranchPlan
from optimizer.records.site import Returns


def held_m3(plans: Sequence[tuple[BranchPlan, BedCandidate]], returns: Returns) -> float:
    """Return the held volume a sump must be able to give: all beds full, or a quantile.

    Args:
        plans: the chosen plans with their bed options.
        returns: the rule (``held``) and its confidence.
    """
    counts: dict[str, int] = {}
    kinds: dict[str, BedCandidate] = {}
    for plan, candidate in plans:
        kinds[candidate.option.id] = candidate
        counts[candidate.option.id] = counts.get(candidate.option.id, 0) + plan.beds
    if returns.held == "quantile" and counts:
        beds = [(c.kind.siphon, c.kind.inflow_m3_s, counts[key]) for key, c in kinds.items()]
        return held_quantile_m3(beds, returns.confidence).value_m3
    return math.fsum(counts[key] * c.kind.held_m3 for key, c in kinds.items())


def held_share(design: Design) -> float:
    """Return the share of the water of all beds full that a design's rule counts (1 for worst)."""
    if design.promise.held != "quantile":
        return 1.0
    counts = Counter(bed.kind for bed in design.beds)
    beds = [(k.siphon, k.inflow_m3_s, counts[k.id]) for k in design.kinds]
    found = held_quantile_m3(beds, design.promise.confidence)
    return found.value_m3 / found.worst_m3
