"""Start-stop windows of many siphon kits side by side, and what would reopen an empty one.

An empty window is one where no inflow surely starts and surely stops the siphon. Which coefficient
empties it is found by taking one at a time at its nominal value; a bucket and a watch then tell
more than a band: the inflow at which the siphon just starts, or the greatest it still stops at.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd

from optimizer.physics.band import Band
from optimizer.physics.bed import SiphonBed
from optimizer.physics.window import ROBUSTNESS, inflow_window

START, STOP, LOSS = "start Froude number", "stop ratio", "loss coefficient"
TOGETHER = "no coefficient alone"

COLUMNS = {
    "kit": "the kit's name",
    "bore_m": "standpipe bore",
    "robustness": "nominal, most (95 % of draws) or whole (the whole band)",
    "low_m3_s": "inflow above which it starts; missing where the window is empty",
    "high_m3_s": "inflow up to which it stops; missing where the window is empty",
    "emptied_by": "coefficient that empties the window, at its nominal value it would be open",
    "starts_by_m3_s": "an empty window opens if the siphon is seen to start below this inflow",
    "stops_from_m3_s": "or if it is seen to stop above this inflow",
}


@dataclass(frozen=True)
class KitInBed:
    """A kit fitted into a bed, with the bands of its coefficients."""

    label: str
    bed: SiphonBed
    start_froude: Band
    stop_ratio: Band
    loss_coefficient: Band

    def window(self, robustness: str) -> tuple[float, float] | None:
        """Return the inflows that work so surely, or None."""
        bands = self.start_froude, self.stop_ratio, self.loss_coefficient
        return inflow_window(self.bed, *bands, robustness)


def kit_windows_frame(kits: Iterable[KitInBed]) -> pd.DataFrame:
    """Return one row for each kit and robustness, with the columns of ``COLUMNS``."""
    rows = [_row(kit, robustness) for kit in kits for robustness in ROBUSTNESS]
    return pd.DataFrame(rows, columns=list(COLUMNS))


def _row(kit: KitInBed, robustness: str) -> dict[str, Any]:
    row = {"kit": kit.label, "bore_m": kit.bed.bore_m, "robustness": robustness}
    window = kit.window(robustness)
    if window is not None:
        return row | {"low_m3_s": window[0], "high_m3_s": window[1], "emptied_by": ""}
    return row | {
        "emptied_by": emptied_by(kit, robustness),
        "starts_by_m3_s": surely_stops_m3_s(kit, robustness),
        "stops_from_m3_s": surely_starts_m3_s(kit, robustness),
    }


def emptied_by(kit: KitInBed, robustness: str) -> str:
    """Return the coefficient that opens an empty window widest when it is known."""
    known = {
        START: replace(kit, start_froude=_fixed(kit.start_froude.nominal)),
        STOP: replace(kit, stop_ratio=_fixed(kit.stop_ratio.nominal)),
        LOSS: replace(kit, loss_coefficient=_fixed(kit.loss_coefficient.nominal)),
    }
    found = {name: each.window(robustness) for name, each in known.items()}
    widths = {name: math.log(w[1] / w[0]) for name, w in found.items() if w is not None}
    return max(widths, key=widths.__getitem__) if widths else TOGETHER


def surely_stops_m3_s(kit: KitInBed, robustness: str) -> float:
    """Return the greatest inflow that stops so surely: a start seen below it opens the window.

    Missing (nan) where no start within its band would.
    """
    window = replace(kit, start_froude=_fixed(kit.start_froude.low)).window(robustness)
    return window[1] if window else math.nan


def surely_starts_m3_s(kit: KitInBed, robustness: str) -> float:
    """Return the least inflow that starts so surely: a stop seen above it opens the window.

    Missing (nan) where no stop within its bands would.
    """
    best = replace(
        kit,
        stop_ratio=_fixed(kit.stop_ratio.high),
        loss_coefficient=_fixed(kit.loss_coefficient.low),
    )
    window = best.window(robustness)
    return window[0] if window else math.nan


def _fixed(value: float) -> Band:
    return Band(value, value, value, "as if measured")
