"""A page's study from designs made by hand: no solver, no simulation."""

from __future__ import annotations

from collections.abc import Mapping

from optimizer.explore.told_page import variants_page
from optimizer.records.design import Design
from optimizer.report.explorer.records import Explorer
from tests.report.make_check import make_check


def make_explorer(designs: Mapping[str, Design], answer: str = "An answer.") -> Explorer:
    """Designs side by side, the second chosen and the first compared with."""
    checks = {name: make_check(design) for name, design in designs.items()}
    return variants_page(designs, checks, (answer,))
