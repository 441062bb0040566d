"""The verb ``safety``: what it costs to be surer that every bed works."""

from __future__ import annotations

import json
import threading
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimizer.cli_answers import INTERRUPTED, NO, OK, as_json, guarded
from optimizer.cli_options import demand_folder, search_options
from optimizer.cli_output import console, watching, write_results

if TYPE_CHECKING:
    from optimizer.job import Job
    from optimizer.records.safety import SafetyStep


@click.command()
@click.argument("site", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="Folder for page and tables.")
@search_options("Seconds for each of the three searches.")
@as_json
@guarded
def safety(
    site: Path, out: Path | None, gap: float, time_limit: float | None, seed: int, as_json: bool
) -> int:
    """Design a site for nominal, 95 % and whole-band safety; say what more safety costs."""
    from optimizer.pipeline import read_job

    job = read_job(site)
    if out:
        demand_folder(out)
    stop = threading.Event()
    steps = _designed(job, gap, time_limit, seed, stop, quiet=as_json)
    if not steps:
        raise KeyboardInterrupt
    files = _write(steps, job.site.goals.robustness, out) if out else []
    _show(steps, files, wants_json=as_json)
    if stop.is_set():
        return INTERRUPTED
    return OK if _some_design_holds(steps) else NO


def _designed(
    job: Job,
    gap: float,
    time_limit_s: float | None,
    seed: int,
    stop: threading.Event,
    *,
    quiet: bool,
) -> list[SafetyStep]:
    """Return the levels that were finished, all of them unless stopped."""
    from optimizer.report.safety_words import level_words
    from optimizer.safety import LEVELS, cost_of_safety

    done: list[SafetyStep] = []
    try:
        for level in LEVELS:
            if stop.is_set():
                break
            with watching(quiet=quiet, before=f"{level_words(level)}: ") as progress:
                done += cost_of_safety(
                    job,
                    levels=(level,),
                    gap=gap,
                    time_limit_s=time_limit_s,
                    seed=seed,
                    progress=progress,
                    stop=stop,
                )
    except KeyboardInterrupt:
        stop.set()
    return done


def _some_design_holds(steps: list[SafetyStep]) -> bool:
    """Return whether some level has a design, and every design passes its check."""
    from optimizer.records.safety import SafeDesign

    passed = [step.check.passed for step in steps if isinstance(step, SafeDesign)]
    return bool(passed) and all(passed)


def _write(steps: list[SafetyStep], level: str, folder: Path) -> list[Path]:
    """Write the design of the site's own level, its page with the table; the table alone else."""
    from optimizer.files import write_text_whole, written_together
    from optimizer.records.safety import SafeDesign
    from optimizer.report.safety_tables import safety_frame

    for step in steps:
        if isinstance(step, SafeDesign) and step.level == level:
            return write_results(step.design, step.check, folder, charts=False, safety=steps)
    table = folder / "safety.csv"
    with written_together(folder):
        write_text_whole(table, safety_frame(steps).to_csv(index=False, lineterminator="\n"))
    return [table]


def _show(steps: list[SafetyStep], files: list[Path], *, wants_json: bool) -> None:
    from optimizer.report.safety_tables import safety_frame
    from optimizer.report.summary import safety_summary

    if wants_json:
        rows = json.loads(safety_frame(steps).to_json(orient="records"))
        found = {"levels": rows, "files": [str(file) for file in files]}
        click.echo(json.dumps(found, ensure_ascii=False))
    else:
        console().print(safety_summary(steps, files))
