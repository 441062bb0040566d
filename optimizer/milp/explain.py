"""Why no design exists, and the least single change that would allow one.

One requirement at a time is allowed to give way by a shared amount, everything else is kept, and
the least such amount is found. Cost plays no part.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import partial

from optimizer.errors import Infeasible, Remedy
from optimizer.milp.engine import Settings, Watch, ctrl_c_sets, search
from optimizer.milp.explain_gives import BOUGHT, GIVES, NOTHING, Give
from optimizer.milp.model import build_model
from optimizer.milp.modeling import Model, Row, Variable, add_rows, amount, linear, loosen, minimise
from optimizer.milp.tables import Tables
from optimizer.records.problem import DesignProblem
from optimizer.records.requirements import Requirements

LONGEST_S = 18.0  # all searches for an explanation together
FROM_TANK = "the head that the tank must give"
IN_TIME = "in the time allowed"
NOT_ALL = f"Whether anything else stands in the way was not settled {IN_TIME}."
NOT_SETTLED = (
    f"No design meets every requirement; which of them stand in the way was not settled {IN_TIME}."
)


def what_is_missing(problem: DesignProblem) -> tuple[str, ...]:
    """Sentences on choices the problem leaves empty; no search is needed to see them."""
    parts = {
        "No branch has a plan: no place for a bed is left.": problem.plans,
        "No stretch of supply pipe is left.": problem.stretches,
        "No sump level band is left.": problem.bands,
        "No pump is left to choose from.": problem.pumps,
        "No sump is left to choose from.": problem.sumps,
        "No pump gives any of the total flows the beds may need.": problem.pump_duties,
    }
    found = [sentence for sentence, rows in parts.items() if not rows]
    if problem.requirements.beds_least > 0 and not problem.options:
        found.append("No bed type has a siphon kit whose inflow meets the flood goal.")
    if problem.drains and not any(drain.builds for drain in problem.drains):
        found.append("No allowed return pipe carries the burst of one siphon: allow wider sizes.")
    return tuple(found)


@dataclass(frozen=True)
class Patience:
    """How long the searches of one explanation may go on together, and what stops them all.

    ``broken`` has what the solver said wherever it failed: what was not found there may yet be.
    """

    stop: threading.Event
    ends_at: float
    broken: list[str] = field(default_factory=list)

    @property
    def left_s(self) -> float:
        """Seconds left; 0 once stopped."""
        return 0.0 if self.stop.is_set() else max(0.0, self.ends_at - time.perf_counter())

    @property
    def all_looked_at(self) -> bool:
        """Whether no search was cut short."""
        return self.left_s > 0.0 and not self.broken

    def told(self, sentence: str) -> str:
        """Return a sentence on what was not settled, with the failure that is to blame, if any."""
        if not self.broken:
            return sentence
        return sentence.replace(IN_TIME, f"because the solver failed, saying {self.broken[0]!r}")


def time_to_explain_s(time_limit_s: float | None, used_s: float) -> float:
    """Seconds an explanation may take after a search.

    Args:
        time_limit_s: the caller's time limit, or None.
        used_s: what the search took of it.
    """
    if time_limit_s is None:
        return LONGEST_S
    return min(LONGEST_S, max(0.0, time_limit_s - used_s))


def explain(
    problem: DesignProblem,
    words: Mapping[str, str] | None = None,
    *,
    stop: threading.Event | None = None,
    time_limit_s: float | None = None,
) -> Infeasible:
    """Say why a problem has no design.

    Args:
        problem: a problem without a design.
        words: the caller's words for a requirement, by key: head, beds, area, sump, fall,
            power_cut, bursts, budget, sizes, noise.
        stop: set it from any thread to settle for what has been found; the first Ctrl-C sets it.
        time_limit_s: seconds for all searches together, at most ``LONGEST_S``.

    Returns:
        The exception to raise: the clash as a sentence, and for each requirement that alone could
        give way the least change. Without such a requirement the clash names those that must give
        way together, or says that none of them helps, or that time ran out. What the clash names
        may not be all where it says so. A change is rounded so that it suffices for what gives way;
        beds set higher or a sump set lower also ask more of the pump.
    """
    allowed = LONGEST_S if time_limit_s is None else min(LONGEST_S, time_limit_s)
    patience = Patience(stop or threading.Event(), time.perf_counter() + allowed)
    missing = what_is_missing(problem)
    if missing:
        return Infeasible(" ".join(missing))
    with ctrl_c_sets(patience.stop):
        return _searched(problem, words or {}, patience)


def _searched(problem: DesignProblem, spoken: Mapping[str, str], patience: Patience) -> Infeasible:
    remedies = [
        Remedy(
            _spoken(give, spoken, problem.requirements),
            _change(give, least[give.key], problem.requirements),
        )
        for give in GIVES
        if (least := _least(problem, (give,), patience)) and least[give.key] > NOTHING
    ]
    if remedies:
        clash = _clash([r.requirement for r in remedies])
        rest = "" if patience.all_looked_at else f" {patience.told(NOT_ALL)}"
        return Infeasible(clash + rest, remedies)
    return Infeasible(_without_single_change(problem, spoken, patience))


def _spoken(give: Give, words: Mapping[str, str], limits: Requirements) -> str:
    fallback = FROM_TANK if give.key == "head" and limits.fed_by_tank else give.words
    return words.get(give.key, fallback)


def _change(give: Give, least: float, limits: Requirements) -> str:
    """The sentence for an amount; a part that must do more may not cost more under a budget."""
    change = give.change(least, limits)
    if limits.budget_cents is None or give.key not in BOUGHT:
        return change
    return f"{change[:-1]}, for no more money."


def _clash(names: list[str]) -> str:
    if len(names) == 1:
        return f"What stands in the way: {names[0]}."
    return f"These requirements clash: {', '.join(names[:-1])} and {names[-1]}."


def _without_single_change(
    problem: DesignProblem, words: Mapping[str, str], patience: Patience
) -> str:
    together = _least(problem, GIVES, patience) or {}
    limits = problem.requirements
    needed = [
        f"{_spoken(give, words, limits)} ({_change(give, together[give.key], limits)[:-1]})"
        for give in GIVES
        if together.get(give.key, 0.0) > NOTHING
    ]
    if needed:
        return (
            "None of the requirements allows a design by giving way alone. Together these do: "
            + "; ".join(needed)
            + "."
        )
    if not patience.all_looked_at:
        return patience.told(NOT_SETTLED)
    return (
        "No design exists, whatever head, beds, area or sump volume would give way: no pump runs "
        "at a total flow that the beds can take, or no allowed pipe carries it, slowly enough, and "
        "bears the pump."
    )


def _least(
    problem: DesignProblem, gives: tuple[Give, ...], patience: Patience
) -> dict[str, float] | None:
    """The least amounts by which the given requirements give way, or None if that is no help."""
    if not patience.left_s:
        return None
    model = build_model(problem)
    amounts: dict[str, Variable] = {}
    laid = partial(_drain_is_laid, model, Tables(problem))
    add_rows(model, "drain_is_laid", _drains_used(problem), laid)
    for give in gives:
        loosened = loosen(model, give.family, give.sign)
        if loosened is not None:
            amounts[give.key] = loosened
    if not amounts:
        return None
    minimise(model, linear((1.0, v) for v in amounts.values()))
    settings = Settings(gap=1e-6, absolute_gap=1e-7, time_limit_s=patience.left_s)
    outcome = search(model, settings, Watch(patience.stop))
    if outcome.ended == "failed":
        patience.broken.append(outcome.detail)
    if outcome.ended != "optimal":
        return None
    return {key: amount(variable) for key, variable in amounts.items()}


def _drains_used(problem: DesignProblem) -> list[tuple[str, str]]:
    """(Return stretch, plan) wherever a plan sends its bursts through the stretch."""
    return [
        (drain.id, plan)
        for drain in problem.drains
        for plan, burst in drain.bursts_m3_s.items()
        if burst > 0.0
    ]


def _drain_is_laid(model: Model, tables: Tables, drain: str, plan: str) -> Row:
    """A return stretch in use is laid also where it need not carry its bursts.

    sum(j) drain[s, j] >= plan[p]
    """
    laid = [(1.0, model.drain[drain, build.id]) for build in tables.drain[drain].builds]
    return linear([*laid, (-1.0, model.plan[plan])]) >= 0
