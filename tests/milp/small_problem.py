"""A site of two beds as ten lines of tables, small enough to argue about by hand (invented)."""

import math
from dataclasses import replace

from optimizer.records.mixes import Mix
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
    ZoneTable,
)
from optimizer.records.problem_drains import DrainBuild, DrainTable
from optimizer.records.requirements import PipeStock, Requirements, Stays

OPTIONS = (BedOption("slow", "tub", "kit1", 2), BedOption("fast", "tub", "kit2", 4))
PLANS = (
    BranchPlan("a0", "A", None, 0, 0, 0, 0.0, 0.0, {}),
    BranchPlan("a1", "A", "slow", 1, 2, 1000, 1.0, 0.1, {"drop_a": "u2"}),
    BranchPlan("b0", "B", None, 0, 0, 0, 0.0, 0.0, {}),
    BranchPlan("b1", "B", "slow", 1, 2, 1000, 1.0, 0.1, {"drop_b": "u2"}),
    BranchPlan("b2", "B", "fast", 1, 4, 1100, 1.0, 0.1, {"drop_b": "u4"}),
)
RISER = StretchTable(
    "riser",
    "pump",
    "tee",
    None,
    (Duty("t2", 2), Duty("t4", 4)),
    ("thin", "thick"),
    {
        ("t2", "thin"): Build("thin", 100, 0.2, 0.01),
        ("t2", "thick"): Build("thick", 200, 0.1, 0.02),
        ("t4", "thin"): Build("thin", 100, 0.8, 0.01),
        ("t4", "thick"): Build("thick", 200, 0.4, 0.02),
    },
    {"thin": 10.0, "thick": 16.0},
)
DROP_A = StretchTable(
    "drop_a",
    "tee",
    "bed_a",
    "A",
    (Duty("u2", 2, 1.0),),
    ("thin",),
    {("u2", "thin"): Build("thin", 50, 0.1, 0.001)},
    {"thin": 16.0},
)
DROP_B = StretchTable(
    "drop_b",
    "tee",
    "bed_b",
    "B",
    (Duty("u2", 2, 1.2), Duty("u4", 4, 1.2)),
    ("thin",),
    {
        ("u2", "thin"): Build("thin", 50, 0.1, 0.001, 6.0),
        ("u4", "thin"): Build("thin", 50, 0.3, 0.001),
    },
    {"thin": 16.0},
)
PUMPS = (PumpOption("small", "small", 1, 5000, 3.0), PumpOption("big", "big", 1, 9000, 12.0))
PUMP_DUTIES = (
    PumpDuty("small", "low", 2, 2.5, 300, 0.1),
    PumpDuty("small", "low", 4, 1.8, 400, 0.2),
    PumpDuty("big", "high", 4, 9.0, 900, 0.5),
)
SUMPS = (
    SumpOption("tank", "tank", 1, "low", 2000, 0.30, 0.05),
    SumpOption("pair", "tank", 2, "high", 4000, 0.60, 0.10),
)

PROBLEM = DesignProblem(
    flow_step_m3_s=1e-5,
    options=OPTIONS,
    plans=PLANS,
    stretches=(RISER, DROP_A, DROP_B),
    bands=(LevelBand("low", 0.2, 0.5), LevelBand("high", 0.5, 0.8)),
    pumps=PUMPS,
    pump_duties=PUMP_DUTIES,
    sumps=SUMPS,
    requirements=Requirements(beds_least=2, area_least_m2=1.5, drain_back_share=0.5),
    lowest_outlet_m=1.0,
    fixed_cents=7,
)


def small_problem(**changes) -> DesignProblem:
    """The site with some tables changed."""
    return replace(PROBLEM, **changes)


NARROW = DrainBuild("narrow", 80, 0.001, 0.05, 0.05)
WIDE = DrainBuild("wide", 130, 0.003, 0.03, 0.07)
DRAINS = (
    DrainTable("main", "join", "sump", (NARROW, WIDE), {"a1": 0.0008, "b1": 0.0008, "b2": 0.0008}),
    DrainTable("from_a", "under_a", "join", (NARROW,), {"a1": 0.0008}),
    DrainTable("from_b", "under_b", "join", (NARROW,), {"b1": 0.0008, "b2": 0.0008}),
)
UNDER = {"a1": {"under_a": 0.9}, "b1": {"under_b": 1.1}, "b2": {"under_b": 1.1}}

DRAINED = replace(
    PROBLEM,
    plans=tuple(replace(p, drain_levels_m=UNDER.get(p.id, {})) for p in PLANS),
    sumps=tuple(replace(k, top_m=0.6) for k in SUMPS),
    drains=DRAINS,
)

COUNTED = replace(
    DRAINED,
    drains=(
        replace(
            DRAINS[0],
            builds=(
                replace(NARROW, credited_beds=(2,)),
                replace(WIDE, credited_beds=(5,)),
            ),
            otherwise_beds=({"a1": 1.0, "b1": 1.0, "b2": math.inf},),
        ),
        *DRAINS[1:],
    ),
)
"""The site with return pipe; above its main slow beds may be counted instead of their bursts."""

PIPE_OF = {"thin": ("p20", 60), "thick": ("p25", 140), "narrow": ("p50", 50), "wide": ("p75", 90)}
"""Build to its size of pipe and to what of its cost is pipe by the metre."""


def _in_its_pipe(made):
    pipe, pipe_cents = PIPE_OF[made.id]
    return replace(made, pipe=pipe, pipe_cents=min(pipe_cents, made.cost_cents))


def tied(problem: DesignProblem, **asked) -> DesignProblem:
    """A problem whose builds are of named sizes; ``asked`` changes its requirements or stock."""
    stock = asked.pop("stock", ())
    return replace(
        problem,
        stretches=tuple(
            replace(s, table={k: _in_its_pipe(b) for k, b in s.table.items()})
            for s in problem.stretches
        ),
        drains=tuple(
            replace(d, builds=tuple(_in_its_pipe(b) for b in d.builds)) for d in problem.drains
        ),
        requirements=replace(problem.requirements, **asked),
        stock=stock,
    )


TIED = tied(
    replace(
        DRAINED,
        pumps=(
            replace(PUMPS[0], later_cents=500),
            replace(PUMPS[1], later_cents=500, pipe_cents={"p25": 30, "p75": 60}, loud_hours=18.0),
        ),
    ),
    budget_cents=12_000,
    pipe_sizes_most=3,
    loud_hours_most=18.0,
    stock=(PipeStock("p25", 100), PipeStock("p75", 1000)),
)
THIN_TO_THICK = Mix(
    wider="thick",
    length_m=10.0,
    prices_per_m=(0.05, 0.15),
    laying_per_m=0.0,
    parts_cents=60,
    friction_m=0.3,
    gain_m=0.4,
    reducer_m=0.02,
    extra_m3=0.01,
    least_share=0.1,
)
"""The riser of 10 m: thin costs 50 cents and fittings of 50, thick 1 EUR more; a reducer 10."""

MIXED = replace(
    DRAINED,
    stretches=(replace(RISER, mixes={("t4", "thin"): THIN_TO_THICK}), DROP_A, DROP_B),
)
"""The site with return pipe, its riser in one size or two."""

EARLIER = (
    Stays("option", "tub", ("slow",)),
    Stays("stretch", "riser", ("thin",)),
    Stays("drain", "main", ("narrow",)),
    Stays("pump", "", ("small",)),
    Stays("sump", "", ("tank",)),
)
"""What an earlier answer changed: of all this something must stay."""

EVERYTHING = replace(
    TIED,
    requirements=replace(TIED.requirements, unlike=(EARLIER,)),
    stretches=(
        replace(TIED.stretches[0], mixes={("t4", "thin"): THIN_TO_THICK}),
        *TIED.stretches[1:],
    ),
)
"""Every family's rows at once: side conditions, return pipe, a riser in two sizes."""

IN_TURN = replace(PROBLEM, zones=(ZoneTable("first", ("A",)), ZoneTable("second", ("B",), 2)))
"""The site with its two branches in zones of their own: the riser carries one of them at a time."""
