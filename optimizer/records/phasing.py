"""What comes of phases: plans to build a site step by step, and what no plan can cost less than."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.records.check import CheckReport
from optimizer.records.design import Design
from optimizer.records.extension import PartFate, Room


@dataclass(frozen=True)
class BuiltStep:
    """One step of a plan; money in cents of its own year.

    Attributes:
        name: what the step is called.
        year: when it is built, in years from now.
        years: how long it runs before the next one.
        worth: what 1 of that year is worth today.
        ahead: parts that it takes as the whole site has them: sump, pump, header.
        design: all that is there when it is done.
        bought_cents: what it buys: parts and work.
        running_cents: energy and later pumps until the next step, brought to its year.
        fates: what becomes of what stood before; empty where nothing did.
    """

    name: str
    year: float
    years: float
    worth: float
    ahead: tuple[str, ...]
    design: Design
    bought_cents: int
    running_cents: int
    fates: tuple[PartFate, ...] = ()


@dataclass(frozen=True)
class PhasePlan:
    """One way to build step by step.

    Attributes:
        steps: its steps, in order.
        worth_cents: everything bought and run, brought to today.
    """

    steps: tuple[BuiltStep, ...]
    worth_cents: int

    @property
    def looks_ahead(self) -> bool:
        """Whether some step takes a part as the whole site has it."""
        return any(step.ahead for step in self.steps)


@dataclass(frozen=True)
class RefusedPlan:
    """A way to look ahead that has no design.

    Attributes:
        step: the step that has none.
        ahead: the parts that it was to take as the whole site has them.
        why: what stands in the way.
    """

    step: str
    ahead: tuple[str, ...]
    why: str


@dataclass(frozen=True)
class Phasing:
    """Plans for the phases of a site, cheapest first.

    Attributes:
        site: what the site is called.
        discount_rate: yearly, a share.
        planning_years: years that count.
        plans: every plan that has a design and differs from the others.
        refused: ways to look ahead that have none.
        ways: ways to look ahead that were to be compared.
        compared: how many of them were.
        bound_cents: no plan of these steps costs less, brought to today; None if not worked out.
        at_once_cents: the whole site built today, over all the years; None likewise.
        checks: what simulation says of each step of the cheapest plan.
        rooms: how far the pump of each step of it reaches; None where that was not asked.
        layout: the layout that was taken, where the site leaves several open; empty else.
    """

    site: str
    discount_rate: float
    planning_years: float
    plans: tuple[PhasePlan, ...]
    refused: tuple[RefusedPlan, ...]
    ways: int
    compared: int
    bound_cents: float | None
    at_once_cents: int | None
    checks: tuple[CheckReport, ...]
    rooms: tuple[Room | None, ...]
    layout: str = ""

    @property
    def best(self) -> PhasePlan:
        """The plan that costs least."""
        return self.plans[0]

    @property
    def step_by_step(self) -> PhasePlan:
        """The plan that looks ahead in nothing, or as little as any that was compared."""
        return min(self.plans, key=lambda plan: sum(len(step.ahead) for step in plan.steps))

    @property
    def passed(self) -> bool:
        """Whether every step of the cheapest plan passes its check."""
        return all(check.passed for check in self.checks)
