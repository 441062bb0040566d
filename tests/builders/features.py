"""Every feature a site file may have beyond a plain random site: how to draw and to drop it.

A feature is drawn from dice of its own, so that dropping one leaves the others as they were. Prices
stand apart from the site, as in its file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from random import Random

from optimizer.candidates.layouts import is_one_layout
from optimizer.records.site import Coefficients, Goals, Ground, Returns
from tests.builders.case import Case
from tests.builders.feature_draws import (
    drawn_aslant,
    drawn_bed_type_details,
    drawn_budget,
    drawn_coefficients,
    drawn_few_sizes,
    drawn_fish_feed_the_beds,
    drawn_fish_on_the_return,
    drawn_header_fed,
    drawn_header_tank,
    drawn_money_words,
    drawn_noise,
    drawn_own_spacing,
    drawn_prices,
    drawn_return_pipe,
    drawn_return_series,
    drawn_stock,
    drawn_sump_places,
    drawn_two_sizes,
    is_aslant,
    plain_bed_types,
    straight,
    without_tank,
)


@dataclass(frozen=True)
class Feature:
    """One feature of a site file.

    Attributes:
        name: what the campaigns count it as.
        share: how often it is drawn where it fits.
        draw: gives it to a case.
        there: whether a case has it.
        drop: takes it from a case.
    """

    name: str
    share: float
    draw: Callable[[Random, Case], Case]
    there: Callable[[Case], bool]
    drop: Callable[[Case], Case]


PLAIN_RETURNS = Returns(designed=False)

FEATURES: tuple[Feature, ...] = (
    Feature("row of its own spacing", 0.3, drawn_own_spacing,
            lambda c: len({r.spacing_m for r in c.site.rows if r.positions > 1}) > 1,
            lambda c: c),
    Feature("row aslant", 0.2, drawn_aslant,
            lambda c: any(is_aslant(r) for r in c.site.rows), straight),
    Feature("crest below rim", 0.2, drawn_bed_type_details,
            lambda c: any(t.crest_below_rim_m != 0.05 for t in c.site.bed_types),
            plain_bed_types),
    Feature("return pipe", 0.5, drawn_return_pipe, lambda c: c.site.returns.designed,
            lambda c: replace(c.having(returns=PLAIN_RETURNS), held_share=1.0)),
    Feature("return series", 0.2, drawn_return_series,
            lambda c: c.site.returns.pipe_series is not None,
            lambda c: c.returns(pipe_series=None, pipes=())),
    Feature("fish tank on the return", 0.2, drawn_fish_on_the_return,
            lambda c: c.site.fish_tank is not None and not c.site.fish_feed_beds,
            lambda c: c.having(fish_tank=None) if not c.site.fish_feed_beds else c),
    Feature("header tank", 0.25, drawn_header_tank,
            lambda c: c.site.header_tank is not None and not c.site.fish_feed_beds, without_tank),
    Feature("fish feed the beds", 0.1, drawn_fish_feed_the_beds,
            lambda c: c.site.fish_feed_beds, without_tank),
    Feature("header fed elsewhere", 0.2, drawn_header_fed,
            lambda c: c.site.ground.header_fed != "nearest",
            lambda c: c.ground(header_fed="nearest")),
    Feature("sump places", 0.15, drawn_sump_places, lambda c: bool(c.site.ground.sump_places),
            lambda c: c.ground(sump_places=())),
    Feature("measured coefficients", 0.2, drawn_coefficients,
            lambda c: c.site.coefficients != Coefficients(),
            lambda c: c.having(coefficients=Coefficients())),
    Feature("own prices", 0.2, drawn_prices, lambda c: bool(c.prices),
            lambda c: replace(c, prices={})),
    Feature("planning years and pump tolerance", 0.2, drawn_money_words,
            lambda c: c.site.goals.planning_years != 10.0,
            lambda c: c.goals(planning_years=10.0, pump_tolerance=0.05).having(
                units="metric", currency="EUR")),
    Feature("two sizes on a stretch", 0.12, drawn_two_sizes,
            lambda c: c.site.purchase.two_sizes_on_a_stretch,
            lambda c: c.purchase(two_sizes_on_a_stretch=False)),
    Feature("budget", 0.15, drawn_budget, lambda c: c.site.goals.budget is not None,
            lambda c: c.goals(budget=None)),
    Feature("few pipe sizes", 0.15, drawn_few_sizes,
            lambda c: c.site.purchase.pipe_sizes_most is not None,
            lambda c: c.purchase(pipe_sizes_most=None)),
    Feature("pipe in stock", 0.2, drawn_stock, lambda c: bool(c.site.standing.stock),
            lambda c: c.standing(stock=())),
    Feature("noise limit", 0.15, drawn_noise, lambda c: c.site.noise is not None,
            lambda c: c.having(noise=None)),
)  # fmt: skip
"""What :func:`tests.builders.every_feature.every_feature` draws, in this order."""


def _ground(case: Case) -> Ground:
    return case.site.ground


def _goals(case: Case) -> Goals:
    return case.site.goals


SHOWN: Mapping[str, Callable[[Case], bool]] = {
    "corridors": lambda c: bool(_ground(c).corridors),
    "keep-outs": lambda c: bool(_ground(c).keep_outs),
    "several layouts": lambda c: not is_one_layout(c.site),
    "several levels": lambda c: len({row.level_m for row in c.site.rows}) > 1,
    "named positions": lambda c: any(row.named for row in c.site.rows),
    "uneven rows": lambda c: len({row.positions for row in c.site.rows}) > 1,
    "free counts": lambda c: any(row.beds_least < row.beds_most for row in c.site.rows),
    "two bed types": lambda c: len(c.site.bed_types) > 1,
    "most floods": lambda c: _goals(c).floods_per_hour_most is not None,
    "growing area": lambda c: _goals(c).growing_area_least_m2 > 0.0,
    "nominal": lambda c: _goals(c).robustness == "nominal",
    "most": lambda c: _goals(c).robustness == "most",
    "whole band": lambda c: _goals(c).robustness == "whole",
    "binomial bursts": lambda c: c.site.returns.designed and c.site.returns.bursts == "binomial",
    "quantile held": lambda c: c.site.returns.held == "quantile",
    "spare pump": lambda c: c.site.purchase.spare_pump,
    "pumps in parallel": lambda c: c.site.purchase.pumps_in_parallel_most > 1,
    "non-return valve": lambda c: c.site.purchase.non_return_valve,
    "pump runs part of the day": lambda c: _goals(c).pump_hours_per_day < 24.0,
    "standing beds": lambda c: any(row.standing_beds for row in c.site.rows),
    "standing pump": lambda c: c.site.standing.pump is not None,
    "standing sump": lambda c: c.site.standing.sump is not None,
    "standing pipe": lambda c: bool(c.site.standing.pipes),
}
"""What plain random sites draw already, for the counts."""


def features_of(case: Case) -> tuple[str, ...]:
    """Every feature a case has, in words."""
    drawn = [each.name for each in FEATURES if each.there(case)]
    return (*drawn, *(name for name, there in SHOWN.items() if there(case)))


ALL_FEATURES = frozenset({*(each.name for each in FEATURES), *SHOWN})
