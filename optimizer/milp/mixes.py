"""Two sizes on one stretch, where the site allows it: the wider part's length is free."""

from __future__ import annotations

from optimizer.milp.family import family
from optimizer.milp.modeling import Model, Row, linear
from optimizer.milp.tables import Tables


@family("W1", ("stretch", "duty", "build"), lambda t: list(t.mix))
def mixed_part_has_its_build(model: Model, tables: Tables, s: str, duty: str, build: str) -> Row:
    """A stretch has a wider part only in place of the build that its other part keeps.

    two[s, u, j] <= build[s, u, j]
    """
    return linear([(1, model.two[s, duty, build]), (-1, model.build[s, duty, build])]) <= 0


@family("W2", ("stretch", "duty", "build"), lambda t: list(t.mix))
def wider_part_leaves_the_other(model: Model, tables: Tables, s: str, duty: str, build: str) -> Row:
    """A wider part needs its reducer, and leaves the other part a piece long enough to lay.

    wide[s, u, j] <= (1 - least) two[s, u, j]
    """
    most = 1.0 - tables.mix[s, duty, build].least_share
    return linear([(1, model.wide[s, duty, build]), (-most, model.two[s, duty, build])]) <= 0


@family("W3", ("stretch", "duty", "build"), lambda t: list(t.mix))
def wider_part_is_no_stub(model: Model, tables: Tables, s: str, duty: str, build: str) -> Row:
    """A wider part is a piece long enough to lay.

    wide[s, u, j] >= least two[s, u, j]
    """
    least = tables.mix[s, duty, build].least_share
    return linear([(1, model.wide[s, duty, build]), (-least, model.two[s, duty, build])]) >= 0
