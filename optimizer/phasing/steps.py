"""The steps in which a site is built: a job each, with the years it runs and what money is worth.

Step t is built in its year and runs until the next one is built, the last until the planning years
are over. Money of its year is worth ``worth`` today, at the site's discount rate.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from optimizer.errors import BadInput, Problem
from optimizer.job import Job
from optimizer.records.design import Design
from optimizer.records.site import Row, Site, StockPipe


@dataclass(frozen=True)
class Step:
    """One step.

    Attributes:
        name: what it is called.
        year: when it is built, in years from now.
        years: how long it runs before the next one.
        worth: what 1 of that year is worth today.
        job: the site as it is then, its planning years those of the step, and the catalog.
    """

    name: str
    year: float
    years: float
    worth: float
    job: Job


def steps_of(job: Job) -> tuple[Step, ...]:
    """Return the steps that the phases of a site name.

    A row that no phase has opened yet is closed: the header lies where the whole site has it, and
    no pipe leads there.

    Raises:
        BadInput: if the site names no phases.
    """
    site = job.site
    if not site.phases:
        what = "the file has no [[phase]]: it does not say what is built when."
        fix = 'Add at least two, as [[phase]] year = 0 rows = ["A"] and [[phase]] year = 2.'
        raise BadInput([Problem("phase", what, fix)])
    jobs = [replace(job, site=_at_phase(site, number)) for number in range(len(site.phases))]
    return timed(jobs, [phase.year for phase in site.phases], [p.name for p in site.phases])


def timed(jobs: Sequence[Job], years: Sequence[float], names: Sequence[str]) -> tuple[Step, ...]:
    """Return jobs as steps that follow one another.

    The goals of the last job say how many years are planned, and what money and energy are worth.

    Args:
        jobs: the site at each step, and the catalog.
        years: when each is built, from now; rising, and below the planning years.
        names: what each is called.
    """
    goals = jobs[-1].site.goals
    ends = [*years[1:], goals.planning_years]
    steps = []
    for job, year, end, name in zip(jobs, years, ends, names, strict=True):
        price = job.site.goals.energy_price_per_kwh * (1.0 + goals.energy_price_growth) ** year
        own = replace(job.site.goals, planning_years=end - year, energy_price_per_kwh=price)
        then = replace(job, site=replace(job.site, goals=own))
        worth = float((1.0 + goals.discount_rate) ** -year)
        steps.append(Step(name, year, end - year, worth, then))
    return tuple(steps)


def _at_phase(site: Site, number: int) -> Site:
    """Return the site with the rows that are open in a phase, and the beds it asks for."""
    if number == len(site.phases) - 1:
        return replace(site, phases=())
    phase = site.phases[number]
    opened = {name for each in site.phases[: number + 1] for name in each.rows or ()}
    if all(each.rows is None for each in site.phases):
        opened = {row.id for row in site.rows}
    rows = tuple(_row(row, row.id in opened, phase.beds) for row in site.rows)
    beds = phase.beds if phase.beds is not None else sum(row.beds_least for row in rows)
    goals = replace(site.goals, beds_least=max(1, beds), growing_area_least_m2=0.0)
    return replace(site, rows=rows, goals=goals, phases=())


def _row(row: Row, opened: bool, beds: int | None) -> Row:
    if not opened:
        return replace(row, beds_least=0, beds_most=0)
    return row if beds is None else replace(row, beds_least=row.standing_beds)


def without_limits(job: Job) -> Job:
    """Return a job without the limits on what is bought in one step: money and sizes of pipe."""
    goals = replace(job.site.goals, budget=None)
    purchase = replace(job.site.purchase, pipe_sizes_most=None)
    return replace(job, site=replace(job.site, goals=goals, purchase=purchase))


def without_used_stock(job: Job, design: Design) -> Job:
    """Return a job whose pipe lying ready is what a design has left of it."""
    used: dict[str, float] = {}
    for line in design.costs:
        if line.group == "stock":
            used[line.part] = used.get(line.part, 0.0) + line.quantity
    left = tuple(each for stock in job.site.standing.stock for each in _left(stock, used))
    standing = replace(job.site.standing, stock=left)
    return replace(job, site=replace(job.site, standing=standing))


def _left(stock: StockPipe, used: dict[str, float]) -> tuple[StockPipe, ...]:
    taken = min(stock.length_m, used.get(stock.pipe, 0.0))
    used[stock.pipe] = used.get(stock.pipe, 0.0) - taken
    length_m = stock.length_m - taken
    return (replace(stock, length_m=length_m),) if length_m > 0.0 else ()
