"""Budget, few pipe sizes, pipe in stock and pipe laid already, from the site file to the check."""

from dataclasses import replace
from itertools import combinations

import pytest

from optimizer.errors import Infeasible
from optimizer.job import Job
from optimizer.pack.reconcile import UNEXPLAINED, differences
from optimizer.pack.shopping import shopping_list
from optimizer.pipeline import design_job
from optimizer.records.design import CostLine
from optimizer.records.noise import NoiseLimit
from optimizer.search_settings import SearchSettings
from optimizer.simulate.check import check_design
from tests.builders.site_parts import TUB, row_text, sump_text
from tests.tolerances import FORMULA
from tests.whole.site_file import designed, job_of, refused

SIZES = ("25 mm", "32 mm", "50 mm", "63 mm")
SITE = f"""\
name = "Two tubs"
[goal]
floods = "2 per hour"
[ground]
{sump_text()}{TUB}{row_text("A", (6, 1), 2, "1 m")}[returns]
pipes = {list(SIZES)}
[buy]
pipe_series = "pvcu_pn10"
pumps = ["pump_040w_mid", "pump_065w_mid"]
sumps = ["sump_0500", "sump_1000"]
pipes = {list(SIZES)}
""".replace("'", '"')


def with_limit(**keys) -> str:
    """The site with keys of [buy] or [goal] added."""
    text = SITE
    if "budget" in keys:
        text = text.replace("[goal]\n", f"[goal]\nbudget = {keys['budget']}\n")
    if "sizes" in keys:
        text += f"pipe_sizes_most = {keys['sizes']}\n"
    for size, length in keys.get("stock", ()):
        text += f'[[standing.stock]]\nsize = "{size}"\nlength = "{length}"\n'
    return text


def cost(text: str) -> int:
    return designed(text).design.record.cost_cents


def capital(design) -> int:
    return sum(line.cents for line in design.costs if line.group == "capital")


def cost_with_sizes(sizes) -> float:
    """The least cost where only some sizes may be laid; endless where none of them will do."""
    job = job_of(SITE)
    pipes = tuple(p.id for p in job.catalog.pipes.values() if _named(p, sizes))
    site = replace(
        job.site,
        purchase=replace(job.site.purchase, pipes=pipes),
        returns=replace(job.site.returns, pipes=pipes),
    )
    try:
        return design_job(Job(site, job.catalog), SearchSettings(gap=0.0)).design.record.cost_cents
    except Infeasible:
        return float("inf")


def _named(pipe, sizes) -> bool:
    return pipe.series == "pvcu_pn10" and pipe.nominal in sizes


@pytest.mark.parametrize("most", [1, 2, 3])
def test_at_most_so_many_sizes_cost_what_the_best_choice_of_so_many_costs(most):
    # Independent of the limit's rows: every choice of sizes is designed without the limit.
    best = min(cost_with_sizes(sizes) for sizes in combinations(SIZES, most))
    answer = designed(with_limit(sizes=most))
    assert answer.design.record.cost_cents == best
    assert answer.check.passed
    laid = {s.pipe for s in answer.design.stretches} | {d.pipe for d in answer.design.drains}
    assert len(laid) <= most


def test_a_limit_of_one_size_costs_more_than_none():
    # Otherwise the comparison above would prove nothing.
    assert cost(with_limit(sizes=1)) > cost(SITE)


def test_stock_without_end_costs_what_pipe_for_nothing_costs():
    job = job_of(SITE)
    pipes = {
        name: replace(p, price_per_m=0.0) if _named(p, ("32 mm",)) else p
        for name, p in job.catalog.pipes.items()
    }
    free = design_job(Job(job.site, replace(job.catalog, pipes=pipes)), SearchSettings(gap=0.0))
    stocked = designed(with_limit(stock=[("32 mm", "500 m")]))
    assert stocked.design.record.cost_cents == free.design.record.cost_cents
    assert stocked.check.passed


def test_only_metres_beyond_the_stock_are_bought_and_the_rest_is_told_apart():
    # 3 m of 50 mm lie ready; the return pipe of this site is longer than that.
    design = designed(with_limit(stock=[("50 mm", "3 m")])).design
    lines = [c for c in design.costs if c.part == "pvcu10_50" and c.unit == "m"]
    laid = sum(d.length_m for d in design.drains if d.pipe == "pvcu10_50")
    laid += sum(s.length_m for s in design.stretches if s.pipe == "pvcu10_50")
    assert laid > 3.0
    used = sum(c.quantity for c in lines if c.group == "stock")
    assert used == pytest.approx(3.0, rel=FORMULA)
    assert sum(c.quantity for c in lines) == pytest.approx(laid, rel=FORMULA)
    assert all(c.cents == 0 for c in lines if c.group == "stock")
    price = job_of(SITE).catalog.pipes["pvcu10_50"].price_per_m
    assert cost(SITE) - design.record.cost_cents >= round(100 * 3.0 * price) - 1


def test_stock_of_a_size_that_does_not_pay_stays_in_the_shed():
    # Two metres of the widest pipe: its fittings cost more than they save.
    design = designed(with_limit(stock=[("63 mm", "0.1 m")])).design
    assert design.record.cost_cents <= cost(SITE)
    assert check_design(design).passed


def test_a_budget_of_what_the_best_design_takes_changes_nothing():
    best = designed(SITE).design
    answer = designed(with_limit(budget=capital(best) / 100))
    assert answer.design.record.cost_cents == best.record.cost_cents
    assert answer.check.passed


def test_the_budget_named_by_a_refusal_is_just_enough():
    said = {r.requirement: r.change for r in refused(with_limit(budget=500)).remedies}
    least = float(said["the money to buy with"].split()[-1].rstrip("."))
    answer = designed(with_limit(budget=f"{least:.2f}"))
    assert answer.check.passed
    assert capital(answer.design) <= round(100 * least)
    assert refused(with_limit(budget=f"{least - 0.01:.2f}"))


def test_pipe_laid_already_costs_nothing_and_is_no_size_to_keep():
    riser = '[[standing.pipe]]\nrun = "riser"\nsize = "32 mm"\n'
    design = designed(with_limit(sizes=1) + riser).design
    there = [s for s in design.stretches if s.standing]
    assert there
    assert {s.pipe for s in there} == {"pvcu10_32"}
    assert check_design(design).passed
    assert design.record.cost_cents <= cost(with_limit(sizes=1))


def spoilt(design, **promise):
    return replace(design, promise=replace(design.promise, **promise))


def failed(design) -> set[str]:
    return {f.promise for f in check_design(design).failures}


def test_the_check_refutes_a_design_over_its_budget_or_with_too_many_sizes():
    design = designed(with_limit(sizes=2, budget=5000)).design
    assert failed(design) == set()
    assert failed(spoilt(design, budget_cents=capital(design) - 1)) == {"money to buy with"}
    assert failed(spoilt(design, pipe_sizes_most=1)) == {"sizes of pipe laid anew"}


def test_the_check_refutes_more_pipe_from_stock_than_there_is_and_metres_not_bought():
    design = designed(with_limit(stock=[("50 mm", "3 m")])).design
    assert failed(design) == set()
    less = {pipe: length - 0.1 for pipe, length in design.promise.stock_m.items()}
    assert failed(spoilt(design, stock_m=less)) == {"pipe taken from stock"}
    half = tuple(_half_of(line) for line in design.costs)
    assert failed(replace(design, costs=half)) == {
        "pipe bought and taken from stock is what is laid"
    }


def _half_of(line: CostLine) -> CostLine:
    bought = line.part == "pvcu10_50" and line.unit == "m" and line.group == "capital"
    return replace(line, quantity=line.quantity / 2) if bought else line


def test_the_shopping_list_says_what_lies_ready_and_still_meets_the_cost():
    # It lists whole sticks of all pipe; one step to the design's cost is the pipe from stock.
    design = designed(with_limit(stock=[("50 mm", "3 m")])).design
    found = shopping_list(design)
    counted, steps = differences(design, found)
    assert counted + sum(step.cents for step in steps) == found.cents
    by_why = {step.why: step.cents for step in steps}
    price = job_of(SITE).catalog.pipes["pvcu10_50"].price_per_m
    assert by_why["pipe that lies ready, which this list has too"] == round(300 * price)
    assert UNEXPLAINED not in by_why


def noise(louder_than: str, hours: float) -> str:
    return f'[noise]\nlouder_than = "{louder_than}"\nhours_most = "{hours:g} h"\n'


def test_a_loud_pump_gives_way_to_a_dearer_one_that_is_quiet():
    # The site takes the 40 W pump; made to hum at 60 dB it is not bought, and the least cost is
    # that of the site which may buy the other alone.
    job = job_of(SITE + noise("45 dB", 8))
    loud = replace(job.catalog.pumps["pump_040w_mid"], noise_db=60.0)
    catalog = replace(job.catalog, pumps={**job.catalog.pumps, "pump_040w_mid": loud})
    answer = design_job(Job(job.site, catalog), SearchSettings(gap=0.0))
    other = cost(SITE.replace('"pump_040w_mid", ', ""))
    assert designed(SITE).design.pump.id == "pump_040w_mid"
    assert (answer.design.pump.id, answer.design.record.cost_cents) == ("pump_065w_mid", other)
    assert answer.check.passed


def test_a_limit_on_noise_changes_nothing_where_the_pump_rests_long_enough():
    half = SITE.replace("[goal]\n", '[goal]\npump_hours = "12 h"\n')
    assert cost(half + noise("20 dB", 12)) == cost(half)
    assert refused(half + noise("20 dB", 11.9))


def test_where_every_pump_is_loud_the_quietest_is_named_and_the_hours_that_would_do():
    # Of the two pumps the site may buy, the catalog's example levels are 35 and 37 dB.
    refusal = refused(SITE + noise("20 dB", 8))
    assert "the quietest of them, 40 W pump, middle head, is at 35.0 dB" in refusal.clash
    assert "run 24 hours a day, where 8 are allowed" in refusal.clash
    told = {r.requirement: r.change for r in refusal.remedies}
    assert 'hours_most = "24 h" under [noise]' in told["the limit on noise"]
    assert designed(SITE + noise("20 dB", 24)).check.passed
    assert designed(SITE + noise("35 dB", 8)).check.passed


def test_where_the_quiet_pump_is_too_weak_the_loud_one_must_run():
    # 31 dB of the 15 W pump are quiet at 33 dB; the row lies 1.2 m higher than it lifts water to.
    text = SITE.replace('"pump_065w_mid"', '"pump_015w_mid"').replace(
        'spacing = "1 m"', 'spacing = "1 m"\nlevel = "0.2 m"'
    )
    assert designed(text).design.pump.id == "pump_040w_mid"
    assert refused(text + noise("33 dB", 8))


def test_the_check_refutes_a_design_whose_pump_is_heard_too_long():
    design = designed(SITE + noise("45 dB", 8)).design
    assert failed(design) == set()
    assert failed(spoilt(design, noise=NoiseLimit(20.0, 8.0))) == {"hours a day of a loud pump"}
