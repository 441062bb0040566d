"""What became of one site: a design that passes its check, a reasoned refusal, or a fault."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.alternatives import design_layouts
from optimizer.errors import Infeasible
from optimizer.job import Job
from optimizer.pipeline import Answer
from optimizer.records.parts import Catalog
from optimizer.records.site import Site
from optimizer.search_settings import SearchSettings


@dataclass(frozen=True)
class Verdict:
    """The outcome for one site.

    Attributes:
        kind: design or infeasible.
        beds: beds built.
        status: the solver's word for how it ended.
        gap: proven relative gap.
        failures: every promise of the design that simulation refutes, in words.
        bound_above_cost: whether the bound claimed lies above the cost (a false proof).
        unexplained: whether a refusal names no clash.
        bill_off_cents: what the bill adds up to beyond the cost.
        what: the refusal's first line.
        robustness: what the design was asked for.
        works_in_share: share of random draws in which every bed works; None where not drawn.
    """

    kind: str
    beds: int = 0
    status: str = ""
    gap: float = 0.0
    failures: tuple[str, ...] = ()
    bound_above_cost: bool = False
    unexplained: bool = False
    bill_off_cents: int = 0
    what: str = ""
    robustness: str = ""
    works_in_share: float | None = None

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        wrong = self.failures or self.bound_above_cost or self.bill_off_cents
        return not (wrong or self.unexplained)


def judge(site: Site, catalog: Catalog, time_limit_s: float) -> Verdict:
    """Design a site, every layout of it, check the design, and say what became of it."""
    try:
        answer = design_layouts(Job(site, catalog), SearchSettings(time_limit_s=time_limit_s))
    except Infeasible as refusal:
        clash = refusal.clash.strip()
        return Verdict("infeasible", unexplained=len(clash.split()) < 4, what=clash)
    return _of_answer(answer)


def _of_answer(answer: Answer) -> Verdict:
    record, drawn = answer.design.record, answer.check.reliability
    bill = sum(line.cents for line in answer.design.costs)
    return Verdict(
        "design",
        beds=len(answer.design.beds),
        status=record.status,
        gap=record.gap,
        failures=tuple(
            f"{f.subject}: {f.promise}: promised {f.promised:.6g}, simulated {f.simulated:.6g}"
            for f in answer.check.failures
        ),
        bound_above_cost=record.bound_cents > record.cost_cents,
        bill_off_cents=bill - record.cost_cents,
        robustness=answer.design.promise.robustness,
        works_in_share=None if drawn is None else drawn.share,
    )
