"""Random designs, assembled but not optimal: any size on any stretch, any plan in any row.

An optimum seldom has two sizes meet in an odd way; these do. Heads do not fit, so they are for the
parts list and its drawings, never for the check.
"""

from __future__ import annotations

import math
from random import Random

from optimizer.candidates.network import candidate_network
from optimizer.errors import Infeasible
from optimizer.formulate.assemble import assemble
from optimizer.formulate.build import Formulation, formulate
from optimizer.records.choice import Choice, SolveRecord
from optimizer.records.design import Design
from optimizer.records.network import CandidateNetwork
from optimizer.records.parts import Catalog
from optimizer.records.problem import BranchPlan
from optimizer.records.site import Site
from tests.builders.random_site import random_site

RECORD = SolveRecord("random", "stopped", 0, 0.0, 0.0)


def random_assemblies(
    seed: int, count: int, beds_most: int = 8
) -> tuple[Site, Catalog, list[Design]]:
    """The first random site from ``seed`` on that has any design, with random ones of it."""
    for k in range(40):
        site, catalog = random_site(1000 * seed + k, beds_most)
        network = candidate_network(site)
        try:
            made = formulate(site, catalog, network)
        except Infeasible:
            continue
        dice = Random(f"choice {seed}")
        choices = [_random_choice(dice, network, made) for _ in range(count)]
        designs = [assemble(site, catalog, network, made, c) for c in choices if c is not None]
        if len(designs) == count:
            return site, catalog, designs
    raise AssertionError(f"no site came up for seed {seed}")


def _random_choice(dice: Random, network: CandidateNetwork, made: Formulation) -> Choice | None:
    """A random choice, or None where no pump or pipe happens to fit one."""
    for _ in range(30):
        plans = _random_plans(dice, made)
        steps = sum(plan.flow_steps for plan in plans.values())
        duties = [d for d in made.problem.pump_duties if d.flow_steps == steps]
        builds = _random_builds(dice, made, plans) if duties else None
        if builds is None:
            continue
        duty = dice.choice(duties)
        sumps = [s for s in made.problem.sumps if s.band == duty.band]
        if not sumps:
            continue
        drains = {
            table.id: dice.choice(table.builds).id
            for table in made.problem.drains
            if any(table.bursts_m3_s.get(plan.id) for plan in plans.values())
        }
        inverts = {t.upper: 1.0 for t in made.problem.drains} | {"sump": 0.5}
        return Choice(
            plans={branch: plan.id for branch, plan in plans.items()},
            builds=builds,
            heads_m={},
            pump=duty.pump,
            sump=dice.choice(sumps).id,
            band=duty.band,
            record=RECORD,
            drains=drains,
            inverts_m=inverts,
        )
    return None


def _random_plans(dice: Random, made: Formulation) -> dict[str, BranchPlan]:
    """One plan for every branch; all beds of one type share one option."""
    options: dict[str, str] = {}
    for option in dice.sample(made.problem.options, len(made.problem.options)):
        options[option.bed_type] = option.id
    by_branch: dict[str, list[BranchPlan]] = {}
    for plan in made.problem.plans:
        if plan.option is None or plan.option in options.values():
            by_branch.setdefault(plan.branch, []).append(plan)
    return {branch: dice.choice(plans) for branch, plans in by_branch.items()}


def _random_builds(
    dice: Random, made: Formulation, plans: dict[str, BranchPlan]
) -> dict[str, tuple[str, str]] | None:
    """Any way to build every stretch that carries water; None where one has no way."""
    duties = {s: d for plan in plans.values() for s, d in plan.duties.items()}
    builds: dict[str, tuple[str, str]] = {}
    flow_below: dict[str, int] = {}
    for table in reversed(made.problem.stretches):
        if table.id in duties:
            duty = duties[table.id]
        elif table.branch is None and flow_below.get(table.head):
            duty = str(flow_below[table.head])
        else:
            continue
        flow = next((d.flow_steps for d in table.duties if d.id == duty), 0)
        flow_below[table.tail] = flow_below.get(table.tail, 0) + flow
        ways = [way for way in table.builds if (duty, way) in table.table]
        if not ways:
            return None
        builds[table.id] = (duty, dice.choice(ways))
    if not builds or not math.isfinite(sum(flow_below.values())):
        return None
    return builds
