"""The complete program, as a table of contents."""

from __future__ import annotations

from optimizer.milp import cost, drains, limits, mixes, pipes, plans, pumps, sump, unlike, zones
from optimizer.milp.family import maths_page
from optimizer.milp.modeling import Model, minimise, new_model
from optimizer.milp.tables import Tables
from optimizer.milp.variables import VARIABLES, add_variables
from optimizer.records.problem import DesignProblem

FAMILIES = (
    # what is grown where
    plans.one_plan_per_branch,
    plans.one_option_per_bed_type,
    plans.plan_needs_its_option,
    plans.enough_beds,
    plans.enough_area,
    # what the pipes carry and how they are built
    pipes.plan_sets_the_duty,
    pipes.one_duty_per_shared_stretch,
    pipes.shared_flow_adds_up,
    zones.zone_has_water,
    zones.shared_flow_reaches_every_zone,
    pipes.water_comes_from_upstream,
    pipes.one_build_per_carried_duty,
    pipes.build_is_the_dearest_reached,
    pipes.builds_are_nested,
    mixes.mixed_part_has_its_build,
    mixes.wider_part_leaves_the_other,
    mixes.wider_part_is_no_stub,
    # what drives the water
    pumps.one_pump,
    pumps.bought_pump_has_a_duty,
    pumps.pump_runs_in_the_band,
    pumps.pump_meets_total_flow,
    pumps.pump_gives_the_head,
    pumps.loud_pump_rests,
    zones.one_zone_is_the_greatest,
    zones.pump_is_counted_at_the_greatest_zone,
    # where the head goes
    pipes.head_falls_along_a_stretch,
    pipes.outlet_is_reached,
    pipes.drift_is_held,
    pipes.pipe_bears_shut_off,
    pipes.valve_can_throttle,
    zones.valve_can_throttle_at_no_flow,
    # what the sump holds
    sump.one_sump,
    sump.sump_shares_the_band,
    sump.sump_holds_all_beds,
    sump.power_cut_fits,
    # how water comes back
    drains.one_size_per_drain,
    drains.drain_carries_its_bursts,
    drains.drain_carries_what_is_counted,
    drains.beds_are_counted,
    drains.drain_falls,
    drains.drain_lies_under_the_bed,
    drains.drains_end_above_the_water,
    drains.drain_never_narrows,
    # what ties the whole site together
    limits.capital_is_within_the_budget,
    limits.build_needs_its_size,
    limits.drain_needs_its_size,
    limits.pump_needs_its_sizes,
    limits.few_sizes_are_laid,
    limits.stock_saves_its_worth,
    limits.stock_saves_what_is_laid,
    # what sets an answer apart from earlier ones
    unlike.something_stays_that_was_changed,
)


def build_model(problem: DesignProblem) -> Model:
    """The complete program of a problem: every decision a variable, every rule a family of rows.

    Args:
        problem: the decision problem; it must have plans, pumps, sumps and one first stretch.

    Returns:
        A ``pyomo.environ.ConcreteModel`` that minimises cost in cents.

    Raises:
        ValueError: where the problem's ids do not fit together.
    """
    tables = Tables(problem)
    model = new_model("complete")
    add_variables(model, tables)
    for made in FAMILIES:
        made.add_to(model, tables)
    minimise(model, cost.total_cost(model, tables))
    return model


def maths_of_the_program() -> str:
    """The text of ``docs/maths.md``."""
    return maths_page(VARIABLES, FAMILIES, cost.IN_WORDS)
