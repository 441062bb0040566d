"""Both programs on one problem: do their costs and bounds fit together?"""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.candidates.network import candidate_network
from optimizer.errors import Infeasible, SolverFailed
from optimizer.formulate.build import formulate
from optimizer.milp.composed import why_complete
from optimizer.milp.formulations import solve
from optimizer.records.choice import SolveRecord
from optimizer.records.problem import DesignProblem
from optimizer.records.site import Site, Standing
from tests.builders.full_site import full_site

ROUGH_GAP = 0.02
"""A second run of the composed program stops here, so that its bound lies below its cost."""


@dataclass(frozen=True)
class Agreement:
    """What both programs say of one site.

    Attributes:
        kind: ``both proven``, ``complete stopped``, ``no design``, ``not composed`` or
            ``not formulated``.
        faults: what does not fit together, in words.
        features: features of the site that may tie rows together.
    """

    kind: str
    faults: tuple[str, ...] = ()
    features: tuple[str, ...] = ()


def compare(seed: int, time_limit_s: float, beds_most: int = 10) -> Agreement:
    """Solve one random site with both programs, to a full proof where time allows."""
    site, catalog, share = full_site(seed, beds_most)
    try:
        problem = formulate(site, catalog, candidate_network(site), share).problem
    except Infeasible:
        return Agreement("not formulated")
    features = features_of(site, share)
    if why_complete(problem):
        return Agreement("not composed", features=features)
    kind, faults = compare_problem(problem, time_limit_s)
    return Agreement(kind, faults, features)


def features_of(site: Site, held_share: float) -> tuple[str, ...]:
    """What may tie the rows of a site together."""
    returns = site.returns
    present = {
        "return pipe": returns.designed,
        "binomial bursts": returns.designed and returns.bursts == "binomial",
        "fish tank": site.fish_tank is not None,
        "held share": held_share < 1.0,
        "two bed types": len(site.bed_types) > 1,
        "free counts": any(row.beds_least < row.beds_most for row in site.rows),
        "standing parts": site.standing != Standing(),
        "power cut": not site.purchase.non_return_valve,
        "several levels": len({row.level_m for row in site.rows}) > 1,
    }
    return tuple(name for name, there in present.items() if there)


def compare_problem(problem: DesignProblem, time_limit_s: float) -> tuple[str, tuple[str, ...]]:
    """Solve a problem with both programs; return what became of it and what does not fit."""
    ours = _record(problem, "best", 0.0, None)
    try:
        theirs = _record(problem, "complete", 0.0, time_limit_s)
    except SolverFailed:
        return "complete stopped", ()
    if ours is None or theirs is None:
        alike = ours is theirs
        return "no design", () if alike else (f"only one has a design: {ours} {theirs}",)
    rough = _record(problem, "best", ROUGH_GAP, None)
    records = [("composed", ours), ("complete", theirs)]
    if rough is not None:
        records.append(("rough", rough))
    least = min(record.cost_cents for _, record in records)
    faults = [
        f"bound {record.bound_cents} of {name} above a cost of {least}"
        for name, record in records
        if record.bound_cents > least
    ]
    if ours.bound_cents != ours.cost_cents:
        faults.append(f"the composed program left a gap of {ours.gap}")
    proven = theirs.bound_cents == theirs.cost_cents
    if proven and theirs.cost_cents != ours.cost_cents:
        faults.append(f"composed {ours.cost_cents}, complete {theirs.cost_cents}")
    return "both proven" if proven else "complete stopped", tuple(faults)


def _record(
    problem: DesignProblem, formulation: str, gap: float, time_limit_s: float | None
) -> SolveRecord | None:
    """A program's record, or None where there is no design."""
    try:
        return solve(problem, formulation, gap=gap, time_limit_s=time_limit_s).record
    except Infeasible:
        return None
