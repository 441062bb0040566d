"""A site large enough that a full proof takes longer than a test may (all figures invented)."""

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
from optimizer.records.requirements import Requirements

BORES_M = (0.015, 0.02, 0.026, 0.035, 0.041, 0.052, 0.063)
STEP_M3_S = 2e-5
INFLOWS = (3,)


def hard_problem(rows: int = 8, beds: int = 6, seed: int = 5) -> DesignProblem:
    """Rows of beds on one header, with one bed option and three pumps."""
    rng = random.Random(seed)
    options = tuple(BedOption(f"o{q}", "tub", f"k{q}", q) for q in INFLOWS)
    most = rows * beds * max(INFLOWS)
    return DesignProblem(
        flow_step_m3_s=STEP_M3_S,
        options=options,
        plans=tuple(p for r in range(rows) for p in row_plans(rng, r, beds)),
        stretches=tuple(tree(rng, rows, beds)),
        bands=(LevelBand("low", 0.2, 0.5),),
        pumps=tuple(PumpOption(f"p{n}", "p", n, 9000 * n, 3.0 + n) for n in (1, 2, 3)),
        pump_duties=tuple(
            PumpDuty(f"p{n}", "low", f, 3.0 + n - f / most, 40 * f + 900 * n, 0.2)
            for n in (1, 2, 3)
            for f in range(3, most + 1, 3)
        ),
        sumps=(SumpOption("k", "k", 1, "low", 20000, 1e3, 1e3),),
        requirements=Requirements(int(rows * beds * 0.7), 0.0, 0.5),
        lowest_outlet_m=1.0,
    )


def row_plans(rng, row, beds):
    name = f"row{row}"
    yield BranchPlan(f"{name}_0", name, None, 0, 0, 0, 0.0, 0.0, {})
    each = 3000 + rng.randrange(700)
    for q in INFLOWS:
        for count in range(1, beds + 1):
            duties = {f"{name}_l{k}": f"f{(count - k) * q}" for k in range(count)}
            duties |= {f"{name}_d{k}": f"q{q}" for k in range(count)}
            yield BranchPlan(
                f"{name}_{q}_{count}",
                name,
                f"o{q}",
                count,
                q * count,
                count * (each + 100 * q),
                1.2 * count,
                0.08 * count,
                duties,
            )


def tree(rng, rows, beds):
    """A header with one tee for each row, laterals and drops."""
    for r in range(rows):
        tail = "pump" if r == 0 else f"tee{r - 1}"
        flows = range(3, (rows - r) * beds * max(INFLOWS) + 1, 3)
        duties = tuple(Duty(f"t{f}", f) for f in flows)
        yield pipe(rng, f"header{r}", tail, f"tee{r}", None, duties)
        for k in range(beds):
            above = f"tee{r}" if k == 0 else f"row{r}_n{k - 1}"
            flows = sorted({q * n for q in INFLOWS for n in range(1, beds - k + 1)})
            lateral = tuple(Duty(f"f{f}", f) for f in flows)
            yield pipe(rng, f"row{r}_l{k}", above, f"row{r}_n{k}", f"row{r}", lateral)
            drop = tuple(Duty(f"q{q}", q, 1.0 + 0.02 * r) for q in INFLOWS)
            yield pipe(rng, f"row{r}_d{k}", f"row{r}_n{k}", f"row{r}_b{k}", f"row{r}", drop)


def pipe(rng, name, tail, head, branch, duties):
    length_m = rng.uniform(1.5, 4.0)
    table = {}
    for u in duties:
        for n, bore_m in enumerate(BORES_M):
            flow = u.flow_steps * STEP_M3_S
            loss_m = 10.667 * length_m * flow**1.852 / (150**1.852 * bore_m**4.871)
            if loss_m < 3.0:
                j = f"j{n}"
                table[u.id, j] = Build(j, int(length_m * (90 + 70 * n * n)), loss_m, 1e-3)
    builds = tuple(f"j{n}" for n in range(len(BORES_M)))
    return StretchTable(
        name, tail, head, branch, duties, builds, table, dict.fromkeys(builds, 50.0)
    )
