"""Random tiny design problems, feasible and not, from a seed (all figures invented)."""

import math
import random

from optimizer.records.problem import (
    BedOption,
    BranchPlan,
    Build,
    DesignProblem,
    Duty,
    LevelBand,
    PumpDuty,
    PumpOption,
    StretchTable,
    SumpOption,
)
from optimizer.records.problem_drains import DrainBuild, DrainTable
from optimizer.records.requirements import Requirements

LOWEST_M = 0.8
SIZES = ("d20", "d25", "d32")


def random_problem(seed: int) -> DesignProblem:
    """Two or three branches of up to two beds on a riser and perhaps a header."""
    rng = random.Random(seed)
    branches = ["A", "B", "C"][: rng.choice((2, 2, 3))]
    options = (BedOption("slow", "tub", "k1", 2), BedOption("fast", "tub", "k2", 3))
    levels = {b: LOWEST_M + rng.choice((0.0, 0.25, 0.5)) for b in branches}
    plans = [p for b in branches for p in branch_plans(rng, b, options, levels[b])]
    stretches = tree(rng, branches, levels, plans)
    bands = (LevelBand("low", 0.2, 0.4), LevelBand("high", 0.4, 0.7))
    pumps = (PumpOption("p1", "p", 1, 4000, 1.9), PumpOption("p2", "p", 2, 8000, 3.2))
    return DesignProblem(
        flow_step_m3_s=1e-5,
        options=options,
        plans=tuple(plans),
        stretches=tuple(stretches),
        bands=bands,
        pumps=pumps,
        pump_duties=tuple(pump_duties(rng, pumps, bands)),
        sumps=sumps(rng),
        requirements=Requirements(
            rng.choice((1, 2, 3, 4, 5)), rng.choice((0.0, 1.5, 3.5)), rng.choice((0.0, 1.0))
        ),
        lowest_outlet_m=LOWEST_M,
        drains=tuple(drains(rng, branches, plans)) if seed % 2 else (),
        fixed_cents=rng.randrange(500),
    )


def branch_plans(rng, branch, options, level_m):
    yield BranchPlan(f"{branch}0", branch, None, 0, 0, 0, 0.0, 0.0, {})
    for option in options:
        for beds in (1, 2):
            flow = beds * option.inflow_steps
            duties = {f"drop_{branch}{k}": option.id for k in range(1, beds + 1)}
            duties[f"lateral_{branch}"] = f"f{flow}"
            yield BranchPlan(
                f"{branch}{option.id}{beds}",
                branch,
                option.id,
                beds,
                flow,
                beds * (1000 + rng.randrange(300)),
                beds * 1.2,
                beds * 0.08,
                duties,
                lost_m3=beds * rng.choice((0.0, 0.01)),
                drain_levels_m={f"under_{branch}": level_m - 0.1},
            )


def tree(rng, branches, levels, plans):
    """Riser to a tee; where there are three branches, two of them share a header."""
    most = {b: max(p.flow_steps for p in plans if p.branch == b) for b in branches}
    yield shared(rng, "riser", "pump", "tee", sum(most.values()))
    inlets = dict.fromkeys(branches, "tee")
    if len(branches) == 3:
        yield shared(rng, "header", "tee", "end", most["B"] + most["C"])
        inlets.update(B="end", C="end")
    for b in branches:
        flows = sorted({p.flow_steps for p in plans if p.branch == b and p.flow_steps})
        duties = [Duty(f"f{f}", f) for f in flows]
        yield stretch(rng, f"lateral_{b}", inlets[b], f"row_{b}", b, duties, SIZES[:2])
        for k in (1, 2):
            drop = [Duty("slow", 2, levels[b]), Duty("fast", 3, levels[b] + rng.choice((0, 0.1)))]
            yield stretch(rng, f"drop_{b}{k}", f"row_{b}", f"bed_{b}{k}", b, drop, SIZES[:2])


def shared(rng, name, tail, head, most):
    duties = [Duty(f"t{f}", f) for f in range(1, most + 1) if rng.random() < 0.9]
    return stretch(rng, name, tail, head, None, duties or [Duty("t2", 2)], SIZES)


def stretch(rng, name, tail, head, branch, duties, sizes):
    factor = rng.uniform(0.005, 0.06)
    table = {
        (u.id, j): Build(
            j,
            100 * (n + 1) + rng.randrange(60),
            factor * u.flow_steps**1.8 / (n + 1) ** 4,
            0.004 * (n + 1),
            rng.choice((1.0, 3.0))
            if u.outlet_level_m is not None and rng.random() < 0.2
            else math.inf,
        )
        for u in duties
        for n, j in enumerate(sizes)
        if rng.random() < 0.93
    }
    ratings = {j: rng.choice((3.0, 6.0)) if rng.random() < 0.3 else 6.0 for j in sizes}
    return StretchTable(name, tail, head, branch, tuple(duties), tuple(sizes), table, ratings)


def pump_duties(rng, pumps, bands):
    for pump in pumps:
        for n, band in enumerate(bands):
            for flow in range(2, 19):
                if rng.random() < 0.85:
                    head = (pump.shut_off_m - 0.01 * flow**1.7 / pump.count**1.7) * 0.9 + 0.2 * n
                    yield PumpDuty(
                        pump.id,
                        band.id,
                        flow,
                        head,
                        200 * pump.count + 20 * flow,
                        rng.uniform(0.1, 1.5),
                    )


def sumps(rng):
    return tuple(
        SumpOption(
            f"k{n}{band}",
            "tank",
            n,
            band,
            1500 * n + rng.randrange(200),
            0.12 * n * rng.choice((1.0, 1.5)),
            0.02 * n * rng.choice((1.0, 3.0)),
            rng.choice((0.3, 0.5, 0.65)),
        )
        for n in (1, 2)
        for band in ("low", "high")
    )


def drains(rng, branches, plans):
    """A main to the sump and a pipe to it from under every branch."""
    bursts = {b: {p.id: 5e-4 * p.beds for p in plans if p.branch == b and p.beds} for b in branches}
    together = {plan: burst for found in bursts.values() for plan, burst in found.items()}
    yield DrainTable("main", "join", "sump", drain_builds(rng), together)
    for b in branches:
        yield DrainTable(f"from_{b}", f"under_{b}", "join", drain_builds(rng), bursts[b])


def drain_builds(rng):
    sizes = (("d50", 8e-4, 0.05), ("d75", 2e-3, 0.07), ("d110", 4e-3, 0.1))
    return tuple(
        DrainBuild(j, 150 * (n + 1) + rng.randrange(90), capacity, rng.uniform(0.03, 0.12), crown)
        for n, (j, capacity, crown) in enumerate(sizes)
    )
