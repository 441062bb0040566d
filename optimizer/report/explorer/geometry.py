"""Where everything of a design lies, as plain lists for the page's plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from optimizer.records.design import Bed, Design
from optimizer.report import plan_frame, plan_returns, theme
from optimizer.report.charts.plan import DASHES, FILLS, RETURN_DASH
from optimizer.report.explorer.pool import Pool, brief
from optimizer.report.plan_sump import sump_tanks
from optimizer.report.shapes import Corner


class Geometry:
    """Places and routes that the designs of a page share.

    Attributes:
        beds: id, middle, direction of its length, where water enters.
        routes: id, sort, row and corners of every pipe.
        tanks: corners of a sump's tanks.
    """

    def __init__(self) -> None:
        self.beds, self.routes, self.tanks = Pool(), Pool(), Pool()
        self._seen: list[Corner] = []

    def bed(self, bed: Bed, inlet: Corner) -> int:
        """Return the place of a bed."""
        middle = (bed.x_m, bed.y_m)
        return self.beds.place([bed.id, *_flat([middle, bed.along, inlet])])

    def route(
        self, name: str, sort: str, row: str | None, points: Sequence[Sequence[float]]
    ) -> int:
        """Return the place of a pipe's route in plan."""
        corners = [(p[0], p[1]) for p in points]
        self._seen += corners
        return self.routes.place([name, sort, row or "", _flat(corners)])

    def drawing(self, design: Design) -> dict[str, Any]:
        """Return what else the plan of a design shows: tanks, tank over the beds, return pipe.

        ``shift`` is by how many pixels return pipe stands off from its route on a wide plan.
        """
        kinds = {kind.id: kind for kind in design.kinds}
        for bed in design.beds:
            self._seen += plan_frame.bed_corners(bed, kinds[bed.kind])
        tanks = sump_tanks(design)
        self._seen += tanks.every
        frame = plan_frame.frame_of(design, theme.WIDE_PX)
        shift = plan_returns.shift_m(design, frame) if design.drains else (0.0, 0.0)
        tank = design.tank
        return {
            "tanks": self.tanks.place([_flat(corners) for corners in tanks.corners]),
            "shift": [brief(part * frame.px_per_m) for part in shift],
            "over": [brief(tank.x_m), brief(tank.y_m)] if tank else None,
        }

    def shared(self) -> dict[str, Any]:
        """Return the pools, the ground that all plans cover, and how the plan is drawn."""
        xs, ys = [p[0] for p in self._seen], [p[1] for p in self._seen]
        return {
            "beds": self.beds.items,
            "routes": self.routes.items,
            "tanks": self.tanks.items,
            "ground": [brief(x) for x in (min(xs), min(ys), max(xs), max(ys))],
            "bores": list(plan_frame.PIPE_DOMAIN_M),
            "thick": [list(plan_frame.PIPE_RANGE_PX[narrow]) for narrow in (False, True)],
            "narrow_below": plan_frame.NARROW_BELOW_PX,
            "steepest": [plan_frame.STEEPEST_WIDE, plan_frame.STEEPEST_NARROW],
            "fills": list(FILLS),
            "dashes": [_dash(dash) for dash in DASHES],
            "return_dash": _dash(RETURN_DASH),
            "foot": 0.3048,
        }


def _dash(lengths: Sequence[int]) -> str:
    return "" if lengths[-1] == 0 else " ".join(str(length) for length in lengths)


def _flat(corners: Sequence[Corner]) -> list[float | int]:
    return [brief(part) for corner in corners for part in corner]
