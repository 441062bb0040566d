"""The verb ``mend``: what of a system that stands works, what does not and why, how to mend it."""

from __future__ import annotations

import json
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from optimizer.cli_answers import INTERRUPTED, NO, OK, as_json, guarded
from optimizer.cli_keeping import keeping_the_best
from optimizer.cli_options import SECONDS
from optimizer.cli_output import StatusLine, console, how_it_stands

if TYPE_CHECKING:
    from optimizer.mend.as_built import AsBuilt
    from optimizer.mend.proposals import Doing
    from optimizer.records.mending import Diagnosis


@click.command()
@click.argument("site", type=click.Path(path_type=Path))
@click.option(
    "--built",
    type=click.Path(path_type=Path),
    help="A design.json of this site, taken to stand as designed.",
)
@click.option(
    "--ways",
    type=click.IntRange(1, 6),
    default=3,
    show_default=True,
    help="Really different ways to mend it to look for, least cost first.",
)
@click.option("--time-limit", type=SECONDS, help="Seconds after which the best so far is kept.")
@as_json
@guarded
def mend(site: Path, built: Path | None, ways: int, time_limit: float | None, as_json: bool) -> int:
    """Diagnose a system that stands, and find the least changes that make everything work.

    The site file's [standing] says what stands. Answers 0 when all works, 1 when something does
    not, 2 when the file needs mending or leaves questions open, 3 when the search was stopped
    before it was done: the ways found so far are shown.
    """
    from optimizer.mend.run import diagnose, read_standing

    there = read_standing(site, built)
    line: StatusLine[Doing] = StatusLine("running the system as it stands", _words, quiet=as_json)
    with keeping_the_best(line, time_limit) as search:
        found = diagnose(there, search.tell or (lambda _: None), search.stop, ways)
    if as_json:
        click.echo(json.dumps(_machine(found), ensure_ascii=False))
    else:
        _show(there, found)
    if found.state.works:
        return OK
    return INTERRUPTED if search.stop.is_set() else NO


def _words(doing: Doing) -> str:
    progress = doing.progress
    return f"looking for {doing.words}" + (f": {how_it_stands(progress)}" if progress else "")


def _machine(found: Diagnosis) -> dict[str, Any]:
    from optimizer.report.mend_words import as_plain

    return as_plain(found)


def _show(there: AsBuilt, found: Diagnosis) -> None:
    from rich.table import Table
    from rich.text import Text

    from optimizer.report import mend_words
    from optimizer.report.scales import Reader

    out, reader = console(), Reader(there.site.units)
    for sentence in mend_words.answers(found, reader):
        out.print(Text(_wrapped(sentence, out.width)))
    grid = Table(box=None, padding=(0, 2), title_justify="left")
    for column in mend_words.bed_columns(reader):
        grid.add_column(column, justify="left" if column == "bed" else "right")
    for row in mend_words.bed_rows(found.state, reader):
        grid.add_row(*(Text(cell) for cell in row))
    out.print(grid)
    for sentence in mend_words.proposal_lines(found, there.site.currency):
        out.print(Text(_wrapped(sentence, out.width)))


def _wrapped(line: str, width: int) -> str:
    """Return a line over as many as it takes, those after the first set in under its words."""
    begin = len(line) - len(line.lstrip(" -0123456789."))
    return textwrap.fill(line, width, subsequent_indent=" " * begin, break_on_hyphens=False)
