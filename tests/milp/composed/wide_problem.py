"""Random problems with rows in chains, two bed types and tight couplings (all figures invented)."""

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

LOWEST_M = 0.7
BORES_M = (0.016, 0.021, 0.027, 0.035, 0.045)
STEP_M3_S = 2e-5
OPTIONS = (
    BedOption("a2", "alder", "ka", 2),
    BedOption("a3", "alder", "kb", 3),
    BedOption("b2", "birch", "ka", 2),
    BedOption("b4", "birch", "kc", 4),
)
AREA_M2 = {"a2": 1.0, "a3": 1.0, "b2": 1.5, "b4": 1.5}
HELD_M3 = {"a2": 0.05, "a3": 0.06, "b2": 0.08, "b4": 0.07}


def wide_problem(seed: int) -> DesignProblem:
    """One to four rows of one to three beds, drained or not, as the seed says."""
    rng = random.Random(f"wide {seed}")
    rows = [f"r{n}" for n in range(rng.choice((1, 2, 3, 3, 4)))]
    beds = {r: rng.choice((1, 2, 3)) for r in rows}
    options = tuple(o for o in OPTIONS if rng.random() < 0.8) or OPTIONS[:1]
    levels = {r: LOWEST_M + rng.choice((0.0, 0.0, 0.3, 0.6)) for r in rows}
    single = len(rows) == 1
    plans = [p for r in rows for p in row_plans(rng, r, beds[r], options, levels[r], single)]
    least = {r: rng.choice((0, 1, beds[r])) for r in rows}
    plans = [p for p in plans if p.beds >= least[p.branch]]
    bands = (LevelBand("low", 0.2, 0.4), LevelBand("high", 0.4, 0.7))
    pumps = tuple(PumpOption(f"p{n}", "p", n, 3000 * n, 1.6 + 0.7 * n) for n in (1, 2, 3))
    stretches = list(tree(rng, rows, beds, options, levels, plans))
    flows = sorted({u.flow_steps for u in stretches[0].duties})
    drains = tuple(drain_tables(rng, rows, beds, plans)) if rng.random() < 0.5 else ()
    return DesignProblem(
        flow_step_m3_s=STEP_M3_S,
        options=options,
        plans=tuple(plans),
        stretches=tuple(s for s in stretches if s.duties),
        bands=bands,
        pumps=pumps,
        pump_duties=tuple(pump_duties(rng, pumps, bands, flows)),
        sumps=tuple(sumps(rng, sum(beds.values()))),
        requirements=Requirements(
            rng.randint(1, sum(beds.values())),
            rng.choice((0.0, 0.0, 1.1 * sum(beds.values()))),
            rng.choice((0.0, 1.0, 1.0)),
        ),
        lowest_outlet_m=LOWEST_M,
        drains=drains,
        fixed_cents=rng.randrange(100),
    )


def row_plans(rng, row, beds, options, level_m, single):
    yield BranchPlan(f"{row} none", row, None, 0, 0, 0, 0.0, 0.0, {})
    first = "riser" if single else f"{row} l1"
    for option in options:
        each = 900 + rng.randrange(400) + (500 if option.bed_type == "birch" else 0)
        for count in range(1, beds + 1):
            q = option.inflow_steps
            duties = {
                f"{row} l{k}": duty_id((count - k + 1) * q, count - k) for k in range(1, count + 1)
            }
            if single:
                duties[first] = duties.pop(f"{row} l1")
            duties |= {f"{row} d{k}": option.id for k in range(1, count + 1)}
            yield BranchPlan(
                f"{row} {count} {option.id}",
                row,
                option.id,
                count,
                q * count,
                count * each - (300 if count > 1 and rng.random() < 0.3 else 0),
                AREA_M2[option.id] * count,
                HELD_M3[option.id] * count,
                duties,
                lost_m3=0.005 * count,
                drain_levels_m={f"{row} n{k}": level_m - 0.35 for k in range(1, count + 1)},
            )  # fmt: skip


def duty_id(flow, beyond):
    return f"{flow} last" if beyond == 0 else str(flow)


def tree(rng, rows, beds, options, levels, plans):
    """A riser, a header with a tee for each row, laterals in a chain and drops."""
    single = len(rows) == 1
    loss = rng.uniform(0.2, 1.6)
    if not single:
        yield pipe(rng, "riser", "pump", "t0", None, shared_duties(rows, plans), loss)
        for n in range(1, len(rows) - 1):
            duties = shared_duties(rows[n:], plans)
            yield pipe(rng, f"header {n}", f"t{n - 1}", f"t{n}", None, duties, loss)
    for n, row in enumerate(rows):
        tail = "pump" if single else f"t{min(n, len(rows) - 2)}"
        for k in range(1, beds[row] + 1):
            name = "riser" if single and k == 1 else f"{row} l{k}"
            wanted = sorted({p.duties[name] for p in plans if name in p.duties})
            duties = tuple(Duty(u, int(u.split()[0])) for u in wanted)
            yield pipe(rng, name, tail, f"{row} n{k}", row, duties, loss)
            drop = f"{row} d{k}"
            carried = {p.duties[drop] for p in plans if drop in p.duties}
            drops = tuple(
                Duty(o.id, o.inflow_steps, levels[row] + (0.1 if o.bed_type == "birch" else 0.0))
                for o in options
                if o.id in carried
            )
            yield pipe(rng, drop, f"{row} n{k}", f"bed {row} {k}", row, drops, loss)
            tail = f"{row} n{k}"


def shared_duties(rows, plans):
    flows = {0}
    for row in rows:
        flows = {f + p.flow_steps for f in flows for p in plans if p.branch == row}
    return tuple(Duty(str(f), f) for f in sorted(flows) if f)


def pipe(rng, name, tail, head, branch, duties, factor):
    length_m = rng.uniform(1.0, 3.0)
    table = {}
    for u in duties:
        for n, bore_m in enumerate(BORES_M[: 3 if u.outlet_level_m is not None else 5]):
            flow = u.flow_steps * STEP_M3_S
            loss_m = factor * 10.667 * length_m * flow**1.852 / (150**1.852 * bore_m**4.871)
            if loss_m < 1.5:
                last = 40 if u.id.endswith("last") else 0
                cost = int(length_m * (60 + 40 * n * n)) + last
                drop = u.outlet_level_m is not None
                throttle_m = rng.choice((0.8, 1.6)) if drop and rng.random() < 0.1 else math.inf
                water_m3 = 0.785 * bore_m**2 * length_m
                table[u.id, f"j{n}"] = Build(f"j{n}", cost, loss_m, water_m3, throttle_m)
    builds = tuple(f"j{n}" for n in range(len(BORES_M)) if any(j == f"j{n}" for _, j in table))
    ratings = {j: 2.5 if rng.random() < 0.15 else 9.0 for j in builds}
    return StretchTable(name, tail, head, branch, duties, builds, table, ratings)


def pump_duties(rng, pumps, bands, flows):
    stiff = rng.choice((0.1, 0.6))
    for pump in pumps:
        for n, band in enumerate(bands):
            for flow in flows:
                head = pump.shut_off_m - 0.02 * flow**1.4 / pump.count + 0.25 * n
                if head > LOWEST_M:
                    authority = stiff * rng.uniform(0.5, 1.5)
                    cents = 300 * pump.count + 31 * flow
                    yield PumpDuty(pump.id, band.id, flow, head, cents, authority)


def sumps(rng, beds):
    room = rng.choice((0.0008, 0.002, 0.01))
    for n in (1, 2, 3):
        for band in ("low", "high"):
            yield SumpOption(
                f"k{n} {band}", "tank", n, band, 800 * n + rng.randrange(300),
                0.04 * beds * n, room * n * beds * rng.uniform(0.4, 1.0),
                0.1 * rng.choice((1, 2, 3)),
            )  # fmt: skip


def drain_tables(rng, rows, beds, plans):
    """The supply's tree walked backward."""
    single = len(rows) == 1
    burst = {"a2": 2e-4, "a3": 3e-4, "b2": 3e-4, "b4": 4e-4}

    def sent(inside, beyond):
        found = {p.id: max(0, p.beds - beyond) * burst.get(p.option, 0.0) for p in inside}
        return {p: q for p, q in found.items() if q}

    if not single:
        yield DrainTable("back riser", "t0", "sump", drain_builds(rng), sent(plans, 0))
        for n in range(1, len(rows) - 1):
            inside = [p for p in plans if p.branch in rows[n:]]
            yield DrainTable(f"back {n}", f"t{n}", f"t{n - 1}", drain_builds(rng), sent(inside, 0))
    for n, row in enumerate(rows):
        lower = "sump" if single else f"t{min(n, len(rows) - 2)}"
        inside = [p for p in plans if p.branch == row]
        for k in range(1, beds[row] + 1):
            through = sent(inside, k - 1)
            if through:
                yield DrainTable(
                    f"back {row} {k}", f"{row} n{k}", lower, drain_builds(rng), through
                )
            lower = f"{row} n{k}"


def drain_builds(rng):
    length_m = rng.uniform(1.0, 3.0)
    return tuple(
        DrainBuild(
            f"d{n} {slope}",
            int(length_m * (50 + 45 * n)) + 3,
            (3.2e-4 * (n + 1) ** 2.2) * slope**0.5,
            0.012 * slope * length_m,
            0.03 + 0.015 * n,
        )
        for n in range(4)
        for slope in (1, 2, 4)
    )
