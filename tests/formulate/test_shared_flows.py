"""Flows of shared stretches against a plain product over the plans of every row."""

from __future__ import annotations

from itertools import product
from random import Random

import pytest

from optimizer.formulate.shared_flows import reachable_flows
from optimizer.records.problem import BedOption, BranchPlan


def random_plans(random: Random) -> tuple[list[BedOption], list[BranchPlan]]:
    options = [
        BedOption(f"{kind}{i}", kind, f"kit {i}", random.randint(3, 9))
        for kind in ("broad", "slim")
        for i in range(random.randint(1, 2))
    ]
    plans: list[BranchPlan] = []
    for branch in "ABCD"[: random.randint(2, 4)]:
        if random.random() < 0.5:
            plans.append(BranchPlan(f"{branch} empty", branch, None, 0, 0, 0, 0.0, 0.0, {}))
        for option in options:
            for beds in range(1, random.randint(2, 4)):
                flow = beds * option.inflow_steps
                name = f"{branch} {beds} {option.id}"
                plans.append(BranchPlan(name, branch, option.id, beds, flow, 0, 0.0, 0.0, {}))
    return options, plans


def every_flow(branches, plans, options, beds_least: int) -> set[int]:
    """Every way to build the whole site with one option for each type, tried in turn."""
    kinds = {o.id: o.bed_type for o in options}
    names = sorted({p.branch for p in plans})
    flows = set()
    for chosen in product(*([p for p in plans if p.branch == name] for name in names)):
        used = {p.option for p in chosen if p.option}
        if len({kinds[o] for o in used}) < len(used):
            continue
        if sum(p.beds for p in chosen) >= beds_least:
            flows.add(sum(p.flow_steps for p in chosen if p.branch in branches))
    return flows - {0}


@pytest.mark.parametrize("seed", range(40))
def test_no_flow_that_some_choice_of_plans_asks_is_left_out(seed):
    random = Random(seed)
    options, plans = random_plans(random)
    branches = sorted({p.branch for p in plans})[:-1]
    room = sum(max(p.beds for p in plans if p.branch == b) for b in {p.branch for p in plans})
    for beds_least in (0, room // 2, room):
        found = reachable_flows(branches, plans, options, beds_least)
        assert every_flow(branches, plans, options, beds_least) <= set(found)


@pytest.mark.parametrize("seed", range(40))
def test_where_no_least_number_of_beds_is_asked_no_flow_is_listed_that_nothing_asks(seed):
    options, plans = random_plans(Random(seed))
    branches = sorted({p.branch for p in plans})
    assert set(reachable_flows(branches, plans, options, 0)) == every_flow(
        branches, plans, options, 0
    )


def test_flows_that_leave_the_site_short_of_beds_are_left_out():
    # Rows A and B of up to 2 beds at 5 steps; with 3 beds asked for, a stretch to A alone carries
    # 1 or 2 beds, never none: 5 or 10 steps. Asked for 4, it carries 2.
    options = [BedOption("o", "t", "k", 5)]
    plans = [
        BranchPlan(f"{b}{n}", b, "o" if n else None, n, 5 * n, 0, 0.0, 0.0, {})
        for b in "AB"
        for n in range(3)
    ]
    assert reachable_flows(["A"], plans, options, 3) == (5, 10)
    assert reachable_flows(["A"], plans, options, 4) == (10,)


def test_flows_rise_and_none_is_0():
    options, plans = random_plans(Random(1))
    flows = reachable_flows(["A", "B"], plans, options, 0)
    assert list(flows) == sorted(set(flows))
    assert flows[0] > 0
