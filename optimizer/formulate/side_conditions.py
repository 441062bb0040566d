"""What ties choices across a site together: a budget, sizes of pipe to keep, pipe lying ready."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from optimizer.formulate.fittings_price import cents
from optimizer.physics.arrays import Array
from optimizer.records.parts import Catalog
from optimizer.records.problem_drains import DrainBuild
from optimizer.records.requirements import PipeStock
from optimizer.records.site import Site

WHOLE = 1e-9
"""Relative: a worth this near above a whole cent is that cent."""


def stock_lengths_m(site: Site) -> dict[str, float]:
    """Return the metres lying ready of each pipe, by catalog id."""
    lengths: dict[str, float] = {}
    for each in site.standing.stock:
        lengths[each.pipe] = lengths.get(each.pipe, 0.0) + each.length_m
    return lengths


def pipe_stock(site: Site, catalog: Catalog) -> tuple[PipeStock, ...]:
    """Return what lies ready with its worth, rounded down to the cent: never saved too much."""
    return tuple(
        PipeStock(name, math.floor(length * catalog.pipes[name].price_per_m * 100.0 * (1 + WHOLE)))
        for name, length in stock_lengths_m(site).items()
    )


def budget_cents(site: Site) -> int | None:
    """Return the most money to buy with, in cents."""
    return None if site.goals.budget is None else cents(site.goals.budget)


class PipeRivals:
    """Whether one way to lay a pipe surely costs no more than another, whatever else is laid.

    Pipe lying ready may save the other its pipe; where the sizes are limited, another size may
    cost one of them.
    """

    def __init__(self, site: Site) -> None:
        self.stocked = frozenset(stock_lengths_m(site))
        self.few_sizes = site.purchase.pipe_sizes_most is not None

    def surely_no_dearer(
        self, pipes: Sequence[str], cost_cents: Array, pipe_cents: Array
    ) -> npt.NDArray[np.bool_]:
        """Return whether one way (rows) can take another's place (columns) at no greater cost.

        Args:
            pipes: the pipe of each way; empty where it is laid already.
            cost_cents: cost of each way (rows) under each load.
            pipe_cents: the part of it that is pipe by the metre, the same shape.

        Returns:
            Truths of shape (ways, ways, loads).
        """
        names = np.array(pipes)
        alike = (names[:, np.newaxis] == names) | (names == "")[:, np.newaxis]
        stocked = np.array([name in self.stocked for name in pipes])
        least = cost_cents - np.where(stocked[:, np.newaxis], pipe_cents, 0.0)
        plain = cost_cents[:, np.newaxis] <= cost_cents
        other = (cost_cents[:, np.newaxis] <= least) & (not self.few_sizes)
        return np.asarray(np.where(alike[:, :, np.newaxis], plain, other))

    def drain_surely_no_dearer(self, first: DrainBuild, second: DrainBuild) -> bool:
        """Return whether ``first`` can take the place of ``second`` at no greater cost."""
        one, two = (first.pipe, first.cost_cents), (second.pipe, second.cost_cents)
        return self.pipe_surely_no_dearer(one, two, second.pipe_cents)

    def pipe_surely_no_dearer(
        self, first: tuple[str, int], second: tuple[str, int], second_pipe_cents: int
    ) -> bool:
        """Return the same of two pipes with their costs; of the second also what is pipe alone."""
        if first[0] == second[0]:
            return first[1] <= second[1]
        saved = second_pipe_cents if second[0] in self.stocked else 0
        return not self.few_sizes and first[1] <= second[1] - saved
