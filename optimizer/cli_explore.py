"""The verb ``explore``: fronts, sensitivities, every pump, break-even prices, side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from optimizer.cli_answers import NO, OK, as_json, guarded
from optimizer.cli_ends import given_or, read_ends, rising
from optimizer.cli_options import SEED, FiniteNumber, demand_folder
from optimizer.cli_study import hand_over, run_study, show, study_options
from optimizer.errors import BadInput, Problem

if TYPE_CHECKING:
    from optimizer.explore.fronts import Front
    from optimizer.explore.results import Result
    from optimizer.explore.sensitivity import Range
    from optimizer.explore.sweep import Study

RANGE_FIX = "Give two numbers, 0 or more, the low one first."
PRICE = FiniteNumber(min=0.0)
STEPS = click.IntRange(2, 2000)


@click.group()
def explore() -> None:
    """Many designs of one site: what more would cost, and what the answer leans on.

    Results go to a folder beside the site file. A study that was stopped goes on where it was when
    the same command is given again.
    """


@explore.command()
@click.argument("over", type=click.Choice(["floods", "area", "sump", "energy"]))
@study_options
@click.option("--from", "low", help='First goal, as "1 per hour" or "10 m2".')
@click.option("--to", "high", help='Last goal (energy: highest price, as "2 per kWh").')
@click.option("--steps", type=STEPS, default=11, show_default=True, help="Flood goals.")
@click.option("--points", type=STEPS, default=60, show_default=True, help="Most points (area).")
@click.option("--no-check", is_flag=True, help="Leave out the simulation of each design.")
@guarded
def front(
    over: str,
    low: str | None,
    high: str | None,
    steps: int,
    points: int,
    no_check: bool,
    **asked: Any,  # noqa: ANN401  # the options of every study
) -> int:
    """What floods, growing area or a smaller sump cost, or all else against energy.

    OVER is floods, area, sump or energy. Every point is a whole design, checked by simulation.
    """
    from optimizer.explore.told_front import told_front

    ends = read_ends(over, low, high)

    def analysis(study: Study) -> Result:
        return told_front(study, _front(study, over, *ends, steps=steps, points=points))

    return run_study(asked, analysis, check=not no_check)


def _front(
    study: Study, over: str, low: float | None, high: float | None, *, steps: int, points: int
) -> Front:
    from optimizer.explore import fronts
    from optimizer.explore.price_lines import energy_front
    from optimizer.explore.sensitivity import Range

    goals = study.job.site.goals
    if over == "floods":
        now = goals.floods_per_hour_least
        ends = Range("floods", *rising(given_or(low, 0.5 * now), given_or(high, 2.0 * now)))
        return fronts.floods_front(study, [round(value, 6) for value in ends.values(steps)])
    if over == "area":
        areas = rising(given_or(low, 0.0), given_or(high, math.inf))
        return fronts.area_front(study, *areas, points)
    if over == "sump":
        return fronts.sump_front(study)
    return energy_front(study, given_or(high, 10.0 * goals.energy_price_per_kwh))


@explore.command()
@study_options
@click.option("--vary", multiple=True, metavar="NAME", help="Change this (more than once: these).")
@click.option(
    "--range",
    "ranges",
    type=(str, float, float),
    multiple=True,
    metavar="NAME LOW HIGH",
    help="Change this between two values.",
)
@click.option("--values", type=STEPS, default=2, show_default=True, help="Values of each.")
@click.option("--pairs", is_flag=True, help="A grid of two changes.")
@click.option("--draws", type=click.IntRange(1, 100_000), help="Change everything at once.")
@click.option("--method", type=click.Choice(["latin", "sobol"]), default="latin", show_default=True)
@click.option("--draw-seed", type=SEED, default=0, show_default=True, help="Seed of the draws.")
@guarded
def sensitivity(
    vary: tuple[str, ...],
    ranges: tuple[tuple[str, float, float], ...],
    values: int,
    pairs: bool,
    draws: int | None,
    method: str,
    draw_seed: int,
    **asked: Any,  # noqa: ANN401  # the options of every study
) -> int:
    """What the least cost and the choices lean on: prices, friction, medium, siphons, years.

    One change at a time; with --pairs a grid of two; with --draws all at once. NAME is one of those
    in docs/how-to/explore.md, such as energy_price or porosity. For each: the least cost, which
    choices change, what keeping the base design costs, and which promises it would break.
    """
    from optimizer.explore import sensitivity as studied
    from optimizer.explore import told

    names = _known(vary, ranges)

    def analysis(study: Study) -> Result:
        chosen = _ranges(study, names, ranges)
        if draws:
            rows = studied.sampled(study, chosen, draws, method=method, seed=draw_seed)
            return told.told_draws(study, rows, chosen)
        if pairs:
            first, second = chosen
            rows = studied.in_pairs(study, first, second, max(3, values))
            return told.told_pairs(study, rows, first, second)
        rows = studied.one_at_a_time(study, chosen, values)
        return told.told_tornado(study, rows, chosen)

    if pairs and len(names) != 2:
        fix = "Name two with --vary or --range."
        raise BadInput([Problem("--pairs", f"needs two changes, not {len(names)}.", fix)])
    return run_study(asked, analysis)


def _known(vary: Sequence[str], ranges: Sequence[tuple[str, float, float]]) -> list[str]:
    """Return the names to change, or the default ones.

    Raises:
        BadInput: for a name that is no change with numbers, or a range that is none.
    """
    from optimizer.explore.sensitivity import FACTORS, VARIABLE

    names = list(dict.fromkeys([*vary, *(name for name, _, _ in ranges)]))
    fix = f"Choose from: {', '.join(VARIABLE)}."
    problems = [
        Problem("--vary", f"{name!r} is nothing that can be varied.", fix)
        for name in names
        if name not in VARIABLE
    ]
    problems += [
        Problem("--range", f"{name}: no range from {low:g} to {high:g}.", RANGE_FIX)
        for name, low, high in ranges
        if not 0.0 <= low < high < math.inf
    ]
    if problems:
        raise BadInput(problems)
    return names or list(FACTORS)


def _ranges(
    study: Study, names: Sequence[str], given: Sequence[tuple[str, float, float]]
) -> list[Range]:
    from optimizer.explore.sensitivity import Range, default_ranges

    own = {name: Range(name, low, high) for name, low, high in given}
    return [own.get(each.name, each) for each in default_ranges(study, names)]


@explore.command()
@study_options
@guarded
def pumps(**asked: Any) -> int:  # noqa: ANN401  # the options of every study
    """Every pump of the catalog as the only one: cost, duty, margins, or why it cannot."""
    from optimizer.explore.pump_study import pump_study
    from optimizer.explore.told_front import told_pumps

    return run_study(asked, lambda study: told_pumps(study, pump_study(study)))


@explore.command()
@study_options
@click.option("--of", "pump", metavar="PUMP", help="The price of this pump, not of energy.")
@click.option("--between", nargs=2, metavar="PUMP PUMP", help="Only where these two trade places.")
@click.option("--from", "low", type=PRICE, default=0.0, show_default=True)
@click.option("--to", "high", type=FiniteNumber(min=0.0, min_open=True), help="Highest price.")
@guarded
def prices(
    pump: str | None,
    between: tuple[str, str] | None,
    low: float,
    high: float | None,
    **asked: Any,  # noqa: ANN401  # the options of every study
) -> int:
    """At which price of energy, or of a pump, one design gives way to another.

    Exact: least cost against a price is a chain of straight lines, and every corner is found.
    """
    from optimizer.explore.changes import PUMP_PRICE, change_of
    from optimizer.explore.price_lines import break_evens, break_evens_between, cheapest_pieces
    from optimizer.explore.told_front import told_prices

    name = f"{PUMP_PRICE}{pump}" if pump else "energy_price"

    def analysis(study: Study) -> Result:
        _demand_pumps(study, [*([pump] if pump else []), *(between or ())])
        ends = rising(low, given_or(high, 5.0 * change_of(name).now(study.job)))
        if not between:
            pieces = cheapest_pieces(study, name, *ends)
            return told_prices(study, name, pieces, break_evens(pieces))
        first, second = (cheapest_pieces(study, name, *ends, {"pump": p}) for p in between)
        met = break_evens_between(first, second)
        return told_prices(study, name, [*first, *second], met)

    return run_study(asked, analysis)


def _demand_pumps(study: Study, names: Sequence[str]) -> None:
    known = study.job.catalog.pumps
    fix = f"Choose from: {', '.join(known)}."
    problems = [
        Problem("pump", f"{pump!r} is not in the catalog.", fix)
        for pump in names
        if pump not in known
    ]
    if problems:
        raise BadInput(problems)


@explore.command()
@click.argument("design_files", nargs=-1, type=click.Path(path_type=Path), required=True)
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the tables.")
@as_json
@guarded
def compare(design_files: tuple[Path, ...], out: Path | None, as_json: bool) -> int:
    """Two or more stored designs side by side: parts, cost, margins, plan."""
    from optimizer.explore.told import told_variants
    from optimizer.records.design_io import read_design
    from optimizer.simulate.check import check_design

    if len({file.resolve() for file in design_files}) < 2:
        problem = Problem("compare", "needs two designs or more.", "Name another design.json.")
        raise BadInput([problem])
    designs = {name: read_design(f) for name, f in _named(design_files).items()}
    if out:
        demand_folder(out)
    checks = {name: check_design(design) for name, design in designs.items()}
    result = told_variants(designs, checks)
    files = hand_over(result, out) if out else []
    show(result, files, as_json=as_json)
    return OK if all(check.passed for check in checks.values()) else NO


def _named(files: Sequence[Path]) -> dict[str, Path]:
    """Name each design by as much of the end of its path as tells them apart."""
    whole = tuple(dict.fromkeys(files))
    most = max(len(file.parts) for file in whole)
    named = (
        {str(Path(*file.parts[-parts:])): file for file in whole} for parts in range(1, most + 1)
    )
    return next(short for short in named if len(short) == len(whole))
