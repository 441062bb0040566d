"""Floodwright: least-cost designs for many flood-and-drain beds on one pump.

Names load on first use, so that ``import optimizer`` stays quick.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from optimizer.alternatives import design_site as design_site
    from optimizer.errors import BadInput as BadInput
    from optimizer.errors import FloodwrightError as FloodwrightError
    from optimizer.errors import Infeasible as Infeasible
    from optimizer.errors import SolverFailed as SolverFailed
    from optimizer.explore.fronts import area_front as area_front
    from optimizer.explore.fronts import floods_front as floods_front
    from optimizer.explore.fronts import sump_front as sump_front
    from optimizer.explore.price_lines import cheapest_pieces as cheapest_pieces
    from optimizer.explore.price_lines import energy_front as energy_front
    from optimizer.explore.pump_study import pump_study as pump_study
    from optimizer.explore.sensitivity import one_at_a_time as one_at_a_time
    from optimizer.explore.sweep import Study as Study
    from optimizer.extension import extend_design as extend_design
    from optimizer.milp.size_tree import size_tree as size_tree
    from optimizer.phases import compare_phases as compare_phases
    from optimizer.phasing.compare import plan_phases as plan_phases
    from optimizer.physics.band import Band as Band
    from optimizer.physics.bed import SiphonBed as SiphonBed
    from optimizer.physics.laws import DarcyWeisbach as DarcyWeisbach
    from optimizer.physics.laws import HazenWilliams as HazenWilliams
    from optimizer.physics.pump import PumpCurve as PumpCurve
    from optimizer.physics.window import inflow_window as inflow_window
    from optimizer.reading.catalog import read_catalog as read_catalog
    from optimizer.reading.site import read_site as read_site
    from optimizer.records.design_io import read_design as read_design
    from optimizer.records.design_io import write_design as write_design
    from optimizer.report.writer import write_report as write_report
    from optimizer.rings import size_rings as size_rings
    from optimizer.safety import cost_of_safety as cost_of_safety
    from optimizer.simulate.check import check_design as check_design
    from optimizer.simulate.day.run import simulate_day as simulate_day
    from optimizer.simulate.day.scenario import Scenario as Scenario
    from optimizer.simulate.whole_check import check_whole as check_whole

_HOMES = {
    "BadInput": "errors",
    "Band": "physics.band",
    "DarcyWeisbach": "physics.laws",
    "FloodwrightError": "errors",
    "HazenWilliams": "physics.laws",
    "Infeasible": "errors",
    "PumpCurve": "physics.pump",
    "Scenario": "simulate.day.scenario",
    "SiphonBed": "physics.bed",
    "SolverFailed": "errors",
    "Study": "explore.sweep",
    "area_front": "explore.fronts",
    "cheapest_pieces": "explore.price_lines",
    "check_design": "simulate.check",
    "check_whole": "simulate.whole_check",
    "compare_phases": "phases",
    "cost_of_safety": "safety",
    "design_site": "alternatives",
    "energy_front": "explore.price_lines",
    "extend_design": "extension",
    "floods_front": "explore.fronts",
    "inflow_window": "physics.window",
    "one_at_a_time": "explore.sensitivity",
    "plan_phases": "phasing.compare",
    "pump_study": "explore.pump_study",
    "read_catalog": "reading.catalog",
    "read_design": "records.design_io",
    "read_site": "reading.site",
    "simulate_day": "simulate.day.run",
    "size_rings": "rings",
    "size_tree": "milp.size_tree",
    "sump_front": "explore.fronts",
    "write_design": "records.design_io",
    "write_report": "report.writer",
}

__all__ = sorted(_HOMES)  # noqa: PLE0605 - a list built from the table above


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module 'optimizer' has no attribute {name!r}")
    return getattr(import_module(f"optimizer.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return sorted(_HOMES)
