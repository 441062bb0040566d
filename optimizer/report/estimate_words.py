"""A calibration told in a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from optimizer.records.calibration import COEFFICIENTS, Calibration, NextReading
from optimizer.report.scales import Reader, percent, rounded

NAMES = {
    "start_froude": "start Froude number",
    "stop_ratio": "stop ratio",
    "loss_coefficient": "loss coefficient",
    "porosity": "porosity",
}
NARROWS = 0.97
"""A reading is said to narrow an interval where it leaves at most this share of its width."""

HOW_TOLD = {
    "start_froude": "watch whether beds start, at inflows near where they just do",
    "stop_ratio": "watch whether beds stop, at inflows near where they just do",
    "loss_coefficient": "time drains",
    "porosity": "time fills, with the levels known",
}


def calibration_summary(found: Calibration, files: Sequence[Path] = ()) -> RenderableType:
    """Return a calibration as something rich can print; nothing is printed here.

    Text of the file is never read as rich markup.
    """
    counted = f"{found.provenance[0].upper()}{found.provenance[1:]}, kind {found.kind}."
    parts: list[RenderableType] = [Text(counted)]
    if found.contradictions:
        parts.append(Text("These readings cannot all be right:"))
        for each in found.contradictions:
            parts.append(Text(f"  {'; '.join(w for w in each.readings if w)}"))
            parts.append(Text(f"    {each.what}\n    {each.question}"))
        parts.append(Text("Nothing is estimated from them until that is settled."))
        return Group(*parts)
    parts += [_table(found), *(Text(line) for line in sentences(found))]
    return Group(*parts, *(Text(f"Wrote {file}") for file in files))


def _table(found: Calibration) -> Table:
    table = Table(box=None, pad_edge=False)
    for column in ("coefficient", "now", "95 % sure", "any one bed", "before"):
        table.add_column(column, no_wrap=True)
    for each in found.estimates:
        cells = (
            NAMES[each.name],
            rounded(each.value),
            f"{rounded(each.low)} to {rounded(each.high)}",
            f"{rounded(each.bed_low)} to {rounded(each.bed_high)}",
            f"{rounded(each.prior.low)} to {rounded(each.prior.high)}",
        )
        table.add_row(*(Text(cell) for cell in cells))
    return table


def sentences(found: Calibration) -> list[str]:
    """Return what has to be said beside the table."""
    said = [f"{NAMES[e.name]} before: {e.prior.provenance}." for e in found.estimates]
    said += found.notes
    for each in found.estimates:
        if not each.told:
            said.append(
                f"{NAMES[each.name]}: too few readings to say; the band before stands. To learn "
                f"it, {HOW_TOLD[each.name]}."
            )
    if found.next_readings:
        said.append("What would teach most next, watched for one flood in a bed not read yet:")
        said += [f"  {next_words(each, Reader(found.units))}" for each in found.next_readings]
    return said


def next_words(reading: NextReading, reader: Reader) -> str:
    """Return a reading to take and what it is expected to leave of each interval."""
    bucket = reader.bucket_at(reading.inflow_m3_s)
    left = ", ".join(
        f"{NAMES[name]} to {percent(share)}"
        for name, share in zip(COEFFICIENTS, reading.width_shares, strict=True)
        if share <= NARROWS
    )
    at = f"{reader.text('flow', reading.inflow_m3_s)} ({reader.bucket} in {bucket})"
    return f"{at}: narrows {left or 'nothing by much'}."
