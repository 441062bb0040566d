"""The verb ``phase``: a site built step by step, what to buy ahead, what each step costs."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimizer.cli_answers import INTERRUPTED, NO, OK, as_json, guarded
from optimizer.cli_keeping import keeping_the_best
from optimizer.cli_options import demand_folder, search_options
from optimizer.cli_output import StatusLine, console, show_with_files, write_results

if TYPE_CHECKING:
    from optimizer.records.phasing import Phasing


@click.command()
@click.argument("site", type=click.Path(path_type=Path))
@click.option(
    "--built",
    type=click.Path(path_type=Path),
    help="A design.json that stands before the first phase.",
)
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the results.")
@search_options("Seconds for each search.")
@click.option(
    "--room/--no-room",
    default=True,
    show_default=True,
    help="Also find how many beds fit on the pump of each step.",
)
@as_json
@guarded
def phase(
    site: Path,
    built: Path | None,
    out: Path | None,
    gap: float,
    time_limit: float | None,
    seed: int,
    room: bool,
    as_json: bool,
) -> int:
    """Build a site in the phases its file names: what to buy when, and what each step costs.

    The file's [[phase]] tables say what is built in which year. Compares from which step on sump,
    pump and header are best bought as the whole site will have them. Ctrl-C keeps the best so far.
    """
    from optimizer.phasing.compare import plan_phases
    from optimizer.pipeline import read_job
    from optimizer.reading.in_file import naming, read_both
    from optimizer.records.design_io import read_design

    job, old = read_both(
        lambda: read_job(site), lambda: None if built is None else read_design(built)
    )
    folder = out or site.with_name(f"{site.stem}-phases")
    demand_folder(folder)
    line: StatusLine[str] = StatusLine(
        "reading the phases", _doing, quiet=as_json or not console(stderr=True).is_terminal
    )
    with keeping_the_best(line) as search, naming(site, *([built] if built else [])):
        found = plan_phases(
            job,
            old,
            gap=gap,
            time_limit_s=time_limit,
            seed=seed,
            room=room,
            tell=search.tell or (lambda _: None),
            stop=search.stop,
            source=str(built or "old design"),
        )
    _show(found, _written(found, folder), wants_json=as_json)
    if search.stop.is_set():
        return INTERRUPTED
    return OK if found.passed else NO


def _doing(words: str) -> str:
    return f"{words} (Ctrl-C keeps the best plan so far)"


def _written(found: Phasing, folder: Path) -> list[Path]:
    """Write the page and tables of the plans, and each step's design with its own, all or none."""
    from optimizer.files import written_together
    from optimizer.report.phase_page import write_phases

    steps = found.best.steps
    names = [f"step-{number}" for number in range(1, len(steps) + 1)]
    pages = [(step.name, f"{name}/page.html") for name, step in zip(names, steps, strict=True)]
    files = []
    with written_together(folder):
        for name, step, check in zip(names, steps, found.checks, strict=True):
            files += write_results(step.design, check, folder / name, charts=False)
        return [*write_phases(found, folder, pages), *files]


def _show(found: Phasing, files: list[Path], *, wants_json: bool) -> None:
    from optimizer.report.phase_tables import phasing_dict
    from optimizer.report.phase_words import phasing_summary

    named = ("phases.html", "phases.json", "design.json")
    words = partial(phasing_summary, found)
    show_with_files(phasing_dict(found), words, files, named, wants_json=wants_json)
