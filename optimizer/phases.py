"""Build in two phases: only for now and extend later, or buy part of the final's plant at once.

A plan is a design for the first beds and its extension to the final site some years on. Plans
differ in how much of the way from the pump outward is laid now in the sizes of the final design,
and in whether the first phase takes the final's kind of sump and of pump, so that more of the same
can be added. What a plan costs is brought to today; no plan at all costs less than the bound.

Why the bound holds, v being today's worth of 1 at the second phase: what the final system has is
either bought then, at v times its price, or was bought before, at its price. So a plan costs at
least v (all of the final system and its running) + (1 - v) (what is bought first) + the running of
the first phase. Both parts are least costs of a design each, which the program proves.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

from optimizer.candidates.built import with_built
from optimizer.candidates.network import candidate_network
from optimizer.errors import BadInput, Infeasible, Problem
from optimizer.extension import standing_job
from optimizer.formulate.build import formulate
from optimizer.pipeline import Job, find_design
from optimizer.records.design import Design
from optimizer.records.extension import bought_cents
from optimizer.records.header_ring import refused
from optimizer.records.site import Site
from optimizer.records.standing import StandingStretch

SHARED_KINDS = ("riser", "header")


@dataclass(frozen=True)
class Plan:
    """One way to build in two phases; money in cents.

    Attributes:
        wide: stretches from the pump outward that are laid at once in the final design's size.
        same_sump: whether the first phase must take the final design's kind of sump.
        same_pump: whether it must take the final design's kind of pump.
        now: the design of the first phase.
        later: the whole system after the second.
        now_cents: bought in the first phase.
        later_cents: bought in the second, at that time.
        running_cents: energy and later pumps of both phases, brought to today.
        worth_cents: all of it, brought to today.
    """

    wide: int
    same_sump: bool
    same_pump: bool
    now: Design
    later: Design
    now_cents: int
    later_cents: int
    running_cents: int
    worth_cents: int


@dataclass(frozen=True)
class Phases:
    """Plans by how much pipe is laid wide at once, and what no plan can cost less than.

    Attributes:
        plans: every plan that has a design; the first one is built only for now.
        bound_cents: no plan of two phases costs less, brought to today (proven).
        at_once_cents: the final site built whole today, over all the years.
    """

    plans: tuple[Plan, ...]
    bound_cents: float
    at_once_cents: int

    @property
    def best(self) -> Plan:
        """The plan that costs least."""
        return min(self.plans, key=lambda plan: plan.worth_cents)

    @property
    def only_for_now(self) -> Plan:
        """The plan whose first phase does not look ahead."""
        return self.plans[0]


def compare_phases(now: Job, final: Job, years: float, *, gap: float = 1e-4) -> Phases:
    """Return plans to build a site in two phases, each designed and proven phase by phase.

    Args:
        now: the site of the first phase, its beds all among those of the final one.
        final: the site as it will be; its planning years count from today.
        years: years from now to the second phase, above 0 and below the planning years.
        gap: relative gap of every search.

    Raises:
        BadInput: if the years do not fit, or a bed of the first phase has no place later.
        Infeasible: if either phase has no design.
    """
    ring = now.site.header_ring or final.site.header_ring
    if problems := refused(ring, "building in two phases"):
        raise BadInput(problems)
    clock = _Clock(now.site, final.site, years)
    first, second = clock.first(now), clock.second(final)
    fresh = find_design(second, gap=gap)
    shared = _shared(first, fresh)
    plans = []
    for same_sump, same_pump, wide in product((False, True), (False, True), range(len(shared) + 1)):
        ahead = _like(first, fresh, same_sump=same_sump, same_pump=same_pump)
        try:
            found = _plan(ahead, second, shared[:wide], clock, gap)
        except Infeasible:
            if (same_sump, same_pump, wide) == (False, False, 0):
                raise
            continue
        plans.append(replace(found, same_sump=same_sump, same_pump=same_pump))
    bound = clock.worth * fresh.record.bound_cents + _least_now_cents(first, clock, gap)
    return Phases(tuple(plans), bound, find_design(final, gap=gap).record.cost_cents)


def _like(first: Job, fresh: Design, *, same_sump: bool, same_pump: bool) -> Job:
    """Return the first phase, held to the final design's kind of sump or pump."""
    purchase = first.site.purchase
    if same_sump:
        purchase = replace(purchase, sumps=(fresh.sump.id,))
    if same_pump:
        purchase = replace(purchase, pumps=(fresh.pump.id,))
    return replace(first, site=replace(first.site, purchase=purchase))


def _least_now_cents(first: Job, clock: _Clock, gap: float) -> float:
    """Return the least of (1 - v) times what is bought first, and the running until the second.

    That is (1 - v) times a least cost with energy dearer by 1 / (1 - v).
    """
    part = 1.0 - clock.worth
    if part <= 0.0:
        return 0.0
    goals = first.site.goals
    dearer = replace(goals, energy_price_per_kwh=goals.energy_price_per_kwh / part)
    site = replace(first.site, goals=dearer)
    return part * find_design(replace(first, site=site), gap=gap).record.bound_cents


class _Clock:
    """The planning years parted in two."""

    def __init__(self, now: Site, final: Site, years: float) -> None:
        goals = final.goals
        if not 0.0 < years < goals.planning_years:
            what = f"{years:g} years to the second phase, {goals.planning_years:g} in all."
            raise BadInput([Problem("years", what, "Let it be above 0 and below planning_years.")])
        self.years, self.left = years, goals.planning_years - years
        self.worth = float((1.0 + goals.discount_rate) ** -years)
        self.dearer = (1.0 + goals.energy_price_growth) ** years

    def first(self, job: Job) -> Job:
        """Return a job that counts the years up to the second phase."""
        goals = replace(job.site.goals, planning_years=self.years)
        return replace(job, site=replace(job.site, goals=goals))

    def second(self, job: Job) -> Job:
        """Return a job that counts the years from then on, at that day's price of energy."""
        goals = job.site.goals
        price = goals.energy_price_per_kwh * self.dearer
        later = replace(goals, planning_years=self.left, energy_price_per_kwh=price)
        return replace(job, site=replace(job.site, goals=later))


def _shared(first: Job, target: Design) -> list[StandingStretch]:
    """Return the riser and header of the first phase, outward, in the final design's sizes."""
    network = candidate_network(first.site)
    found = with_built(first.site, network, target).standing.stretches
    sizes = {each.stretch: each for each in found}
    return [sizes[s.id] for s in network.stretches if s.kind in SHARED_KINDS and s.id in sizes]


def _plan(
    first: Job, second: Job, wide: Sequence[StandingStretch], clock: _Clock, gap: float
) -> Plan:
    """Return the plan that lays some stretches wide: they are paid, then stand for nothing."""
    standing = replace(first.site.standing, stretches=tuple(wide))
    laid = replace(first, site=replace(first.site, standing=standing))
    now = find_design(laid, gap=gap)
    now_cents = bought_cents(now) + sum(_prices(first, now, wide))
    later = find_design(standing_job(second, now), gap=gap)
    later_cents = bought_cents(later)
    running = _running_cents(now) + clock.worth * _running_cents(later)
    worth = now_cents + clock.worth * later_cents + running
    return Plan(
        len(wide), False, False, now, later, now_cents, later_cents, round(running), round(worth)
    )


def _prices(first: Job, now: Design, wide: Sequence[StandingStretch]) -> Iterator[int]:
    """Yield what each wide stretch that was kept costs, pipe, fittings and work, in cents.

    Raises:
        KeyError: if a size is not one that the first phase may lay.
    """
    made = formulate(first.site, first.catalog, candidate_network(first.site))
    tables = {table.id: table for table in made.problem.stretches}
    kept = {s.id: s for s in now.stretches if s.standing}
    for each in wide:
        if each.stretch not in kept:
            continue
        table, step = tables[each.stretch], made.problem.flow_step_m3_s
        steps = round(kept[each.stretch].flow_m3_s / step)
        duties = [duty.id for duty in table.duties if duty.flow_steps == steps]
        builds = [b for (d, _), b in table.table.items() if d in duties and b.pipe == each.pipe]
        if not builds:
            raise KeyError(f"{each.stretch} in {each.pipe}")
        yield max(build.cost_cents for build in builds)


def _running_cents(design: Design) -> int:
    return sum(line.cents for line in design.costs if line.group == "running")
