"""The bill with pipe lying ready taken off what must be bought."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from optimizer.formulate.side_conditions import pipe_stock, stock_lengths_m
from optimizer.records.design import CostLine
from optimizer.records.parts import Catalog
from optimizer.records.site import Site


def from_stock(site: Site, catalog: Catalog, lines: Iterable[CostLine]) -> tuple[CostLine, ...]:
    """Return the bill with pipe taken from stock first, supply before returns.

    What is bought is what is laid beyond the stock; what comes from stock is a line of its own that
    costs nothing. Fittings and work are paid as before.

    Args:
        site: the site.
        catalog: the catalog.
        lines: the bill as if all pipe were bought.
    """
    metres = stock_lengths_m(site)
    worth = {each.pipe: each.worth_cents for each in pipe_stock(site, catalog)}
    kept: list[CostLine] = []
    for line in lines:
        if line.part not in metres or line.unit != "m":
            kept.append(line)
            continue
        used, saved = min(line.quantity, metres[line.part]), min(line.cents, worth[line.part])
        metres[line.part] -= used
        worth[line.part] -= saved
        if used < line.quantity or saved < line.cents:
            left = replace(line, quantity=line.quantity - used, cents=line.cents - saved)
            kept.append(left)
        if used > 0.0:
            kept.append(CostLine("stock", f"{line.what} from stock", line.part, used, "m", 0))
    return tuple(kept)
