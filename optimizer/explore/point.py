"""One point of a study: a job with something changed, designed, and what came of it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import partial
from typing import Any

from optimizer.errors import BadInput, Infeasible, SolverFailed
from optimizer.explore.changes import Value, changed
from optimizer.pipeline import Answer, Job, design_job
from optimizer.records.design import Design
from optimizer.records.design_io import design_to_text

KEY_FORMAT = "point-1"
"""Part of every key: raise it whenever the meaning of an answer changes."""

DESIGNED, REFUSED, FAILED, LOST = "designed", "refused", "failed", "lost"


@dataclass(frozen=True)
class Search:
    """How every point of a study is searched.

    Attributes:
        gap: relative gap between cost and bound at which to stop.
        time_limit_s: seconds after which a point keeps its best so far.
        seed: the solver's random seed.
    """

    gap: float = 1e-4
    time_limit_s: float | None = 120.0
    seed: int = 0


@dataclass(frozen=True)
class Point:
    """A study's point: the values of what is changed, by name (see ``changes.CHANGES``)."""

    changes: Mapping[str, Value]

    @property
    def label(self) -> str:
        """The changes in one line."""
        return ", ".join(f"{name} {value}" for name, value in sorted(self.changes.items()))


def key_of(job_key: str, search: Search, point: Point) -> str:
    """Return what names a point in a store: equal for equal job, search and changes."""
    plain = [KEY_FORMAT, job_key, asdict(search), sorted(point.changes.items())]
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
    """
    job, search = shared
    try:
        answer = design_job(
            changed(job, point.changes),
            gap=search.gap,
            time_limit_s=search.time_limit_s,
            seed=search.seed,
        )
    except Infeasible as refusal:
        return {"outcome": REFUSED, "reason": refusal.clash}, None
    except BadInput as fault:
        reason = " ".join(str(problem) for problem in fault.problems)
        return {"outcome": REFUSED, "reason": reason}, None
    except (SolverFailed, ValueError) as fault:
        return {"outcome": FAILED, "reason": str(fault)}, None
    return summary_of(answer), design_to_text(answer.design)


def summary_of(answer: Answer) -> dict[str, Any]:
    """Return one row of a result table: SI, money in the site's currency, no times."""
    design, record = answer.design, answer.design.record
    money = partial(_money, design)
    return {
        "outcome": DESIGNED,
        "reason": "" if answer.check.passed else "its check fails",
        "status": record.status,
        "cost": record.cost_cents / 100.0,
        "bound": record.bound_cents / 100.0,
        "capital": money("capital"),
        "running": money("running"),
        "energy_kwh_per_year": design.energy_kwh_per_year,
        "floods_per_hour": min(bed_floods(design)),
        "growing_area_m2": growing_area_m2(design),
        "sump_volume_m3": design.sump.count * design.sump.area_m2 * design.sump.depth_m,
        "flow_m3_s": flow_m3_s(design),
        **decisions(design),
    }


def _money(design: Design, group: str) -> float:
    return sum(line.cents for line in design.costs if line.group == group) / 100.0


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
    counts: dict[str, int] = {}
    for bed in design.beds:
        counts[bed.kind] = counts.get(bed.kind, 0) + 1
    metres: dict[str, float] = {}
    for stretch in design.stretches:
        metres[stretch.nominal] = metres.get(stretch.nominal, 0.0) + stretch.length_m
    return {
        "chosen_pump": f"{design.pump.id} x {design.pump.count}",
        "chosen_sump": f"{design.sump.id} x {design.sump.count}",
        "chosen_beds": "; ".join(f"{kind} x {n}" for kind, n in sorted(counts.items())),
        "bed_count": len(design.beds),
        "chosen_kits": "; ".join(sorted({kind.kit for kind in design.kinds})),
        "laid_pipe": "; ".join(
            f"{size}: {length:.1f} m" for size, length in sorted(metres.items())
        ),
    }
