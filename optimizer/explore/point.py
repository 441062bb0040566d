"""One point of a study: a job with something changed, designed, and what came of it."""

from __future__ import annotations

import hashlib
import json
import threading
from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from optimizer.alternatives import design_layouts
from optimizer.candidates.layouts import is_one_layout
from optimizer.errors import BadInput, Infeasible, SolverFailed
from optimizer.explore.changes import Value, changed
from optimizer.job import Job
from optimizer.pipeline import find_design
from optimizer.records.design import Design
from optimizer.records.design_io import SCHEMA, design_to_text
from optimizer.records.zones import POWER_LINE
from optimizer.search_settings import SearchSettings
from optimizer.simulate.whole_check import check_whole

KEY_FORMAT = "point-2"
"""Part of every key: raise it whenever the meaning of an answer changes."""

DESIGNED, REFUSED, FAILED, LOST = "designed", "refused", "failed", "lost"

ENERGY = "energy, present worth"
"""The bill's line of the pump's energy."""

REPLACEMENTS = "pump replacements"
"""How the bill's line of later pumps begins."""

CHOSEN = {
    "chosen_pump": "pump",
    "chosen_sump": "sump",
    "chosen_beds": "beds",
    "chosen_kits": "siphon kits",
    "laid_pipe": "pipe",
}
"""Columns of decisions, in words."""


@dataclass(frozen=True)
class Search:
    """How every point of a study is searched.

    Attributes:
        gap: relative gap between cost and bound at which to stop.
        time_limit_s: seconds after which a point keeps its best so far.
        seed: the solver's random seed.
        check: whether each design is also checked by simulation, a day included.
    """

    gap: float = 1e-4
    time_limit_s: float | None = 120.0
    seed: int = 0
    check: bool = True


@dataclass(frozen=True)
class Point:
    """A study's point: the values of what is changed, by name (see ``changes.CHANGES``)."""

    changes: Mapping[str, Value]


def key_of(job_key: str, search: Search, point: Point) -> str:
    """Return what names a point in a store: equal for equal job, search and changes."""
    plain = [KEY_FORMAT, SCHEMA, job_key, asdict(search), sorted(point.changes.items())]
    return _digest(plain)


def key_of_job(job: Job) -> str:
    """Return what names a job: equal for equal site and catalog."""
    return _digest([asdict(job.site), asdict(job.catalog)])


def _digest(plain: object) -> str:
    text = json.dumps(plain, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def design_point(shared: tuple[Job, Search], point: Point) -> tuple[dict[str, Any], str | None]:
    """Return what came of a point, as plain text and numbers, and its design as JSON text.

    Args:
        shared: the job before any change, and how to search.
        point: what to change.

    Raises:
        KeyboardInterrupt: after Ctrl-C; a design found on the way is no finished point.
    """
    job, search = shared
    answer: tuple[dict[str, Any], str | None]
    stop = threading.Event()
    try:
        answer = _answer(changed(job, point.changes), search, stop)
    except Infeasible as refusal:
        ways = "; ".join(f"{way.requirement}: {way.change}" for way in refusal.remedies)
        answer = {"outcome": REFUSED, "reason": refusal.clash, "ways_out": ways}, None
    except BadInput as fault:
        reason = " ".join(f"{p.where}: {p.what} {p.fix}" for p in fault.problems)
        answer = {"outcome": REFUSED, "reason": reason}, None
    except (SolverFailed, ValueError) as fault:
        answer = {"outcome": FAILED, "reason": str(fault)}, None
    if stop.is_set():
        raise KeyboardInterrupt
    return answer


def _answer(job: Job, search: Search, stop: threading.Event) -> tuple[dict[str, Any], str]:
    design, check = _designed(job, search, stop)
    row = {"outcome": DESIGNED, "reason": "", "check": check, **figures_of(design)}
    return row, design_to_text(design)


def _designed(job: Job, search: Search, stop: threading.Event) -> tuple[Design, str]:
    """Return a job's design and what became of its check: passes, fails or not run.

    Where the site leaves its layout open the check is always run: it decides between layouts.
    """
    settings = SearchSettings(search.gap, search.time_limit_s, search.seed, stop=stop)
    if not is_one_layout(job.site):
        answer = design_layouts(job, settings)
        return answer.design, "passes" if answer.check.passed else "fails"
    design = find_design(job, settings)
    if not search.check or stop.is_set():
        return design, "not run"
    return design, "passes" if check_whole(design).passed else "fails"


def figures_of(design: Design) -> dict[str, Any]:
    """Return a design's row of a result table: SI, money in the site's currency, no times."""
    record = design.record
    return {
        "status": record.status,
        "cost": record.cost_cents / 100.0,
        "bound": record.bound_cents / 100.0,
        "capital": _money(design, "capital"),
        "energy_worth": _money(design, "running", (ENERGY, POWER_LINE)),
        "replacements": _money(design, "running", REPLACEMENTS),
        "energy_kwh_per_year": energy_kwh_per_year(design),
        "floods_per_hour": min(bed_floods(design), default=0.0),
        "growing_area_m2": growing_area_m2(design),
        "sump_volume_m3": design.sump.count * design.sump.area_m2 * design.sump.depth_m,
        "flow_m3_s": flow_m3_s(design),
        **decisions(design),
    }


def _money(design: Design, group: str, begins: str | tuple[str, ...] = "") -> float:
    lines = (line for line in design.costs if line.group == group and line.what.startswith(begins))
    return sum(line.cents for line in lines) / 100.0


def energy_kwh_per_year(design: Design) -> float:
    """Return the energy of pump and timed valves in a year."""
    valves = 0.0 if design.zones is None else design.zones.valves_kwh_per_year
    return design.energy_kwh_per_year + valves


def bed_floods(design: Design) -> list[float]:
    """Return each bed's floods per hour."""
    kinds = {kind.id: kind for kind in design.kinds}
    return [kinds[bed.kind].floods_per_hour for bed in design.beds]


def flow_m3_s(design: Design) -> float:
    """Return the inflow of all beds together."""
    kinds = {kind.id: kind for kind in design.kinds}
    return sum(kinds[bed.kind].inflow_m3_s for bed in design.beds)


def growing_area_m2(design: Design) -> float:
    """Return the area of all beds."""
    kinds = {kind.id: kind for kind in design.kinds}
    return sum(kinds[bed.kind].area_m2 for bed in design.beds)


def decisions(design: Design) -> dict[str, Any]:
    """Return what was chosen, in words that can be compared between designs."""
    counts = Counter(bed.kind for bed in design.beds)
    metres: dict[str, float] = {}
    for stretch in design.stretches:
        metres[stretch.nominal] = metres.get(stretch.nominal, 0.0) + stretch.length_m
    return {
        "chosen_pump": f"{design.pump.count} x {design.pump.id}",
        "chosen_sump": f"{design.sump.count} x {design.sump.id}",
        "chosen_beds": "; ".join(f"{n} x {kind}" for kind, n in sorted(counts.items())),
        "chosen_kits": "; ".join(sorted({kind.kit for kind in design.kinds})),
        "laid_pipe": "; ".join(f"{x:.1f} m of {size}" for size, x in sorted(metres.items())),
        "bed_count": len(design.beds),
    }
