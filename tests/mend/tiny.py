"""A system of three beds on one pump, small enough to try every set of changes (invented)."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product
from pathlib import Path

from optimizer.mend.as_built import AsBuilt, as_built
from optimizer.mend.run import read_standing
from optimizer.mend.state import Running, running
from optimizer.records.stands import Stands
from tests.builders.site_parts import box_text, row_text, sump_text

PUMPS = ("pump_040w_low", "pump_040w_mid", "pump_065w_mid", "pump_100w_mid")
KITS = ("kit_sch40_3_4_plain", "kit_sch40_1_plain", "kit_sch40_1_1_4_plain")

TEXT = f"""
name = "Three boxes (invented)"
[goal]
floods = "2 per hour"
robustness = "nominal"
[ground]
{sump_text("-0.6 m")}{box_text(*KITS)}{row_text("A", (2, 1), 3, "1.8 m")}[buy]
pumps = {list(PUMPS)}
pumps_in_parallel_most = 1
sumps = ["sump_1500"]
pipes = ["1-1/4 in", "1/2 in"]
valves = ["ball"]
[returns]
designed = false
[standing]
pump = {{ part = "pump_065w_mid" }}
sump = {{ part = "sump_1500" }}
water_level = "0.6 m"
[[standing.pipe]]
run = "riser"
size = "1-1/4 in"
[[standing.pipe]]
run = "A"
size = "1-1/4 in"
[[standing.bed]]
beds = ["A1", "A2", "A3"]
kit = "kit_sch40_1_plain"
drop = "1/2 in"
valve = "ball"
opening = "55 %"
"""


def tiny(folder: Path, floods: float = 2.0, **changed: object) -> AsBuilt:
    """The system, with something else of it standing, or more floods an hour asked."""
    file = folder / "site.toml"
    file.write_text(TEXT.replace("2 per hour", f"{floods} per hour"))
    built = read_standing(file)
    return as_built(built.site, built.catalog, built.network, replace(built.stands, **changed))


def opened(stands: Stands, **openings: float) -> Stands:
    """The same system with some valves otherwise open."""
    beds = tuple(replace(b, opening=openings.get(b.bed, b.opening)) for b in stands.beds)
    return replace(stands, beds=beds)


def works(now: Running, slack: float = 0.0) -> bool:
    """Whether simulation says that every bed starts, stops and floods, with margin to spare."""
    return all(bed.works and bed.margin >= slack for bed in now.beds)


def settings_that_work(built: AsBuilt, openings: dict[str, float], turns: int, points: int):
    """Every setting on a grid that turns so many valves and works, by simulation alone."""
    least = built.design.beds[0].valve_openings[0]
    grid = [least + (1.0 - least) * i / (points - 1) for i in range(points)]
    for beds in combinations(openings, turns):
        for shares in product(grid, repeat=turns):
            tried = openings | dict(zip(beds, shares, strict=True))
            if works(running(built.design, tried, built.refused)):
                yield beds, tried


def least_cost_by_trying(built: AsBuilt, points: int) -> float:
    """The least money over every pump and kit of the lists with which some valve setting works.

    Prices are those of the catalog, read here anew: what stands costs nothing. The beds are alike
    and near each other, so their valves are tried alike.
    """
    pumps, kits = built.catalog.pumps, built.catalog.kits
    found = []
    for pump, kit in product(dict.fromkeys([*PUMPS, built.stands.pump]), KITS):
        stands = replace(
            built.stands,
            pump=pump,
            beds=tuple(replace(b, kit=kit) for b in built.stands.beds),
        )
        money = pumps[pump].price * (pump != built.stands.pump) + sum(
            kits[kit].price * (kit != b.kit) for b in built.stands.beds
        )
        changed = as_built(built.site, built.catalog, built.network, stands)
        if not changed.refused and _some_setting_works(changed, points):
            found.append(money)
    return min(found, default=float("inf"))


def _some_setting_works(built: AsBuilt, points: int) -> bool:
    least = built.design.beds[0].valve_openings[0]
    grid = (least + (1.0 - least) * i / (points - 1) for i in range(points))
    beds = [bed.id for bed in built.design.beds]
    tried = (running(built.design, dict.fromkeys(beds, share)) for share in grid)
    return any(works(now) and _drifts_little(now) for now in tried)


def _drifts_little(now: Running) -> bool:
    """Whether no inflow moves more with the sump's level than every design promises."""
    most = now.design.promise.level_drift
    inflows = [bed.inflow_m3_s for bed in now.beds]
    return all(abs(q / mid - 1.0) <= most for low, mid, high in inflows for q in (low, high))
