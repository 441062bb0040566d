"""Layouts of one site that were compared with one another."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class LayoutCost:
    """One way to lay out a site, and what it comes to.

    ``cost_cents`` is what its best design known costs, None without one. ``bound_cents`` is what no
    design of this layout costs less than, None where none exists. ``note`` says in words what else
    there is to say, such as why there is no design.
    """

    name: str
    cost_cents: int | None
    bound_cents: float | None
    chosen: bool
    note: str = ""
