"""Every pump of the catalog as the only one: cost, duty, margins, and why some cannot do."""

from __future__ import annotations

from collections import Counter

from optimizer.explore.point import DESIGNED
from optimizer.explore.sweep import Row, Study
from optimizer.formulate.pump_tables import allowed_pumps
from optimizer.physics.pump import PumpCurve
from optimizer.records.design import Design


def pump_study(study: Study) -> list[Row]:
    """Return one row for each pump of the catalog, the cheapest design first.

    A pump may run in any number the site allows. The sump's lowest level stays where the site's own
    list of pumps puts it (or higher, for a pump that needs more), so that costs compare.

    Args:
        study: the job with its engine and store.

    Returns:
        rows with ``gap_to_best`` (cost above the cheapest of the pumps the site allows), the duty,
        ``valve_head_least_m`` (head that the valve with least to spare still takes up),
        ``window_margin`` (see :func:`window_margin`), and for a pump that cannot do the ``reason``.
    """
    allowed = {pump.id for pump in allowed_pumps(study.job.site, study.job.catalog)}
    pumps = sorted(study.job.catalog.pumps)
    rows = study.rows([{"pump": pump} for pump in pumps])
    best = min(
        (row["cost"] for row in rows if row["pump"] in allowed and row["outcome"] == DESIGNED),
        default=None,
    )
    made = [_row(study, row, allowed, best) for row in rows]
    return sorted(made, key=lambda row: (row.get("cost", float("inf")), row["pump"]))


def _row(study: Study, row: Row, allowed: set[str], best: float | None) -> Row:
    pump = study.job.catalog.pumps[row["pump"]]
    told = {"label": pump.label, "allowed": pump.id in allowed, "price": pump.price}
    if row["outcome"] != DESIGNED:
        return row | told
    design = study.design(row)
    gap = {"gap_to_best": None if best is None else round(row["cost"] - best, 2)}
    return row | told | gap | duty_of(design)


def duty_of(design: Design) -> Row:
    """Return where a design's pump runs on its curve, and what is to spare.

    ``share_of_curve`` is the duty's flow over the greatest flow of the pumps running.
    """
    pump = design.pump
    curve = PumpCurve(pump.flows_m3_s, pump.heads_m, pump.watts, pump.count)
    return {
        "count": pump.count,
        "duty_flow_m3_s": pump.duty_flow_m3_s,
        "duty_head_m": pump.duty_head_m,
        "duty_watts": pump.duty_watts,
        "share_of_curve": pump.duty_flow_m3_s / curve.end_flow_m3_s,
        "valve_head_least_m": min((bed.valve_head_m for bed in design.beds), default=0.0),
        "window_margin": window_margin(design),
    }


def window_margin(design: Design) -> float:
    """Return how far the set inflow may still move, over itself, before some siphon fails.

    The nearest of all built kinds to an end of its start-stop window (at the design's robustness),
    the error of setting valves and the drift with the sump's level not taken off.
    """
    built = Counter(bed.kind for bed in design.beds)
    shares = []
    for kind in design.kinds:
        if built[kind.id]:
            window, inflow = kind.windows[design.promise.robustness], kind.inflow_m3_s
            shares += [1.0 - window.low_m3_s / inflow, window.high_m3_s / inflow - 1.0]
    return min(shares, default=0.0)
