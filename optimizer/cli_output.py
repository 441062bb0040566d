"""What the verbs that design write and show: files, the answer, and a line while a search runs."""

from __future__ import annotations

import json
from collections.abc import Callable, Container, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, TypeVar

import click

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

    from optimizer.milp.engine import Progress
    from optimizer.records.check import CheckReport
    from optimizer.records.design import Design
    from optimizer.records.safety import SafetyStep


def console(*, stderr: bool = False) -> Console:
    """Return where to print."""
    from rich.console import Console

    return Console(stderr=stderr, highlight=False, soft_wrap=False)


def write_results(
    design: Design,
    check: CheckReport,
    folder: Path,
    *,
    charts: bool,
    safety: Sequence[SafetyStep] = (),
) -> list[Path]:
    """Write a design, its page and tables, all or none; with steps of safety, their costs too."""
    from optimizer.files import write_text_whole, written_together
    from optimizer.records.design_io import write_design
    from optimizer.report.writer import save_charts, write_report

    stored = folder / "design.json"
    record = design.record
    log = {
        "solve_seconds": round(record.seconds, 3),
        "formulation": record.formulation,
        "why": record.why,
    }
    with written_together(folder):
        write_design(design, stored)
        write_text_whole(folder / "run_log.json", json.dumps(log) + "\n")
        files = [stored, *write_report(design, check, folder, safety)]
        if charts:
            files += save_charts(design, check, folder)
    return files


def show(design: Design, check: CheckReport, files: list[Path], *, wants_json: bool) -> None:
    """Print a design and its check, in words or as JSON."""
    from optimizer.report.machine import answer_dict
    from optimizer.report.summary import summary

    if wants_json:
        found = answer_dict(design, check) | {"files": [str(file) for file in files]}
        click.echo(json.dumps(found, ensure_ascii=False))
    else:
        console().print(summary(design, check, files))


def show_with_files(
    facts: dict[str, Any],
    words: Callable[[list[Path]], RenderableType],
    files: list[Path],
    named: Container[str],
    *,
    wants_json: bool,
) -> None:
    """Print an answer in words with the files that are named, or as JSON with every file."""
    if wants_json:
        click.echo(json.dumps(facts | {"files": [str(f) for f in files]}, ensure_ascii=False))
    else:
        console().print(words([file for file in files if file.name in named]))


Now = TypeVar("Now")


class StatusLine(Generic[Now]):
    """A line in the terminal that says how far long work is, while it runs.

    Args:
        first: what stands there at the start.
        words: the line for what is told later.
        quiet: show nothing.
    """

    def __init__(self, first: str, words: Callable[[Now], str], *, quiet: bool) -> None:
        self.first, self.words, self.quiet = first, words, quiet

    def __enter__(self) -> Callable[[Now], None] | None:
        """Show the line; the function returned is to be told how the work stands."""
        if self.quiet:
            return None
        self.status = console(stderr=True).status(self.first)
        self.status.start()
        return lambda now: self.status.update(self.words(now))

    def __exit__(self, *_: object) -> None:
        """Take the line away."""
        if not self.quiet:
            self.status.stop()


LOOKING = "looking for a first design"


def watching(*, quiet: bool, before: str = "") -> StatusLine[Progress]:
    """Return a line with the best cost, the bound and the gap of a search."""
    return StatusLine(f"{before}{LOOKING}", lambda now: before + how_it_stands(now), quiet=quiet)


def how_it_stands(progress: Progress) -> str:
    """Return the best cost of a search and how far it may lie above the least possible."""
    text = LOOKING
    if progress.best is not None:
        text = f"best so far {progress.best / 100:,.2f}"
        if progress.bound is not None and progress.best > 0:
            gap = max(0.0, (progress.best - progress.bound) / progress.best)
            text += f", at most {gap:.3%} above the least possible"
    return f"{text} ({progress.seconds:.0f} s; Ctrl-C keeps the best so far)"
