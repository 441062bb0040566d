"""Which total flows a stretch shared by several rows can carry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import product

from optimizer.records.problem import BedOption, BranchPlan


def reachable_flows(
    branches: Sequence[str],
    plans: Sequence[BranchPlan],
    options: Sequence[BedOption],
    beds_least: int,
) -> tuple[int, ...]:
    """Return every total flow (in steps, above 0) that the branches together can ask.

    Each bed type uses one option over the whole site, so sums are formed for each way to pick an
    option per type. A total that leaves the site short of beds, even with every other row full,
    is left out.

    Args:
        branches: the branches served.
        plans: all plans of the site.
        options: all bed options.
        beds_least: least number of beds on the site.
    """
    inside = set(branches)
    most_elsewhere = sum(
        max(p.beds for p in plans if p.branch == branch)
        for branch in {p.branch for p in plans} - inside
    )
    needed = beds_least - most_elsewhere
    flows: set[int] = set()
    for picked in _one_option_per_type(options):
        totals = {0: 0}
        for branch in branches:
            steps = _steps(plans, branch, picked)
            totals = _sums(totals, steps)
        flows.update(flow for flow, beds in totals.items() if beds >= needed and flow > 0)
    return tuple(sorted(flows))


def _one_option_per_type(options: Sequence[BedOption]) -> Iterable[frozenset[str]]:
    by_type: dict[str, list[str]] = {}
    for option in options:
        by_type.setdefault(option.bed_type, []).append(option.id)
    return (frozenset(pick) for pick in product(*by_type.values()))


def _steps(plans: Sequence[BranchPlan], branch: str, picked: frozenset[str]) -> Mapping[int, int]:
    """Return flow to the most beds a branch can have at that flow."""
    steps: dict[int, int] = {}
    for plan in plans:
        if plan.branch == branch and (plan.option is None or plan.option in picked):
            steps[plan.flow_steps] = max(plan.beds, steps.get(plan.flow_steps, 0))
    return steps


def _sums(totals: Mapping[int, int], steps: Mapping[int, int]) -> dict[int, int]:
    sums: dict[int, int] = {}
    for (flow, beds), (more, extra) in product(totals.items(), steps.items()):
        key = flow + more
        sums[key] = max(beds + extra, sums.get(key, 0))
    return sums
