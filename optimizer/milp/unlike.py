"""An answer unlike earlier ones: of all that each of them changed, something stays as it is."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.milp.family import family
from optimizer.milp.modeling import Index, Model, Row, Term, linear
from optimizer.milp.tables import Tables
from optimizer.records.requirements import Stays


def _earlier_answers(tables: Tables) -> list[Index]:
    return [(number,) for number in range(len(tables.problem.requirements.unlike))]


@family("B8", ("earlier answer",), _earlier_answers)
def something_stays_that_was_changed(model: Model, tables: Tables, answer: int) -> Row:
    """Of all that an earlier answer changed, at least one thing stays as it stands.

    sum(p of an option that stays) plan[p] + sum(s, u, j that stays) build[s, u, j]
        + sum(s, j that stays) drain[s, j] + sum(p that stays) pump[p]
        + sum(k that stays) sump[k] >= 1
    """
    changed = tables.problem.requirements.unlike[answer]
    # A thing that cannot stay has no term; where nothing can, the row is the false 0 >= 1.
    terms = [(1.0, variable) for each in changed for variable in _staying(model, tables, each)]
    never: list[Term] = [(0.0, model.pump[tables.problem.pumps[0].id])]
    return linear(terms or never) >= 1


def _staying(model: Model, tables: Tables, stays: Stays) -> Iterator[object]:
    """Yield the variables of which one is 1 where a thing stays."""
    wanted = set(stays.choices)
    if stays.what == "option":
        yield from (model.plan[p.id] for p in tables.problem.plans if p.option in wanted)
    elif stays.what == "stretch":
        keys = [key for key in tables.build if key[0] == stays.of and key[2] in wanted]
        yield from (model.build[key] for key in keys)
    elif stays.what == "drain":
        builds = [b.id for s in tables.problem.drains if s.id == stays.of for b in s.builds]
        yield from (model.drain[stays.of, name] for name in builds if name in wanted)
    elif stays.what == "pump":
        yield from (model.pump[p.id] for p in tables.problem.pumps if p.id in wanted)
    else:
        yield from (model.sump[k.id] for k in tables.problem.sumps if k.id in wanted)
