"""Valve openings from what was read: openings, measured inflows, or both compared."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from optimizer.mend.as_built import AsBuilt, losses_at
from optimizer.mend.turns import set_inflows
from optimizer.report.scales import Reader
from optimizer.simulate.operating_point import operating_point

AGREE_SHARE = 0.15
"""Measured and computed inflows that differ by no more agree: twice the error of a bucket and a
watch (assumption)."""


def openings_of(built: AsBuilt) -> tuple[dict[str, float], tuple[str, ...]]:
    """Return every valve's opening, and readings that contradict each other as sentences.

    Where only an inflow was measured, the valve is as open as gives its bed that inflow with the
    sump at the middle of its range. Where both were, the opening is believed.

    Args:
        built: the system.
    """
    given = {b.bed: b.opening for b in built.stands.beds if b.opening is not None}
    measured = {b.bed: b.inflow_m3_s for b in built.stands.beds if b.inflow_m3_s is not None}
    unknown = {bed: flow for bed, flow in measured.items() if bed not in given}
    start = {bed.id: given.get(bed.id, 1.0) for bed in built.design.beds}
    openings = set_inflows(built.design, start, unknown) if unknown else start
    return openings, tuple(_doubts(built, openings, measured, given))


def _doubts(
    built: AsBuilt,
    openings: Mapping[str, float],
    measured: Mapping[str, float],
    given: Mapping[str, float],
) -> Iterator[str]:
    """Yield a sentence for every measured inflow that the system described does not give."""
    design, reader = built.design, Reader(built.design.units)
    level = max(0.0, design.sump.setting_m)
    flows = operating_point(design, losses_at(design, openings), level).flows_m3_s
    for bed in design.beds:
        read, computed = measured.get(bed.id), max(0.0, flows[bed.drop])
        if read is None or abs(computed - read) <= AGREE_SHARE * max(read, computed):
            continue
        flow, let = reader.text("flow", read), reader.text("flow", computed)
        if bed.id in given:
            yield (
                f"Bed {bed.id}: {flow} was measured, but its valve at {given[bed.id]:.0%} open "
                f"would let {let} through. Measure both again; until then the opening is believed."
            )
        elif computed < read:
            yield (
                f"Bed {bed.id}: {flow} was measured, but pump and pipes as described give it no "
                f"more than {let}, its valve wide open. Check this reading, the pump and the pipe "
                "sizes; until then the valve is taken as wide open."
            )
        else:
            yield (
                f"Bed {bed.id}: {flow} was measured, less than its valve lets through at the "
                f"least opening known of it ({let}). Check this reading and the valve."
            )
