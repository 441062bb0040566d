"""What no plan of given steps can cost less than, brought to today.

With v(t) what 1 of step t's year is worth today, and v = 0 after the last, a plan costs

    sum over t of v(t) (bought(t) + running(t)).

What is there after step t was bought in step t or before, each part at its full price, so the sum
of bought(1) to bought(t) is no less than the price C(t) of the system of step t. Summed by parts,
a plan costs no less than

    sum over t of (v(t) - v(t + 1)) C(t) + v(t) running(t),

and each term no less than its own least over all designs of step t's site: a design with energy
dearer by v(t) / (v(t) - v(t + 1)), which the program proves.

Limits on what one step buys (a budget, sizes of pipe) do not bind the system as a whole, so C(t) is
taken without them. A tee or reducer cut into pipe that stands is on no bill of an extension, so
C(t) is taken with both at no price. Work for the site and delivery are paid at every step that must
buy something, not once: C(t) has them once, every later such step adds them at its own worth.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from optimizer.extension import standing_job
from optimizer.formulate.fittings_price import cents
from optimizer.job import Job
from optimizer.phasing.search import How
from optimizer.phasing.steps import Step, without_limits
from optimizer.records.design import Design
from optimizer.records.parts import Catalog
from optimizer.records.site import Site

CUT_IN = ("tee", "reducer")
"""Fittings that a row added later puts into pipe that stands."""


def least_worth_cents(steps: Sequence[Step], old: Design | None, how: How) -> float:
    """Return what no plan of these steps costs less than, brought to today.

    Args:
        steps: the steps.
        old: what stands today; None where nothing does.
        how: how to search.
    """
    worths = [*(step.worth for step in steps), 0.0]
    total = 0.0
    for step, (worth, after) in zip(steps, pairwise(worths), strict=True):
        part = worth - after
        if part > 0.0:  # without a discount, what is bought early costs no more, and is not counted
            how.tell(f"what no plan can cost less than: {step.name}")
            total += part * _least(step, worth / part, old, how)
    return total + _visits_cents(steps, old)


def _least(step: Step, dearer: float, old: Design | None, how: How) -> float:
    """Return the least cost of a step's system in cents, its energy so many times as dear."""
    job = without_limits(replace(step.job, catalog=_without_cut_in(step.job)))
    goals = job.site.goals
    price = goals.energy_price_per_kwh * dearer
    job = replace(job, site=replace(job.site, goals=replace(goals, energy_price_per_kwh=price)))
    return how.design(job if old is None else standing_job(job, old)).record.bound_cents


def _without_cut_in(job: Job) -> Catalog:
    fittings = {
        name: replace(each, price=0.0) if each.kind in CUT_IN else each
        for name, each in job.catalog.fittings.items()
    }
    return replace(job.catalog, fittings=fittings)


def _visits_cents(steps: Sequence[Step], old: Design | None) -> float:
    """Return work for the site and delivery at every step that must buy, less the one counted."""
    services = steps[0].job.catalog.services.values()
    once = sum(cents(service.price) for service in services if service.per == "site")
    stand = len(old.beds) if old else sum(row.standing_beds for row in steps[0].job.site.rows)
    worth = steps[0].worth if steps[0].job.site.goals.beds_least > stand else 0.0
    worth += sum(
        after.worth
        for before, after in pairwise(steps)
        if _must_buy(before.job.site, after.job.site)
    )
    return once * (worth - steps[0].worth)


def _must_buy(before: Site, after: Site) -> bool:
    """Return whether no system of the site before has all beds that the site after must have."""
    room = {row.id: row.beds_most for row in before.rows}
    return after.goals.beds_least > sum(room.values()) or any(
        row.beds_least > room.get(row.id, 0) for row in after.rows
    )
