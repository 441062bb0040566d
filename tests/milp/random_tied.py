"""Random problems with a budget, few sizes of pipe, or pipe in stock (all figures invented)."""

import random
from dataclasses import replace

from optimizer.records.problem import DesignProblem
from optimizer.records.requirements import PipeStock
from tests.milp.random_problem import SIZES, random_problem

RETURN_SIZES = ("d50", "d75", "d110")


def random_tied(seed: int) -> DesignProblem:
    """A random problem of two branches of at most one bed, its choices tied in some way."""
    rng, problem = random.Random(1000 + seed), _with_lifts(two_beds(seed), seed)
    asked = problem.requirements
    kinds = rng.choice(("budget", "sizes", "stock", "budget sizes", "budget stock", "all"))
    every = kinds == "all"
    if every or "budget" in kinds:
        asked = replace(asked, budget_cents=rng.randrange(6500, 10_500))
    if every or "sizes" in kinds:
        asked = replace(asked, pipe_sizes_most=rng.choice((1, 2, 3, 4)))
    stock: tuple[PipeStock, ...] = ()
    if every or "stock" in kinds:
        names = rng.sample((*SIZES, *RETURN_SIZES), 2)
        stock = tuple(PipeStock(name, rng.randrange(500)) for name in names)
    return replace(problem, requirements=asked, stock=stock)


def two_beds(seed: int) -> DesignProblem:
    """Two branches of at most one bed each; every build in a pipe of its own size."""
    rng = random.Random(seed)
    problem = random_problem(next(s for s in range(3 * seed, 3 * seed + 90) if _pair(s)))

    def sized(build):
        share = rng.uniform(0.3, 0.9)
        return replace(build, pipe=build.id, pipe_cents=int(share * build.cost_cents))

    plans = tuple(p for p in problem.plans if p.beds <= 1)
    kept = {p.id for p in plans}
    return replace(
        problem,
        plans=plans,
        stretches=tuple(
            replace(s, table={k: sized(b) for k, b in s.table.items()}) for s in problem.stretches
        ),
        drains=tuple(_sized_drain(d, kept, sized) for d in problem.drains),
        pumps=tuple(replace(p, later_cents=rng.randrange(2000)) for p in problem.pumps),
        requirements=replace(
            problem.requirements, beds_least=rng.choice((1, 2)), area_least_m2=0.0
        ),
    )


def _with_lifts(problem: DesignProblem, seed: int) -> DesignProblem:
    """On every third problem some pumps come with pipe of their own, as where they fill a tank."""
    rng = random.Random(f"lift {seed}")

    def lifting(pump):
        names = rng.sample((*SIZES, *RETURN_SIZES), rng.choice((0, 1, 2)))
        pipes = {name: rng.randrange(400) for name in names}
        return replace(pump, pipe_cents=pipes, cost_cents=pump.cost_cents + sum(pipes.values()))

    pumps = problem.pumps if seed % 3 else tuple(lifting(p) for p in problem.pumps)
    return replace(problem, pumps=pumps)


def _sized_drain(drain, plans, sized):
    bursts = {plan: burst for plan, burst in drain.bursts_m3_s.items() if plan in plans}
    return replace(drain, builds=tuple(sized(b) for b in drain.builds), bursts_m3_s=bursts)


def _pair(seed: int) -> bool:
    return len({p.branch for p in random_problem(seed).plans}) == 2
