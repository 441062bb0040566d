"""One random site with every feature: do its programs, its brackets and its check fit together?

Every layout is formulated by itself. Where both programs can answer, they must agree. Where only
the complete one can, its cost must lie in the bracket of
:mod:`tests.oracles.bracket_tied`, with budgets both drawn and set so that they bind.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from optimizer.candidates.layouts import layouts_of
from optimizer.candidates.network import candidate_network
from optimizer.errors import Infeasible, SolverFailed
from optimizer.formulate.assemble import assemble
from optimizer.formulate.build import Formulation, formulate
from optimizer.milp import composed as composed_program
from optimizer.milp import solve as complete_program
from optimizer.milp.composed import why_complete
from optimizer.milp.formulations import solve
from optimizer.records.choice import Choice
from optimizer.records.problem import DesignProblem
from optimizer.records.site import Site
from optimizer.simulate.check import check_design
from tests.builders.case import Case
from tests.builders.features import features_of
from tests.oracles.bracket_steps import without_ties
from tests.oracles.bracket_tied import (
    Bracket,
    bracket,
    cheapest_to_buy,
    composed_choice,
    true_cost,
)
from tests.whole.agree import compare_problem

CENT = 1.0
"""A bound and a floor are worked out in floating point; costs are whole cents."""


@contextmanager
def without_explanations() -> Iterator[None]:
    """Refuse without the search for what would help: other tests look at that."""
    modules = (composed_program, complete_program)
    kept = [module.explain for module in modules]
    for module in modules:
        module.explain = lambda *_, **__: Infeasible("none")
    try:
        yield
    finally:
        for module, explain in zip(modules, kept, strict=True):
            module.explain = explain


@dataclass
class Told:
    """What one site told.

    Attributes:
        features: what the site has.
        kinds: how many comparisons of each kind were made.
        faults: what does not fit together, in words.
    """

    features: tuple[str, ...] = ()
    kinds: dict[str, int] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)

    def count(self, kind: str) -> None:
        """Count one comparison."""
        self.kinds[kind] = self.kinds.get(kind, 0) + 1


def agree(case: Case, time_limit_s: float, layouts_most: int = 3) -> Told:
    """Compare everything that can be compared on one site.

    Args:
        case: the site.
        time_limit_s: for each run of the complete program; a run that is stopped must still fit.
        layouts_most: no more layouts than this are compared.
    """
    told = Told(features_of(case))
    for layout in layouts_of(case.site)[:layouts_most]:
        _compare_layout(layout.site, case, time_limit_s, told)
    return told


def _compare_layout(site: Site, case: Case, time_limit_s: float, told: Told) -> None:
    try:
        made = formulate(site, case.catalog, candidate_network(site), case.held_share)
    except Infeasible:
        told.count("not formulated")
        return
    free = without_ties(made.problem)
    if why_complete(free):
        told.count("not composed")
        return
    if free == made.problem:
        kind, faults = compare_problem(made.problem, time_limit_s)
        told.count(kind)
        told.faults += faults
        choices = [composed_choice(free)]
    else:
        choices = list(_compare_tied(made.problem, time_limit_s, told))
    for choice in choices:
        if choice is not None:
            told.faults += _broken_promises(site, case, made, choice)


def _broken_promises(site: Site, case: Case, made: Formulation, choice: Choice) -> Iterator[str]:
    """What the check refutes of a design, and a bill that is not its cost."""
    design = assemble(site, case.catalog, candidate_network(site), made, choice)
    total = sum(line.cents for line in design.costs)
    if total != choice.record.cost_cents:
        yield f"the bill adds up to {total}, the cost is {choice.record.cost_cents}"
    if case.held_share < 1.0:  # the check holds the sump to the share that this design needs
        return
    for found in check_design(design).failures:
        promised, seen = f"{found.promised:.6g}", f"{found.simulated:.6g}"
        yield f"{found.subject}: {found.promise}: promised {promised}, simulated {seen}"


def _compare_tied(
    problem: DesignProblem, time_limit_s: float, told: Told
) -> Iterator[Choice | None]:
    for name, each in _variants(problem):
        known = bracket(each)
        choice = _complete(each, time_limit_s)
        kind, faults = _held(each, choice, known)
        told.count(f"{name}: {kind}")
        told.faults += [f"{name}: {fault}" for fault in faults]
        if name == "as drawn" and isinstance(choice, Choice):
            yield choice


def _variants(problem: DesignProblem) -> Iterator[tuple[str, DesignProblem]]:
    """The problem as drawn and, where money is limited, with budgets that bind or fall short."""
    yield "as drawn", problem
    asked = problem.requirements
    if asked.budget_cents is None:
        return
    free = composed_choice(without_ties(problem))
    least = cheapest_to_buy(replace(problem, stock=()))
    if free is None or least is None:
        return
    no_limit = replace(problem, stock=(), requirements=replace(asked, budget_cents=None))
    plain = without_ties(no_limit)
    paid = _paid_at_first(plain, free)

    def with_budget(cents: float) -> DesignProblem:
        return replace(no_limit, requirements=replace(asked, budget_cents=math.floor(cents)))

    yield "budget slack", with_budget(paid)
    if least < paid:
        yield "budget binds", with_budget((least + paid) / 2.0)
    yield "budget just enough", with_budget(least)
    yield "budget a cent short", with_budget(least - 1)


def _paid_at_first(plain: DesignProblem, choice: Choice) -> int:
    """What is paid at first: the least budget under which this choice still counts."""
    whole = true_cost(plain, choice)
    pump = next(p for p in plain.pumps if p.id == choice.pump)
    plans = {p.id: p for p in plain.plans}
    flow = sum(plans[name].flow_steps for name in choice.plans.values())
    running = next(
        d.running_cents
        for d in plain.pump_duties
        if (d.pump, d.band, d.flow_steps) == (choice.pump, choice.band, flow)
    )
    if whole is None:
        raise AssertionError("a choice without ties breaks none")
    return whole - running - pump.later_cents


def _complete(problem: DesignProblem, time_limit_s: float) -> Choice | str:
    try:
        return solve(problem, "complete", gap=0.0, time_limit_s=time_limit_s)
    except Infeasible:
        return "no design"
    except SolverFailed:
        return "stopped without a design"


def _held(
    problem: DesignProblem, choice: Choice | str, known: Bracket
) -> tuple[str, tuple[str, ...]]:
    """Hold the complete program's answer against what is known; return its kind and the faults."""
    if isinstance(choice, str):
        wrong = choice == "no design" and math.isfinite(known.ceiling)
        return choice, (f"no design, but one costs {known.ceiling:.0f}",) * wrong
    record, faults = choice.record, []
    if record.cost_cents < known.floor - CENT:
        faults.append(f"cost {record.cost_cents} below what any design costs, {known.floor:.1f}")
    if record.bound_cents > min(known.ceiling, record.cost_cents):
        least = min(known.ceiling, record.cost_cents)
        faults.append(f"bound {record.bound_cents} above a cost of {least:.0f}")
    mixed = any(s.mixes for s in problem.stretches)
    again = None if mixed else true_cost(problem, choice)
    if not mixed and again != record.cost_cents:
        faults.append(f"cost {record.cost_cents}, priced again {again}")
    if record.status == "stopped":
        return "stopped with a design", tuple(faults)
    exact = known.floor >= known.ceiling - CENT
    return "equal to the bracket" if exact else "within the bracket", tuple(faults)
