"""Write docs/windows.md: the windows of every shipped kit in one stated bed.

Run it from the clone after a change of the catalog or the physics::

    python -m tests.docs.make_windows
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pandas as pd

from optimizer.files import write_text_whole
from optimizer.formulate.bed_kind import FittedBed, fit_bed
from optimizer.reading.catalog import read_catalog
from optimizer.records.parts import Catalog
from optimizer.records.site import BedType, Goals, Ground, Site
from optimizer.report.scales import Reader
from tests.docs.kit_windows import KitInBed, kit_windows_frame

PAGE = Path(__file__).resolve().parents[2] / "docs" / "windows.md"
BED = BedType("bed", container="bed_200x100", medium="expanded_clay", stand="timber_heavy")
LOW_BED = replace(BED, id="low bed", drain_drop_m=0.02)
SITE = Site(
    "one bed", Goals(floods_per_hour_least=1.0), Ground((0.0, 0.0), -1.0), (BED, LOW_BED), ()
)
BUCKET_M3 = 0.010

HEAD = """# Windows of every shipped kit

Written by `tests/docs/make_windows.py`; a test holds it to the catalog and the physics.

One bed, the same for all: {area} m2 by {depth:.2f} m deep (container `{container}`), expanded clay,
siphon outlet {drop:.2f} m below the bed's floor, water at {temperature:.0f} C. Figures are inflows
in L/min: above the first the siphon starts, up to the second it stops.

- **Nominal**: every coefficient at its nominal value. Nothing is sure of it.
- **95 %**: starts and stops in at least 95 % of draws of start Froude number, stop ratio and loss
  coefficient, independent and uniform over their bands. The default of a site file
  (`robustness = "most"`).
- **Whole band**: starts and stops at every corner of the bands.

These are windows of one siphon at one steady inflow. A design keeps more than that: its inflow, off
either way by the valve's error and the sump's level, starts the siphon when least and stops it when
greatest, both in one and the same draw, and where rows may hold several bed types each is held to
the 95 % divided among them (97.5 % for two), so that every bed of the design works at once in 95 %
of draws ([the site file](site-file.md#how-surely-it-must-work)).

The window does not depend on the medium or the bed's area, only on the siphon and the heights; the
medium and the area decide how often the bed floods. By our model a rim funnel shortens priming and
moves neither end of the window. The bands themselves, and where they come from, are A1 to A3 of
[assumptions.md](assumptions.md).

| kit | bore, mm | nominal | 95 % | whole band |
|---|---|---|---|---|
"""

EMPTY_HEAD = """
## Where no inflow is sure, and the reading that would help

In the bed above {stated}. A shorter fall leaves less: with the outlet only {drop:.2f} m below the
floor, all else the same, these are empty. The start does not depend on the fall, while the stop
falls with its square root, so wide standpipes go first.

Two readings with a bucket and a watch replace the bands by what your own siphon does. Either one
opens the window:

- *It starts at*: open the valve slowly and note the least inflow at which the siphon primes. The
  window is open if that is below the figure given.
- *It stops at*: open the valve further and note the greatest inflow at which the siphon still
  breaks. The window is open if that is above the figure given.

In brackets the seconds in which that inflow fills 10 L: a start is helped by a longer time, a stop
by a shorter one. "Emptied by" is the coefficient which, known at its nominal value, would alone
open the window widest. "Not in the bands" means that no value within the bands would do.

| kit | window | emptied by | opens if it starts below | or if it stops above |
|---|---|---|---|---|
"""


def fitted_kits(catalog: Catalog, bed: BedType) -> list[FittedBed]:
    """Every shipped kit in a bed, in the order of the catalog."""
    return [fit_bed(SITE, bed, kit, catalog) for kit in catalog.kits.values()]


def windows_frame(catalog: Catalog, bed: BedType) -> pd.DataFrame:
    """The frame behind the page."""
    return kit_windows_frame(
        KitInBed(f.kit.label, f.bed, f.start_froude, f.stop_ratio, f.siphon.loss_coefficient)
        for f in fitted_kits(catalog, bed)
    )


def windows_page(catalog: Catalog) -> str:
    """The whole page."""
    container, frame = catalog.containers[BED.container], windows_frame(catalog, BED)
    head = HEAD.format(
        area=f"{container.length_m * container.width_m:g}",
        depth=container.depth_m,
        container=container.id,
        drop=BED.drain_drop_m,
        temperature=SITE.goals.water_temperature_c,
    )
    rows = "".join(_row(kit, each) for kit, each in frame.groupby("kit", sort=False))
    missing = int(frame["low_m3_s"].isna().sum())
    stated = f"{missing} windows are empty" if missing else "no window is empty"
    low = windows_frame(catalog, LOW_BED)
    empty = pd.concat([frame, low])[lambda f: f["low_m3_s"].isna()]
    tail = EMPTY_HEAD.format(stated=stated, drop=LOW_BED.drain_drop_m)
    return head + rows + tail + "".join(_empty_row(r) for r in empty.to_dict("records"))


def _row(kit: str, each: pd.DataFrame) -> str:
    spans = [
        _span(low, high) for low, high in zip(each["low_m3_s"], each["high_m3_s"], strict=True)
    ]
    bore = Reader().number("size", each["bore_m"].iloc[0])
    return f"| {kit} | {bore:.1f} | {' | '.join(spans)} |\n"


def _span(low: float, high: float) -> str:
    if pd.isna(low):
        return "none"
    return " to ".join(f"{Reader().number('flow', q):.2f}" for q in (low, high))


def _empty_row(row: dict[str, object]) -> str:
    window = {"most": "95 %", "whole": "whole band", "nominal": "nominal"}[str(row["robustness"])]
    because = str(row["emptied_by"])
    ends = " | ".join(_reading(row[end]) for end in ("starts_by_m3_s", "stops_from_m3_s"))
    return f"| {row['kit']} | {window} | {because} | {ends} |\n"


def _reading(flow: object) -> str:
    if not isinstance(flow, float) or pd.isna(flow):
        return "not in the bands"
    return f"{Reader().number('flow', flow):.2f} L/min ({BUCKET_M3 / flow:.1f} s)"


if __name__ == "__main__":
    write_text_whole(PAGE, windows_page(read_catalog()))
