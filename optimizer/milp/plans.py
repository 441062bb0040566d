"""Which plan each branch is built to, and what the whole site must reach."""

from __future__ import annotations

from optimizer.milp.family import family
from optimizer.milp.modeling import Index, Model, Row, linear
from optimizer.milp.tables import Tables


def _once_if(needed: bool) -> list[Index]:
    return [()] if needed else []


@family("P1", ("branch",), lambda t: [(b,) for b in t.plans_of_branch])
def one_plan_per_branch(model: Model, tables: Tables, branch: str) -> Row:
    """Every branch is built to exactly one of its plans.

    sum(p of branch) plan[p] = 1
    """
    return linear((1, model.plan[p.id]) for p in tables.plans_of_branch[branch]) == 1


@family("P2", ("bed type",), lambda t: [(b,) for b in t.options_of_type])
def one_option_per_bed_type(model: Model, tables: Tables, bed_type: str) -> Row:
    """All built beds of one type share one option: one siphon kit and one inflow.

    sum(o of bed type) option_used[o] <= 1
    """
    return linear((1, model.option_used[o]) for o in tables.options_of_type[bed_type]) <= 1


@family("P3", ("branch", "option"), lambda t: list(t.plans_of_option))
def plan_needs_its_option(model: Model, tables: Tables, branch: str, option: str) -> Row:
    """A plan may be chosen only where its bed option is in use.

    sum(p of branch with option) plan[p] <= option_used[option]
    """
    plans = [(1, model.plan[p]) for p in tables.plans_of_option[branch, option]]
    return linear([*plans, (-1, model.option_used[option])]) <= 0


@family("P4", (), lambda t: _once_if(t.problem.requirements.beds_least > 0))
def enough_beds(model: Model, tables: Tables) -> Row:
    """The site has at least as many beds as asked for.

    sum(p) beds(p) plan[p] >= beds_least
    """
    beds = linear((p.beds, model.plan[p.id]) for p in tables.problem.plans)
    return beds >= tables.problem.requirements.beds_least


@family("P5", (), lambda t: _once_if(t.problem.requirements.area_least_m2 > 0))
def enough_area(model: Model, tables: Tables) -> Row:
    """The site has at least as much growing area as asked for.

    sum(p) area(p) plan[p] >= area_least
    """
    area = linear((p.area_m2, model.plan[p.id]) for p in tables.problem.plans)
    return area >= tables.problem.requirements.area_least_m2
