"""The verb ``simulate``: a design over a day, its first start, a power cut, its reliability."""

from __future__ import annotations

import json
import math
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from optimizer.cli_answers import NO, OK, as_json, guarded
from optimizer.cli_options import SEED, FiniteNumber, demand_folder
from optimizer.errors import BadInput, Problem

if TYPE_CHECKING:
    from optimizer.records.design import Design
    from optimizer.report.day_facts import DayFacts

HOURS = FiniteNumber(min=0.1, max=24.0 * 60.0)
STARTS = click.Choice(["random", "dry", "drained", "steady"])
QUIET_S = 2.0
"""Work shorter than this shows no progress."""


@click.command()
@click.argument("design_file", type=click.Path(path_type=Path))
@click.option("--hours", type=HOURS, default=24.0, show_default=True, help="How long to run.")
@click.option("--start", type=STARTS, default="random", show_default=True, help="How beds begin.")
@click.option(
    "--days",
    type=click.IntRange(0, 1000),
    default=0,
    show_default=True,
    help="Further runs at random phases.",
)
@click.option("--seed", type=SEED, default=0, show_default=True, help="Seed of phases and draws.")
@click.option(
    "--draws",
    type=click.IntRange(1, 10**6),
    default=2000,
    show_default=True,
    help="Draws of what is not known exactly.",
)
@click.option("--pump-off", multiple=True, metavar="FROM-TO", help="Pump off, in hours: 10-11.5.")
@click.option("--valve-shut", multiple=True, metavar="BED@HOUR", help="Shut a bed's valve: A1@6.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for day.html and tables.")
@as_json
@guarded
def simulate(
    design_file: Path,
    hours: float,
    start: str,
    days: int,
    seed: int,
    draws: int,
    pump_off: tuple[str, ...],
    valve_shut: tuple[str, ...],
    out: Path | None,
    as_json: bool,
) -> int:
    """Run a stored design.json event by event: day, start from dry, power cut, reliability."""
    stops, shut = _doings(pump_off, valve_shut, hours)
    from optimizer.day_gather import gather_day
    from optimizer.records.design_io import read_design
    from optimizer.report.day_facts import Doings
    from optimizer.report.day_page import write_day

    design = read_design(design_file)
    if out:
        demand_folder(out)
    with _Watch(quiet=as_json) as tell:
        facts = gather_day(design, Doings(hours, start, seed, stops, shut), days, draws, tell)
        if out:
            tell("writing the page")
        files = write_day(design, facts, out) if out else []
    if as_json:
        told = _machine(design, facts) | {"files": [str(file) for file in files]}
        click.echo(json.dumps(told, ensure_ascii=False))
    else:
        _show(design, facts, files)
    return NO if facts.failures else OK


def _doings(
    pump_off: tuple[str, ...], valve_shut: tuple[str, ...], hours: float
) -> tuple[tuple[tuple[float, float], ...], tuple[tuple[str, float], ...]]:
    """Return pump stops, in order, and shut valves as hours.

    Raises:
        BadInput: naming every one that cannot be read or lies outside the run.
    """
    problems: list[Problem] = []
    stops, shut = [], []
    for text in pump_off:
        begin, end = (_hour(part) for part in (text + "-").split("-")[:2])
        if text.count("-") == 1 and 0.0 <= begin < end and begin < hours:
            stops.append((begin, end))
        else:
            fix = f"Write hours within the run of {hours:g} h, the earlier first, as 10-11.5."
            problems.append(Problem(f"--pump-off {text}", "is no stretch of time.", fix))
    for text in valve_shut:
        bed, _, hour = text.rpartition("@")
        if bed and 0.0 <= _hour(hour) < hours:
            shut.append((bed, _hour(hour)))
        else:
            fix = f"Write a bed and an hour within the run of {hours:g} h, as A1@6."
            problems.append(Problem(f"--valve-shut {text}", "names no bed and hour.", fix))
    if problems:
        raise BadInput(problems)
    return tuple(sorted(stops)), tuple(shut)


def _hour(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def _show(design: Design, facts: DayFacts, files: list[Path]) -> None:
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    from optimizer.report import day_words

    grid = Table.grid(padding=(0, 2))
    rows = [("Does it go well?", day_words.verdict(facts)), *day_words.answers(design, facts)]
    for question, answer in rows:
        grid.add_row(Text(question, style="bold"), Text(answer))
    console = Console(highlight=False)
    console.print(grid)
    for line in day_words.failure_lines(design, facts):
        console.print(Text(f"FAILS {line}"))
    console.print("Staggered start:")
    for minute, beds in facts.starts.openings:
        console.print(Text(f"  minute {minute:5.1f}: open {', '.join(beds)}"))
    if files:
        names = ", ".join(file.name for file in files)
        console.print(Text(f"Files in {files[0].parent}\n  {names}"))
    else:
        console.print("Add --out FOLDER for a page with charts, and tables.")


def _machine(design: Design, facts: DayFacts) -> dict[str, Any]:
    """Return the answer as JSON-ready figures, SI with the unit in each key."""
    beds, peaks, cut = facts.beds, facts.collector.peaks, facts.cut
    floods = beds["floods_per_hour"]
    return {
        "hours": facts.doings.hours,
        "start": facts.doings.start,
        "beds": len(design.beds),
        "floods_per_hour": [float(floods.min()), float(floods.max())],
        "missed_starts": int(beds["missed_starts"].sum()),
        "missed_stops": int(beds["missed_stops"].sum()),
        "sump_m": list(facts.sump_m),
        "sump_allowed_m": [design.pump.submergence_m, cut.allowed_m],
        "collector_peak_share": float((peaks["peak_m3_s"] / peaks["capacity_m3_s"]).max())
        if len(peaks)
        else 0.0,
        "energy_kwh": facts.energy_kwh,
        "failures": [f"{f.subject}: {f.promise}" for f in facts.failures],
        "together": facts.starts.together_by_chance,
        "hours_from_dry": facts.starts.hours_in_step,
        "staggered_start_holds": facts.starts.holds,
        "open": [[minute, list(names)] for minute, names in facts.starts.openings],
        "power_cut_m": [cut.highest_m, cut.allowed_m],
        "works_in_share": facts.risk.share,
        "to_blame": facts.risk.to_blame,
        "days": facts.days.to_dict("records"),
    }


class _Watch:
    """A line in the terminal with what is being done, once that takes more than a moment."""

    def __init__(self, *, quiet: bool) -> None:
        from rich.console import Console

        self.status = None if quiet else Console(stderr=True).status("simulating")
        self.began_s = time.monotonic()
        self.shown = False

    def __enter__(self) -> Callable[[str], None]:
        return self._tell

    def __exit__(self, *_: object) -> None:
        if self.status is not None and self.shown:
            self.status.stop()

    def _tell(self, doing: str) -> None:
        if self.status is None:
            return
        if not self.shown and time.monotonic() - self.began_s >= QUIET_S:
            self.status.start()
            self.shown = True
        if self.shown:
            self.status.update(f"simulating: {doing} ({time.monotonic() - self.began_s:.0f} s)")
