"""What ties choices across the site together: money to buy with, sizes of pipe, pipe in stock."""

from __future__ import annotations

from optimizer.milp.family import family
from optimizer.milp.modeling import Index, Model, Row, Term, linear
from optimizer.milp.tables import Tables


def capital_terms(model: Model, tables: Tables) -> list[Term]:
    """What is paid at first: everything bought, without replacements, energy and fixed cost."""
    problem = tables.problem
    terms: list[Term] = [(p.cost_cents, model.plan[p.id]) for p in problem.plans]
    builds = tables.build.items()
    terms += [(b.cost_cents - b.later_cents, model.build[key]) for key, b in builds]
    terms += [(p.cost_cents - p.later_cents, model.pump[p.id]) for p in problem.pumps]
    terms += [(k.cost_cents, model.sump[k.id]) for k in problem.sumps]
    terms += [(b.cost_cents, model.drain[s.id, b.id]) for s in problem.drains for b in s.builds]
    terms += [(-1, model.saved[each.pipe]) for each in problem.stock]
    return terms


@family("B1", (), lambda t: [()] if t.problem.requirements.budget_cents is not None else [])
def capital_is_within_the_budget(model: Model, tables: Tables) -> Row:
    """Everything bought at first costs no more than the budget.

    sum(p) cost(p) plan[p] + sum(s, u, j) (cost(u, j) - later(u, j)) build[s, u, j]
        + sum(p) (cost(p) - later(p)) pump[p] + sum(k) cost(k) sump[k]
        + sum(s, j) cost(j) drain[s, j] - sum(z) saved[z] + fixed <= budget
    """
    budget = tables.problem.requirements.budget_cents or 0
    return linear(capital_terms(model, tables)) <= budget - tables.problem.fixed_cents


def _sized_builds(tables: Tables) -> list[Index]:
    return [key for key in tables.stretch_builds if tables.sizes and tables.pipe_of_build.get(key)]


def _sized_drains(tables: Tables) -> list[Index]:
    if not tables.sizes:
        return []
    return [(s.id, b.id) for s in tables.problem.drains for b in s.builds if b.pipe]


@family("B2", ("stretch", "build of pipe laid anew"), _sized_builds)
def build_needs_its_size(model: Model, tables: Tables, stretch: str, build: str) -> Row:
    """A stretch may be laid in a size of pipe only where that size is in use.

    sum(u that may use j) build[s, u, j] <= size_used[size of j]
    """
    duties = tables.duties_of_build[stretch, build]
    size = tables.pipe_of_build[stretch, build]
    laid = [(1, model.build[stretch, u, build]) for u in duties]
    return linear([*laid, (-1, model.size_used[size])]) <= 0


@family("B3", ("drain", "build"), _sized_drains)
def drain_needs_its_size(model: Model, tables: Tables, drain: str, build: str) -> Row:
    """Return pipe may be laid in a size only where that size is in use.

    drain[s, j] <= size_used[size of j]
    """
    size = next(b.pipe for b in tables.drain[drain].builds if b.id == build)
    return linear([(1, model.drain[drain, build]), (-1, model.size_used[size])]) <= 0


def _piped_pumps(tables: Tables) -> list[Index]:
    if not tables.sizes:
        return []
    return [(p.id, size) for p in tables.problem.pumps for size in p.pipe_cents]


@family("B7", ("pump", "size laid with it"), _piped_pumps)
def pump_needs_its_sizes(model: Model, tables: Tables, pump: str, size: str) -> Row:
    """A pump may be bought with its pipe to a tank only where the sizes of that pipe are in use.

    pump[p] <= size_used[z]
    """
    return linear([(1, model.pump[pump]), (-1, model.size_used[size])]) <= 0


@family("B4", (), lambda t: [()] if t.sizes else [])
def few_sizes_are_laid(model: Model, tables: Tables) -> Row:
    """No more sizes of pipe are in use than may be.

    sum(z) size_used[z] <= pipe_sizes_most
    """
    most = tables.problem.requirements.pipe_sizes_most or 0
    return linear((1, model.size_used[size]) for size in tables.sizes) <= most


@family("B5", ("size in stock",), lambda t: [(each.pipe,) for each in t.problem.stock])
def stock_saves_its_worth(model: Model, tables: Tables, size: str) -> Row:
    """Pipe lying ready saves no more than its metres are worth.

    saved[z] <= worth(z)
    """
    worth = next(each.worth_cents for each in tables.problem.stock if each.pipe == size)
    return linear([(1, model.saved[size])]) <= worth


@family("B6", ("size in stock",), lambda t: [(each.pipe,) for each in t.problem.stock])
def stock_saves_what_is_laid(model: Model, tables: Tables, size: str) -> Row:
    """Pipe lying ready saves no more than the pipe laid in its size would cost.

    saved[z] <= sum(s, u, j of size z) pipe(u, j) build[s, u, j]
        + sum(s, j of size z) pipe(j) drain[s, j] + sum(p) pipe(p, z) pump[p]
    """
    terms: list[Term] = [(1, model.saved[size])]
    terms += [(-b.pipe_cents, model.build[k]) for k, b in tables.build.items() if b.pipe == size]
    terms += [
        (-b.pipe_cents, model.drain[s.id, b.id])
        for s in tables.problem.drains
        for b in s.builds
        if b.pipe == size
    ]
    with_pump = [(p.pipe_cents.get(size, 0), p.id) for p in tables.problem.pumps]
    terms += [(-cents, model.pump[p]) for cents, p in with_pump if cents]
    return linear(terms) <= 0
