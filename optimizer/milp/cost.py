"""What is minimised: everything bought and the present worth of what running costs."""

from __future__ import annotations

from optimizer.milp.modeling import Model, Row, Term, linear
from optimizer.milp.tables import Tables

IN_WORDS = """Least cost in cents: beds, supply and return pipe, pump, sump, present worth of
energy, and what no decision moves, less what pipe lying ready saves.

```
sum(p) cost(p) plan[p] + sum(s, u, j) cost(u, j) build[s, u, j] + sum(p) cost(p) pump[p]
    + sum(s, u, j) (step(u, j) two[s, u, j] + slope(u, j) wide[s, u, j])
    + sum(p, w, f) running(p, w, f) pump_duty[p, w, f] + sum(k) cost(k) sump[k]
    + sum(s, j) cost(j) drain[s, j] - sum(z) saved[z] + fixed
```"""


def total_cost(model: Model, tables: Tables) -> Row:
    """The cost of a design in cents, as one linear expression."""
    problem = tables.problem
    terms: list[Term] = [(p.cost_cents, model.plan[p.id]) for p in problem.plans]
    terms += [(b.cost_cents, model.build[key]) for key, b in tables.build.items()]
    terms += [(p.cost_cents, model.pump[p.id]) for p in problem.pumps]
    terms += [(d.running_cents, model.pump_duty[key]) for key, d in tables.pump_duty.items()]
    terms += [(k.cost_cents, model.sump[k.id]) for k in problem.sumps]
    terms += [(b.cost_cents, model.drain[s.id, b.id]) for s in problem.drains for b in s.builds]
    terms += [(-1, model.saved[each.pipe]) for each in problem.stock]
    for key, mix in tables.mix.items():
        step = mix.step_cents(tables.build[key].cost_cents)
        terms += [(step, model.two[key]), (mix.slope_cents, model.wide[key])]
    return linear(terms, problem.fixed_cents)
