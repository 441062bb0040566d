"""Which pump runs, in which band of sump levels, at which total flow, and how long it is heard."""

from __future__ import annotations

from optimizer.milp.family import family
from optimizer.milp.modeling import Index, Model, Row, linear
from optimizer.milp.tables import PUMP_NODE, Tables


@family("U1", (), lambda _: [()])
def one_pump(model: Model, tables: Tables) -> Row:
    """Exactly one pump option is bought.

    sum(p) pump[p] = 1
    """
    return linear((1, model.pump[p.id]) for p in tables.problem.pumps) == 1


@family("U2", ("pump",), lambda t: [(p.id,) for p in t.problem.pumps])
def bought_pump_has_a_duty(model: Model, tables: Tables, pump: str) -> Row:
    """The pump bought runs at exactly one duty, and no other pump runs.

    sum(w, f) pump_duty[p, w, f] = pump[p]
    """
    duties = [(1, model.pump_duty[key]) for key in tables.pump_duty if key[0] == pump]
    return linear([*duties, (-1, model.pump[pump])]) == 0


@family("U3", ("band",), lambda t: [(w.id,) for w in t.problem.bands])
def pump_runs_in_the_band(model: Model, tables: Tables, band: str) -> Row:
    """The pump's duty lies in the band of levels that the sump runs in.

    sum(p, f) pump_duty[p, w, f] = band[w]
    """
    duties = [(1, model.pump_duty[key]) for key in tables.pump_duty if key[1] == band]
    return linear([*duties, (-1, model.band[band])]) == 0


@family("U4", ("total flow",), lambda t: [(f,) for f in t.root_flows])
def pump_meets_total_flow(model: Model, tables: Tables, flow: int) -> Row:
    """The pump's duty is at the flow that the first stretch carries.

    sum(p, w) pump_duty[p, w, f] = sum(u with flow f) carries[first stretch, u]
    """
    duties = [(1, model.pump_duty[key]) for key in tables.pump_duty if key[2] == flow]
    carried = [(-1, model.carries[tables.root.id, u]) for u in tables.root_flows[flow]]
    return linear([*duties, *carried]) == 0


@family("U5", (), lambda _: [()])
def pump_gives_the_head(model: Model, tables: Tables) -> Row:
    """The head at the pump's outlet is what the pump gives at its duty.

    head[pump] = sum(p, w, f) head(p, w, f) pump_duty[p, w, f]
    """
    given = [(-d.head_m, model.pump_duty[key]) for key, d in tables.pump_duty.items()]
    return linear([(1, model.head[PUMP_NODE]), *given]) == 0


def _where_some_pump_is_loud(tables: Tables) -> list[Index]:
    limited = tables.problem.requirements.loud_hours_most is not None
    return [()] if limited and any(p.loud_hours for p in tables.problem.pumps) else []


@family("U6", (), _where_some_pump_is_loud)
def loud_pump_rests(model: Model, tables: Tables) -> Row:
    """A pump louder than the site's limit runs no more hours a day than such a pump may.

    sum(p) loud_hours(p) pump[p] <= loud_hours_most
    """
    most = tables.problem.requirements.loud_hours_most or 0.0
    loud = [(p.loud_hours, model.pump[p.id]) for p in tables.problem.pumps if p.loud_hours]
    return linear(loud) <= most
