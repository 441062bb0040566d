"""Between which inflows a bed may fail to start or to stop, over the bands of its coefficients."""

from __future__ import annotations

from dataclasses import dataclass, replace

from optimizer.records.design import BedKind


@dataclass(frozen=True)
class FlowBand:
    """A flow with its band, in m3/s."""

    nominal_m3_s: float
    low_m3_s: float
    high_m3_s: float


def start_band(kind: BedKind) -> FlowBand:
    """Return the inflow above which the siphon starts; its start Froude number is a band."""
    band = kind.start_froude
    low, high = (
        replace(kind.siphon, start_froude=froude).start_flow_m3_s
        for froude in (band.low, band.high)
    )
    return FlowBand(kind.siphon.start_flow_m3_s, low, high)


def stop_band(kind: BedKind) -> FlowBand:
    """Return the inflow up to which the siphon stops; stop ratio and loss are bands."""
    ratio, loss = kind.stop_ratio, kind.loss_coefficient
    low = replace(kind.siphon, stop_ratio=ratio.low, loss_coefficient=loss.high)
    high = replace(kind.siphon, stop_ratio=ratio.high, loss_coefficient=loss.low)
    return FlowBand(kind.siphon.stop_flow_m3_s, low.stop_flow_m3_s, high.stop_flow_m3_s)
