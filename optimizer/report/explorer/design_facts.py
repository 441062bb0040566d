"""One design as plain lists for the page: bill, beds, pipes, windows, pump."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd

from optimizer.records.check import CheckReport
from optimizer.records.design import BedKind, Design
from optimizer.report import words
from optimizer.report.charts.pump import curve_of, duty_frame
from optimizer.report.charts.windows import windows_frame
from optimizer.report.explorer.geometry import Geometry
from optimizer.report.explorer.pool import Pool, brief
from optimizer.report.words import BANDS

CURVE_POINTS = 41


class Facts:
    """Gathers designs; what they share is kept once.

    Attributes:
        geometry: places and routes.
        pools: kinds of bed, pipe sizes, valves, lines of bills, pumps, windows.
    """

    def __init__(self) -> None:
        self.geometry = Geometry()
        names = ("kinds", "sizes", "valves", "lines", "pumps", "windows")
        self.pools = {name: Pool() for name in names}

    def shared(self) -> dict[str, Any]:
        """Return what all designs share."""
        pools = {name: pool.items for name, pool in self.pools.items()}
        return {**pools, "plan": self.geometry.shared()}

    def of(self, design: Design, check: CheckReport) -> dict[str, Any]:
        """Return one design, its parts named by their place in the pools."""
        sump = design.sump
        return {
            "kinds": {kind.id: self._kind(kind) for kind in design.kinds},
            "bill": self._bill(design),
            "beds": self._beds(design),
            "pipes": self._pipes(design),
            "drains": self._drains(design),
            "windows": self.pools["windows"].place(_windows(design, check)),
            "pump": self._pump(design),
            "duty": [[brief(part) for part in row] for row in _duty(check)],
            "draws": brief(design.pump.duty_watts),
            "watts_known": bool(design.pump.watts),
            "sump": f"{sump.count} x {sump.label}",
            "floor": brief(sump.floor_level_m),
            "least": [brief(design.record.bound_cents), brief(design.record.gap)],
            "optimal": design.record.status == "optimal",
            "capital": words.capital_cents(design),
            "cost": words.total_cents(design),
            "plan": self.geometry.drawing(design),
        }

    def _kind(self, kind: BedKind) -> int:
        figures = (kind.length_m, kind.width_m, kind.area_m2, kind.inflow_m3_s)
        named = [kind.label, kind.kit_label, *(brief(f) for f in figures)]
        return self.pools["kinds"].place([*named, brief(kind.floods_per_hour)])

    def _bill(self, design: Design) -> list[list[float | int]]:
        """Return place, quantity and cents of every line, equal ones added up."""
        found: dict[int, tuple[float, int]] = {}
        for line in design.costs:
            place = self.pools["lines"].place([line.group, line.what, line.part, line.unit])
            quantity, cents = found.get(place, (0.0, 0))
            found[place] = quantity + line.quantity, cents + line.cents
        return [[place, brief(n), cents] for place, (n, cents) in found.items()]

    def _beds(self, design: Design) -> dict[str, list[Any]]:
        inlets = {s.id: s.points[-1] for s in design.stretches}
        places, kinds = [], {kind.id: self._kind(kind) for kind in design.kinds}
        for bed in design.beds:
            inlet = inlets.get(bed.drop, (bed.x_m, bed.y_m, 0.0))
            places.append(self.geometry.bed(bed, (inlet[0], inlet[1])))
        return {
            "place": places,
            "kind": [kinds[bed.kind] for bed in design.beds],
            "valve": [self.pools["valves"].place(bed.valve_label) for bed in design.beds],
            "opening": [brief(bed.valve_opening) for bed in design.beds],
            "bucket": [brief(bed.bucket_s) for bed in design.beds],
        }

    def _pipes(self, design: Design) -> dict[str, list[Any]]:
        built = design.stretches
        return {
            "route": [self.geometry.route(s.id, s.kind, s.row, s.points) for s in built],
            "size": [self.pools["sizes"].place([s.nominal, brief(s.bore_m)]) for s in built],
            "length": [brief(s.length_m) for s in built],
            "flow": [brief(s.flow_m3_s) for s in built],
        }

    def _drains(self, design: Design) -> dict[str, list[Any]]:
        built = design.drains
        return {
            "route": [self.geometry.route(d.id, "return", d.row, d.points) for d in built],
            "size": [self.pools["sizes"].place([d.nominal, brief(d.bore_m)]) for d in built],
            "length": [brief(d.length_m) for d in built],
            "slope": [brief(d.slope) for d in built],
        }

    def _pump(self, design: Design) -> int:
        pump, curve = design.pump, curve_of(design)
        flows = np.linspace(0.0, curve.end_flow_m3_s, CURVE_POINTS)
        heads = [brief(float(curve.head_m(q))) for q in flows]
        watts = [brief(float(curve.watts_at(q))) for q in flows] if pump.watts else []
        label = f"{pump.count} x {pump.label}"
        return self.pools["pumps"].place([label, [brief(float(q)) for q in flows], heads, watts])


def _duty(check: CheckReport) -> Iterable[list[float]]:
    """Return flow, head and watts at each level of the sump, the lowest first."""
    return duty_frame(check)[["flow_m3_s", "head_m", "watts"]].to_numpy().tolist()


def _windows(design: Design, check: CheckReport) -> list[list[Any]]:
    """Return the rows of the windows' chart: name, kind, set, least, greatest, each band's ends."""
    labels = {kind.id: kind.label for kind in design.kinds}
    rows = windows_frame(design, check).to_dict("records")
    return [
        [
            row["line"],
            labels[row["kind"]],
            *(brief(row[f"{name}_m3_s"]) for name in ("set", "least", "greatest")),
            [_ends(row[f"{band}_low_m3_s"], row[f"{band}_high_m3_s"]) for band in BANDS],
        ]
        for row in rows
    ]


def _ends(low: float | None, high: float | None) -> list[float | int] | None:
    return None if low is None or high is None or pd.isna(low) else [brief(low), brief(high)]
