"""Every way to look ahead, designed step by step; what is alike is designed once.

A way says for sump, pump and header from which step on they are as the whole site has them. A step
that is so by itself needs no second search: its design is the least of all, so also of those.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

from optimizer.errors import Infeasible, SolverFailed
from optimizer.extension import standing_job
from optimizer.extension_fates import fates
from optimizer.job import Job
from optimizer.phasing.ahead import (
    HEADER,
    PARTS,
    Ahead,
    already_as,
    held_to,
    like_whole,
    sizes_of_whole,
)
from optimizer.phasing.steps import Step, without_used_stock
from optimizer.pipeline import find_design
from optimizer.records.design import Design
from optimizer.records.extension import bought_cents
from optimizer.records.phasing import BuiltStep, PhasePlan, RefusedPlan
from optimizer.search_settings import SearchSettings

Way = tuple[Ahead, ...]
"""For every step the parts that it takes as the whole site has them; none in the last."""

Tell = Callable[[str], None]
"""Is told what is being worked out, in words."""


@dataclass(frozen=True)
class How:
    """How every design is searched for, and who is told what is being worked out."""

    search: SearchSettings = field(default_factory=SearchSettings)
    tell: Tell = lambda _: None

    @property
    def is_stopped(self) -> bool:
        """Whether the search was stopped."""
        return self.search.stop.is_set()

    def design(self, job: Job, sizes: dict[str, str] | None = None) -> Design:
        """Return the least-cost design of a job, its riser and header held to sizes if given."""
        narrow = None if sizes is None else lambda problem: held_to(problem, sizes)
        return find_design(job, self.search, narrow=narrow)


def ways_ahead(steps: int) -> list[Way]:
    """Return every way to look ahead in so many steps, those that do so least first.

    Args:
        steps: number of steps; the last one is the whole site and looks no further.
    """
    starts = sorted(product(range(steps), repeat=len(PARTS)), key=lambda s: (-sum(s), s))
    return [
        (*(_started(each, number) for number in range(steps - 1)), frozenset()) for each in starts
    ]


def _started(starts: Sequence[int], step: int) -> Ahead:
    return frozenset(part for part, start in zip(PARTS, starts, strict=True) if start <= step)


@dataclass(frozen=True)
class _Built:
    """What stands after a step, and the job of the next one's stock."""

    design: Design
    job: Job


class Planner:
    """Designs ways step by step.

    Args:
        steps: the steps.
        whole: the whole site as it would be built at the last step, with nothing from before.
        old: what stands before the first step; None where nothing does.
        how: how to search.
    """

    def __init__(self, steps: Sequence[Step], whole: Design, old: Design | None, how: How) -> None:
        self.steps, self.whole, self.old, self.how = steps, whole, old, how
        self.refusal: Infeasible | None = None
        self._known: dict[tuple[int, int | None], dict[Ahead, _Built | Infeasible]] = {}

    def plan(self, way: Way) -> PhasePlan | RefusedPlan:
        """Return the plan of a way, or why it has none.

        Raises:
            SolverFailed: if a search stops without a design.
        """
        stands: _Built | None = None
        made = []
        for number, ahead in enumerate(way):
            found = self._built(number, stands, ahead)
            if isinstance(found, Infeasible):
                self.refusal = found
                name = self.steps[number].name
                return RefusedPlan(name, tuple(p for p in PARTS if p in ahead), found.clash)
            made.append(self._step(number, stands, found, ahead))
            stands = found
        worth = sum(s.worth * (s.bought_cents + s.running_cents) for s in made)
        return PhasePlan(tuple(made), round(worth))

    def _step(self, number: int, stands: _Built | None, built: _Built, ahead: Ahead) -> BuiltStep:
        step, design = self.steps[number], built.design
        before = self.old if stands is None else stands.design
        told = () if before is None else fates(before, design, built.job.site)
        return BuiltStep(
            name=step.name,
            year=step.year,
            years=step.years,
            worth=step.worth,
            ahead=tuple(part for part in PARTS if part in ahead),
            design=design,
            bought_cents=bought_cents(design),
            running_cents=running_cents(design),
            fates=told,
        )

    def _built(self, number: int, stands: _Built | None, ahead: Ahead) -> _Built | Infeasible:
        known = self._known.setdefault((number, None if stands is None else id(stands)), {})
        if ahead in known:
            return known[ahead]
        job = self._job(number, stands)
        sizes = sizes_of_whole(job, self.whole) if HEADER in ahead else {}
        for less, found in known.items():
            if less < ahead and (
                isinstance(found, Infeasible) or already_as(self.whole, found.design, ahead, sizes)
            ):
                known[ahead] = found
                return found
        self.how.tell(f"{self.steps[number].name}{_words(ahead)}")
        try:
            design = self.how.design(like_whole(job, self.whole, ahead), sizes)
            if self.how.is_stopped:
                raise SolverFailed("The search was stopped.")
            known[ahead] = _Built(design, job)
        except Infeasible as refusal:
            known[ahead] = refusal
        return known[ahead]

    def _job(self, number: int, stands: _Built | None) -> Job:
        job = self.steps[number].job
        if stands is None:
            return job if self.old is None else standing_job(job, self.old)
        left = without_used_stock(stands.job, stands.design).site.standing.stock
        own = replace(job, site=replace(job.site, standing=replace(job.site.standing, stock=left)))
        return standing_job(own, stands.design)


def running_cents(design: Design) -> int:
    """Return the present worth of energy and later pumps, in cents."""
    return sum(line.cents for line in design.costs if line.group == "running")


def _words(ahead: Ahead) -> str:
    named = [part for part in PARTS if part in ahead]
    return f", {' and '.join(named)} as the whole site has them" if named else ""


def distinct(plans: Sequence[PhasePlan]) -> Iterator[PhasePlan]:
    """Yield the plans whose designs no plan before has, step by step."""
    seen = set()
    for plan in plans:
        key = tuple(id(step.design) for step in plan.steps)
        if key not in seen:
            seen.add(key)
            yield plan
