"""Which sump is bought and what it must hold."""

from __future__ import annotations

from optimizer.milp.family import family
from optimizer.milp.modeling import Model, Row, linear
from optimizer.milp.tables import Tables


@family("K1", (), lambda _: [()])
def one_sump(model: Model, tables: Tables) -> Row:
    """Exactly one sump option is bought.

    sum(k) sump[k] = 1
    """
    return linear((1, model.sump[k.id]) for k in tables.problem.sumps) == 1


@family("K2", ("band",), lambda t: [(w.id,) for w in t.problem.bands])
def sump_shares_the_band(model: Model, tables: Tables, band: str) -> Row:
    """The sump bought runs in the chosen band of levels.

    sum(k with band w) sump[k] = band[w]
    """
    sumps = [(1, model.sump[k.id]) for k in tables.problem.sumps if k.band == band]
    return linear([*sumps, (-1, model.band[band])]) == 0


@family("K3", (), lambda _: [()])
def sump_holds_all_beds(model: Model, tables: Tables) -> Row:
    """Between the band's levels the sump holds all beds full at once and what evaporates.

    sum(p) (held(p) + lost(p)) plan[p] <= sum(k) working(k) sump[k]
    """
    held = [(p.held_m3 + p.lost_m3, model.plan[p.id]) for p in tables.problem.plans]
    working = [(-k.working_m3, model.sump[k.id]) for k in tables.problem.sumps]
    return linear([*held, *working]) <= 0


@family("K4", (), lambda _: [()])
def power_cut_fits(model: Model, tables: Tables) -> Row:
    """The share of pipe water that drains back in a power cut fits under the freeboard.

    drain_back_share sum(s, u, j) (volume(u, j) build[s, u, j] + extra(u, j) wide[s, u, j])
        <= sum(k) spare(k) sump[k]
    """
    share = tables.problem.requirements.drain_back_share
    piped = [(share * b.volume_m3, model.build[key]) for key, b in tables.build.items()]
    piped += [(share * mix.extra_m3, model.wide[key]) for key, mix in tables.mix.items()]
    spare = [(-k.spare_m3, model.sump[k.id]) for k in tables.problem.sumps]
    return linear([*piped, *spare]) <= 0
