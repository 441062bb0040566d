"""How one bed runs at the inflows it gets: floods an hour, times, in closed form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from optimizer.records.check import BedRun
from optimizer.records.design import Bed, BedKind, Design
from optimizer.simulate.in_turn import floods_per_hour
from optimizer.simulate.operating_point import OperatingPoint
from optimizer.simulate.valves import SetValves, ValveSetting


def bed_runs(
    design: Design, valves: SetValves, points: Sequence[OperatingPoint]
) -> tuple[BedRun, ...]:
    """Return how every bed runs at the lowest, setting and highest sump level.

    Args:
        design: the design.
        valves: valves as set.
        points: the operating points at the three levels, in that order.
    """
    kinds = {kind.id: kind for kind in design.kinds}
    flows = [point.flows_m3_s for point in points]
    return tuple(
        _bed_run(design, bed, kinds[bed.kind], valves.settings[bed.id], flows)
        for bed in design.beds
    )


def _bed_run(
    design: Design,
    bed: Bed,
    kind: BedKind,
    setting: ValveSetting,
    flows: Sequence[Mapping[str, float]],
) -> BedRun:
    """Return one bed's run; a fill or drain that never ends takes infinite time."""
    floods = partial(floods_per_hour, design, kind.siphon)
    low, middle, high = (max(0.0, flow[bed.drop]) for flow in flows)
    return BedRun(
        bed=bed.id,
        inflow_m3_s=(low, middle, high),
        floods_per_hour=(floods(low), floods(middle), floods(high)),
        fill_s=kind.siphon.fill_s(middle),
        drain_s=kind.siphon.drain_s(middle),
        valve_opening=setting.opening,
    )
