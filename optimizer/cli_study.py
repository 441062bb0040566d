"""What every verb of ``explore`` shares: its options, its progress line, its results on disk."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from optimizer.cli_answers import INTERRUPTED, OK, as_json
from optimizer.cli_options import demand_folder, search_options
from optimizer.cli_output import StatusLine, console

if TYPE_CHECKING:
    import pandas as pd

    from optimizer.explore.engine import Engine
    from optimizer.explore.results import Result
    from optimizer.explore.sweep import Study, Told

STORE = "points.sqlite"
RUN_LOG = "run_log.json"
SHORT = 19
"""Letters of a figure or an id that is never broken over two lines."""

GAP = 3
"""Letters of a terminal between two columns."""


_OPTIONS: list[Callable[[Any], Any]] = [
    click.argument("site", type=click.Path(path_type=Path)),
    click.option("--out", type=click.Path(path_type=Path), help="Folder for the results."),
    click.option(
        "--workers",
        type=click.IntRange(1, 4096),
        help="Processes. By default as many as there are cores, where that is quicker than one.",
    ),
    click.option("--dask", metavar="ADDRESS", help="A Dask scheduler, as tcp://host:port."),
    search_options("Seconds a search may take.", time_limit_s=120.0),
    click.option("--designs", is_flag=True, help="Also write each point's design.json."),
    as_json,
]


def study_options(verb: Callable[..., None]) -> Callable[..., None]:
    """Give a verb the options that every study takes."""
    for option in reversed(_OPTIONS):
        verb = option(verb)
    return verb


@dataclass(frozen=True)
class Asked:
    """How a study was asked for: the options above."""

    site: Path
    out: Path | None
    workers: int | None
    dask: str | None
    gap: float
    time_limit: float
    seed: int
    designs: bool
    as_json: bool

    @property
    def folder(self) -> Path:
        """Where results go."""
        return self.out or self.site.with_name(f"{self.site.stem}-explore")


def run_study(
    asked: dict[str, Any], analysis: Callable[[Study], Result], *, check: bool = False
) -> int:
    """Run an analysis on a site and hand its result over.

    Args:
        asked: the options as click gives them.
        analysis: from a study to a result.
        check: whether each design is also checked by simulation.
    """
    from optimizer.files import write_text_whole, written_together

    ask = Asked(**asked)
    with _studied(ask, check=check) as study:
        try:
            result = analysis(study)
        except KeyboardInterrupt:
            kept = f"Stopped. Finished points are kept in {ask.folder / STORE}; "
            click.echo(kept + "run the same command again to go on.", err=True)
            return INTERRUPTED
        log = {"seconds_of_all_points": round(study.store.seconds(), 3)}
        with written_together(ask.folder):
            files = hand_over(result, ask.folder, study=study, designs=ask.designs)
            write_text_whole(ask.folder / RUN_LOG, json.dumps(log) + "\n")
    show(result, [ask.folder / STORE, *files], as_json=ask.as_json)
    return OK


@contextmanager
def _studied(ask: Asked, *, check: bool) -> Iterator[Study]:
    from optimizer.explore.point import Search
    from optimizer.explore.store import Store
    from optimizer.explore.sweep import Study
    from optimizer.pipeline import read_job

    job = read_job(ask.site)
    demand_folder(ask.folder)
    search = Search(ask.gap, ask.time_limit, ask.seed, check)
    with closing(_engine(ask)) as engine:
        ask.folder.mkdir(parents=True, exist_ok=True)
        with Store(ask.folder / STORE) as store, _watching(quiet=ask.as_json) as told:
            yield Study(job, engine, store, search, told)


def _engine(ask: Asked) -> Engine:
    import os

    from optimizer.explore.engine import Serial
    from optimizer.explore.processes import Processes, Thrifty

    if ask.dask and ask.workers:
        raise click.UsageError("Give --workers or --dask, not both.")
    if ask.dask:
        from optimizer.explore.dask_engine import Dask

        return Dask(ask.dask)
    if ask.workers:
        return Serial() if ask.workers == 1 else Processes(ask.workers)
    return Thrifty(os.cpu_count() or 1)


def hand_over(
    result: Result, folder: Path, *, study: Study | None = None, designs: bool = False
) -> list[Path]:
    """Write a result's files, all or none."""
    from optimizer.explore.results import write_result
    from optimizer.files import written_together

    with written_together(folder):
        return write_result(result, study if designs else None, folder)


def show(result: Result, files: list[Path], *, as_json: bool) -> None:
    """Tell a result in the terminal, or as one JSON object."""
    if as_json:
        tables = {
            name: json.loads(frame.to_json(orient="records", force_ascii=False))
            for name, frame in result.tables.items()
        }
        told = {"answer": list(result.sentences), **tables, "files": [str(f) for f in files]}
        click.echo(json.dumps(told, ensure_ascii=False))
        return
    out = console()
    for sentence in result.sentences:
        out.print(sentence, markup=False)
    if len(result.shown):
        out.print(_rich_table(result.shown, out.width))
    places = sorted({str(file.parent) for file in files})
    if places:
        out.print(f"Tables and charts are in {', '.join(places)}.", markup=False, soft_wrap=True)
    for page in (file for file in files if file.suffix == ".html"):
        choose = f"Choose among the designs in {page} (any browser, no network)."
        out.print(choose, markup=False, soft_wrap=True)


def _rich_table(frame: pd.DataFrame, width: int) -> Any:  # noqa: ANN401  # rich is imported late
    from rich.box import SIMPLE
    from rich.table import Table
    from rich.text import Text

    empty = [name for name in frame if not frame[name].astype(str).str.len().any()]
    told = frame.drop(columns=empty)
    longest = {name: int(told[name].astype(str).str.len().max()) for name in told}
    whole = _kept_whole(longest, width)
    table = Table(box=SIMPLE, pad_edge=False)
    for name, letters in longest.items():
        kept = letters if letters <= SHORT and letters < len(str(name)) else None
        table.add_column(Text(str(name)), overflow="fold", no_wrap=name in whole, min_width=kept)
    for row in told.itertuples(index=False):
        table.add_row(*(Text(str(value)) for value in row))
    return table


def _kept_whole(longest: Mapping[Any, int], width: int) -> set[Any]:
    """Return the columns of short figures that stand in one line; the widest give way first."""
    wide = {n: max(letters, len(str(n))) for n, letters in longest.items() if letters <= SHORT}
    while wide and sum(wide.values()) + GAP * len(longest) > width:
        del wide[max(wide, key=wide.__getitem__)]
    return set(wide)


def _watching(*, quiet: bool) -> StatusLine[Told]:
    """Return a line with the points done and the time left."""
    return StatusLine("designing the first point", _done, quiet=quiet)


def _done(told: Told) -> str:
    left = f", about {left_words(told.left_s)} left"
    return f"{told.done} of {told.points} points{left} (Ctrl-C keeps finished points)"


def left_words(seconds: float) -> str:
    """Return a time left in words, no finer than it can be known.

    >>> left_words(0.4), left_words(75.0), left_words(5000.0)
    ('1 s', '2 min', '1.4 h')
    """
    if seconds < 60.0:
        return f"{max(1, round(seconds))} s"
    return f"{-(-seconds // 60):.0f} min" if seconds < 3600.0 else f"{seconds / 3600.0:.1f} h"
