"""The grid of a guide: cells of head, and the window of cells that a step looks at.

Costs by cell come in two kinds. *Inside* costs are of what hangs below a node, for a need of at
most a cell: they fall with the cell. *Outside* costs are of all else, for a need of at least a
cell: they rise. A window leaves out cells through which no design below a known cost can pass; what
is read outside of a window is read so that every bound stays true for designs within it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from optimizer.milp.fronts import Floats, Whole

ROUNDING = 1e-9  # relative rounding of a need that may put it in the next cell


class Span(NamedTuple):
    """Neighbouring cells: the first one, and the one after the last."""

    first: int
    end: int

    @property
    def cells(self) -> Whole:
        """The cells."""
        return np.arange(self.first, self.end)


@dataclass(frozen=True)
class Grid:
    """Equal cells of head.

    Attributes:
        low_m: heads below this count as this.
        cell_m: size of a cell.
        cells: how many; the last one holds all higher heads too.
    """

    low_m: float
    cell_m: float
    cells: int

    @property
    def whole(self) -> Span:
        """All cells."""
        return Span(0, self.cells)

    def at(self, heads_m: Floats) -> Whole:
        """The cell of each head, rounded down."""
        return self.lost(heads_m - self.low_m)

    def lost(self, losses_m: Floats) -> Whole:
        """How many cells each loss surely takes."""
        found = np.floor(losses_m * ((1.0 - ROUNDING) / self.cell_m) - ROUNDING)
        return np.minimum(np.maximum(found, 0.0), self.cells - 1.0).astype(np.int64)

    def finer(self, span: Span, fine: Grid) -> Span:
        """Cells of another grid that hold all heads of some cells of this one."""
        low, high = (self.low_m + n * self.cell_m - fine.low_m for n in span)
        first = min(max(math.floor(low / fine.cell_m) - 1, 0), fine.cells - 1)
        end = min(max(math.ceil(high / fine.cell_m) + 1, first + 1), fine.cells)
        return Span(first if span.first else 0, fine.cells if span.end == self.cells else end)


class Reader:
    """Reads costs at cells of a window, and at those below and above it.

    Args:
        costs: by state and cell.
        have: the window.
        inside: whether they are inside costs: of the last cell for all higher ones, none below the
            first. Outside costs: of the first cell for all lower ones, none above the last.
    """

    def __init__(self, costs: Floats, have: Span, *, inside: bool) -> None:
        width = costs.shape[1] + 2
        self._costs = np.full((len(costs), width), np.inf)
        self._costs[:, 1:-1] = costs
        self._before = 1 - have.first
        self._least, self._most = (0, width - 2) if inside else (1, width - 1)
        self._rows = width * np.arange(len(costs))[:, np.newaxis]

    def at(self, wanted: Whole) -> Floats:
        """The costs at some cells, alike for all states or by state."""
        places = np.minimum(np.maximum(wanted + self._before, self._least), self._most)
        found: Floats = self._costs.take(places + self._rows)
        return found


def or_higher(costs: Floats) -> Floats:
    """Least cost at a cell or any higher one."""
    return np.minimum.accumulate(costs[:, ::-1], axis=1)[:, ::-1]
