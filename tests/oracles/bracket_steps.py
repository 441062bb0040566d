"""A problem whose stretches of two sizes are laid in whole steps; part of ``bracket_tied``."""

from __future__ import annotations

import math
from dataclasses import replace

from optimizer.records.mixes import ROUNDING_CENTS, Mix
from optimizer.records.problem import Build, DesignProblem, StretchTable

STEPS = 4
"""Steps into which a stretch of two sizes is cut."""


def without_ties(problem: DesignProblem) -> DesignProblem:
    """The problem without budget, limit on sizes, stock and second sizes."""
    asked = replace(problem.requirements, budget_cents=None, pipe_sizes_most=None)
    plain = tuple(replace(stretch, mixes={}) for stretch in problem.stretches)
    return replace(problem, requirements=asked, stock=(), stretches=plain)


def in_steps(problem: DesignProblem, best: bool) -> DesignProblem:
    """The problem with every mix as builds of whole steps: as good as can be, or as they are."""
    free = without_ties(problem)
    stretches = tuple(
        _with_steps(plain, mixed, best)
        for plain, mixed in zip(free.stretches, problem.stretches, strict=True)
    )
    return replace(free, stretches=stretches)


def _with_steps(plain: StretchTable, mixed: StretchTable, best: bool) -> StretchTable:
    table, ratings = dict(plain.table), dict(plain.rating_head_m)
    for (duty, build), mix in mixed.mixes.items():
        for step in range(STEPS):
            name = f"{build}, step {step}"
            table[duty, name] = _step(plain.table[duty, build], name, mix, step, best)
            ratings[name] = min(ratings[build], ratings[mix.wider])
    names = {name for _, name in table}
    return replace(plain, table=table, rating_head_m=ratings, builds=tuple(sorted(names)))


def _step(build: Build, name: str, mix: Mix, step: int, best: bool) -> Build:
    """A build with one step of its length wider; where ``best``, cheap and wide at once."""
    least, most = mix.least_share, 1.0 - mix.least_share
    shares = [least + (most - least) * (step + end) / STEPS for end in (0, 1)]
    narrow, wide = shares if best else (shares[0], shares[0])
    cost = mix.cost_cents(narrow) - (2 * ROUNDING_CENTS if best else 0)
    if best:
        cost = min(cost, mix.cost_cents(wide) - 2 * ROUNDING_CENTS)
    return replace(
        build,
        id=name,
        cost_cents=math.floor(cost),
        loss_m=build.loss_m - wide * mix.gain_m + mix.reducer_m,
        volume_m3=build.volume_m3 + narrow * mix.extra_m3,
    )
