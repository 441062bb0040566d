"""Random problems whose return pipe may be sized by other counts (all figures invented)."""

import math
import random
from dataclasses import replace

SQUEEZED = 0.55
"""Share of its capacity that a build keeps, so that it often does not hold all bursts."""


def random_counts(seed, make):
    """The first problem with return pipe from a seed on, its bursts counted in two more ways.

    As where one method counts all of them, a bed counts alike on every stretch. The second of the
    other ways covers only some bed options.
    """
    problem = next(found for n in range(seed, seed + 90) if (found := make(n)).drains)
    rng = random.Random(f"counts {seed}")
    options = [option.id for option in problem.options]
    covered = (options, rng.sample(options, rng.randint(1, len(options))))

    def credited(build):
        served = tuple(rng.randint(0, 6) for _ in covered)
        return replace(build, capacity_m3_s=SQUEEZED * build.capacity_m3_s, credited_beds=served)

    def counted(drain):
        loads = tuple(
            {
                plan.id: float(beds) if plan.option in some else math.inf
                for plan, beds in beds_through(problem, drain)
            }
            for some in covered
        )
        builds = tuple(credited(build) for build in drain.builds)
        return replace(drain, builds=builds, otherwise_beds=loads)

    return replace(problem, drains=tuple(counted(drain) for drain in problem.drains))


def beds_through(problem, drain):
    """(Plan, how many of its beds drain through a stretch), where some do."""
    for plan in problem.plans:
        if plan.id in drain.bursts_m3_s:
            alike = [p for p in problem.plans if p.option == plan.option and p.beds]
            one = max(d.bursts_m3_s.get(p.id, 0.0) / p.beds for d in problem.drains for p in alike)
            yield plan, round(drain.bursts_m3_s[plan.id] / one)
