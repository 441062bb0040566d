"""Why no design exists, and the least single change that would allow one.

One requirement at a time is allowed to give way by a shared amount, everything else is kept, and
the least such amount is found. Cost plays no part.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

from optimizer.errors import Infeasible, Remedy
from optimizer.milp.engine import Settings, Watch, ctrl_c_sets, search
from optimizer.milp.model import build_model
from optimizer.milp.modeling import Model, Row, Variable, add_rows, amount, linear, loosen, minimise
from optimizer.milp.tables import Tables
from optimizer.records.problem import DesignProblem, Requirements

LONGEST_S = 30.0  # all searches for an explanation together
OVERTIME = 2.0  # they may take this many times what a time limit has left
NOTHING = 1e-6  # an amount below this gives no way
LITRES = 1000.0
FROM_TANK = "the head that the tank must give"
NOT_ALL = "Whether anything else stands in the way was not settled in the time allowed."
NOT_SETTLED = (
    "No design meets every requirement; which of them stand in the way was not settled in the "
    "time allowed."
)
SECONDS_PER_MINUTE = 60.0


@dataclass(frozen=True)
class Give:
    """One requirement that could give way.

    Attributes:
        key: what callers use to put it in their own words.
        family: the family whose rows give way.
        sign: +1 adds the amount to the row's left side, -1 takes it away.
        words: the requirement in plain words.
        change: the sentence for an amount.
    """

    key: str
    family: str
    sign: float
    words: str
    change: Callable[[float, Requirements], str]


def _up(value: float, step: float) -> float:
    """Round up to a step, forgiving what the solver may err by."""
    return math.ceil(value / step - NOTHING / step) * step


def _more_head(extra: float, limits: Requirements) -> str:
    if limits.fed_by_tank:
        return f"raise the water of the tank over the beds by at least {_up(extra, 0.01):.2f} m."
    return f"a pump that gives at least {_up(extra, 0.01):.2f} m more head at the same flow."


def _fewer_beds(less: float, limits: Requirements) -> str:
    most = math.floor(limits.beds_least - less + NOTHING)
    return f"ask for at most {most} bed{'' if most == 1 else 's'} instead of {limits.beds_least}."


def _less_area(less: float, limits: Requirements) -> str:
    most = math.floor((limits.area_least_m2 - less + NOTHING) / 0.01) * 0.01
    return (
        f"ask for at most {most:.2f} m2 of growing area instead of {limits.area_least_m2:.2f} m2."
    )


def _more_working(extra: float, _: Requirements) -> str:
    return (
        f"a sump that holds at least {_up(extra * LITRES, 1.0):.0f} L more "
        "between its running levels."
    )


def _more_spare(extra: float, _: Requirements) -> str:
    return (
        f"a sump with at least {_up(extra * LITRES, 1.0):.0f} L more room "
        "between its high level and the freeboard."
    )


def _more_fall(extra: float, _: Requirements) -> str:
    return (
        f"set the beds at least {_up(extra, 0.01):.2f} m higher, or the sump so much lower, "
        "so that return pipe has its fall."
    )


def _wider_returns(extra: float, _: Requirements) -> str:
    litres_min = _up(extra * SECONDS_PER_MINUTE, 1.0)
    return (
        f"allow wider return pipe, for at least {litres_min:.0f} L/min more, or count bursts as "
        "binomial where all of them are counted."
    )


GIVES = (
    Give("head", "pump_gives_the_head", -1.0, "the head the pump must give", _more_head),
    Give("beds", "enough_beds", 1.0, "the number of beds asked for", _fewer_beds),
    Give("area", "enough_area", 1.0, "the growing area asked for", _less_area),
    Give("sump", "sump_holds_all_beds", -1.0, "the sump must hold all beds at once", _more_working),
    Give(
        "fall", "drains_end_above_the_water", 1.0, "return pipe must fall to the sump", _more_fall
    ),
    Give(
        "power_cut", "power_cut_fits", -1.0, "a power cut must not overflow the sump", _more_spare
    ),
    Give(
        "bursts",
        "drain_carries_its_bursts",
        -1.0,
        "return pipe must carry the siphons' bursts",
        _wider_returns,
    ),
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
    """How long the searches of one explanation may go on together, and what stops them all."""

    stop: threading.Event
    ends_at: float

    @property
    def left_s(self) -> float:
        """Seconds left; 0 once stopped."""
        return 0.0 if self.stop.is_set() else max(0.0, self.ends_at - time.perf_counter())


def time_to_explain_s(time_limit_s: float | None, used_s: float) -> float:
    """Seconds an explanation may take after a search.

    Args:
        time_limit_s: the caller's time limit, or None.
        used_s: what the search took of it.
    """
    if time_limit_s is None:
        return LONGEST_S
    return min(LONGEST_S, OVERTIME * max(0.0, time_limit_s - used_s))


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
            power_cut, bursts.
        stop: set it from any thread to settle for what has been found; the first Ctrl-C sets it.
        time_limit_s: seconds for all searches together, at most ``LONGEST_S``.

    Returns:
        The exception to raise: the clash as a sentence, and for each requirement that alone could
        give way the least change. Without such a requirement the clash names those that must give
        way together, or says that none of them helps, or that time ran out. What the clash names
        may not be all where it says so. A change is rounded so that it suffices.
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
            give.change(least[give.key], problem.requirements),
        )
        for give in GIVES
        if (least := _least(problem, (give,), patience)) and least[give.key] > NOTHING
    ]
    if remedies:
        clash = _clash([r.requirement for r in remedies])
        return Infeasible(clash if patience.left_s else f"{clash} {NOT_ALL}", remedies)
    return Infeasible(_without_single_change(problem, spoken, patience))


def _spoken(give: Give, words: Mapping[str, str], limits: Requirements) -> str:
    fallback = FROM_TANK if give.key == "head" and limits.fed_by_tank else give.words
    return words.get(give.key, fallback)


def _clash(names: list[str]) -> str:
    if len(names) == 1:
        return f"No design meets every requirement; what stands in the way: {names[0]}."
    return f"These requirements clash: {', '.join(names[:-1])} and {names[-1]}."


def _without_single_change(
    problem: DesignProblem, words: Mapping[str, str], patience: Patience
) -> str:
    together = _least(problem, GIVES, patience) or {}
    limits = problem.requirements
    needed = [
        f"{_spoken(give, words, limits)} ({give.change(together[give.key], limits)[:-1]})"
        for give in GIVES
        if together.get(give.key, 0.0) > NOTHING
    ]
    if needed:
        return "No single change allows a design. Together these do: " + "; ".join(needed) + "."
    if not patience.left_s:
        return NOT_SETTLED
    return (
        "No design exists, whatever head, beds, area or sump volume would give way: no pump duty "
        "meets a total flow the beds can take, or no allowed pipe carries it and bears the pump."
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
