"""The coefficients that a site file can include."""

from __future__ import annotations

import json

from optimizer.physics.band import Band
from optimizer.records.calibration import Calibration

WRITTEN = ("start_froude", "stop_ratio", "porosity")
"""Coefficients that a site file takes as they are; the loss coefficient goes as its turn's loss."""

PRINTED_DIGITS = 4


def coefficients_text(found: Calibration) -> str | None:
    """Return the file's text, or None where the readings tell nothing that a site file takes.

    ``low`` and ``high`` are the interval for any one bed of the kind, the spread of beds added.
    """
    bands = {
        each.name: Band(each.value, each.bed_low, each.bed_high, found.provenance)
        for each in found.estimates
        if each.told and each.name in WRITTEN
    }
    if found.turn_loss is not None:
        bands["turn_loss"] = found.turn_loss
    if not bands:
        return None
    lines = [
        f"# Coefficients of kind {json.dumps(found.kind, ensure_ascii=False)}, {found.provenance}.",
        "# value is the median; 95 of 100 beds of the kind lie from low to high.",
        '# A site file in this folder or above it takes them in by include = "...", under',
        "# [coefficients] (docs/how-to/calibrate.md).",
        "",
        "[coefficients]",
        *(f"{name} = {_line(band)}" for name, band in bands.items()),
    ]
    return "\n".join(lines) + "\n"


def _line(band: Band) -> str:
    numbers = ", ".join(
        f"{key} = {_number(value)}"
        for key, value in (("value", band.nominal), ("low", band.low), ("high", band.high))
    )
    return f"{{ {numbers}, from = {json.dumps(band.provenance, ensure_ascii=False)} }}"


def _number(value: float) -> str:
    return f"{value:.{PRINTED_DIGITS}g}"
