"""The verb ``simulate``: a design over a day, its first start, a power cut, its reliability."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from optimizer.cli_answers import NO, OK, as_json, guarded
from optimizer.cli_doings import read_doings
from optimizer.cli_options import SEED, FiniteNumber, demand_folder
from optimizer.cli_output import console

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
    help="Further runs from other random moments.",
)
@click.option(
    "--seed", type=SEED, default=0, show_default=True, help="Seed of random moments and draws."
)
@click.option(
    "--draws",
    type=click.IntRange(1, 10**6),
    default=2000,
    show_default=True,
    help="Draws of what is not known exactly.",
)
@click.option("--pump-off", multiple=True, metavar="FROM-TO", help="Pump off, in hours: 10-11.5.")
@click.option("--valve-shut", multiple=True, metavar="BED@HOUR", help="Shut a bed's valve: A1@6.")
@click.option(
    "--clog", multiple=True, metavar="BED@HOUR=SHARE", help="Clog a bed's medium: A1@6=30%."
)
@click.option(
    "--out", type=click.Path(path_type=Path), help="Folder for page and tables, else the design's."
)
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
    clog: tuple[str, ...],
    out: Path | None,
    as_json: bool,
) -> int:
    """Run a stored design.json over a day; write a page of charts, and tables.

    The day itself, the first start from dry, the worst power cut, and how surely it all works.
    """
    stops, shut, clogged = read_doings(pump_off, valve_shut, clog, hours)
    from optimizer.day_gather import gather_day
    from optimizer.records.design_io import read_design
    from optimizer.report.day_doings import Doings
    from optimizer.report.day_page import write_day

    design = read_design(design_file)
    folder = out or design_file.parent
    demand_folder(folder)
    doings = Doings(hours, start, seed, stops, shut, clogged)
    with _Watch(quiet=as_json) as tell:
        facts = gather_day(design, doings, days, draws, tell)
        tell("the page")
        files = write_day(design, facts, folder)
    if as_json:
        told = _machine(design, facts) | {"files": [str(file) for file in files]}
        click.echo(json.dumps(told, ensure_ascii=False))
    else:
        _show(design, facts, files)
    return NO if facts.failures else OK


def _show(design: Design, facts: DayFacts, files: list[Path]) -> None:
    from rich.table import Table
    from rich.text import Text

    from optimizer.report import day_words

    grid = Table.grid(padding=(0, 2))
    rows = [("Does it go well?", day_words.verdict(facts)), *day_words.answers(design, facts)]
    for question, answer in rows:
        grid.add_row(Text(question, style="bold"), Text(answer))
    out = console()
    out.print(grid)
    for line in day_words.failure_lines(design, facts):
        out.print(Text(f"FAILS {line}"))
    if facts.starts.openings and len(design.beds) > 1:
        out.print("Staggered start, minutes after the pump was switched on:")
        for minute, beds in facts.starts.openings:
            out.print(Text(f"  minute {minute:5.1f}: open {', '.join(beds)}"))
    tables = ", ".join(file.name for file in files[1:])
    out.print(Text(f"Files in {files[0].parent}"))
    out.print(Text(f"  {files[0].name}: the whole day in charts; open it in a browser"))
    out.print(Text(f"  tables: {tables}"))


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
        else None,
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
    """A line in the terminal with what is being run and for how long, after the first moments."""

    def __init__(self, *, quiet: bool) -> None:
        from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

        said = TextColumn("simulating: {task.description} (Ctrl-C stops)", markup=False)
        shown_on = console(stderr=True)
        columns = (SpinnerColumn(), said, TimeElapsedColumn())
        self.shown = Progress(*columns, console=shown_on, transient=True)
        self.task = self.shown.add_task("the day itself")
        self.timer = threading.Timer(QUIET_S, self.shown.start)
        self.timer.daemon = True
        self.wanted = shown_on.is_terminal and not quiet

    def __enter__(self) -> Callable[[str], None]:
        if self.wanted:
            self.timer.start()
        return lambda doing: self.shown.update(self.task, description=doing)

    def __exit__(self, *_: object) -> None:
        if self.wanted:
            self.timer.cancel()
            self.timer.join()
            self.shown.stop()
