"""The ``floodwright`` command: the only module that prints.

Exit codes: 0 all is well; 1 the answer is no (no design exists, or a design fails its check);
2 bad input; 3 interrupted, with the best so far where there is one. Heavy imports happen inside the
verbs, so that help appears at once.
"""

from __future__ import annotations

import gc
import json
from pathlib import Path

import click

from optimizer.cli_answers import BAD_INPUT, INTERRUPTED, NO, OK, as_json, guarded
from optimizer.cli_calibrate import calibrate
from optimizer.cli_explore import explore
from optimizer.cli_extend import extend
from optimizer.cli_keeping import keeping_the_best
from optimizer.cli_mend import mend
from optimizer.cli_options import FORMULATION, demand_folder, demand_new_file, search_options
from optimizer.cli_output import show, watching, write_results
from optimizer.cli_pack import pack
from optimizer.cli_phase import phase
from optimizer.cli_safety import safety
from optimizer.cli_simulate import simulate

OBJECTS_BETWEEN = 20_000
"""New objects between two looks of Python's collector of cycles, in place of its own 700. Loading a
verb's libraries makes several hundred thousand that all stay, so there is nothing to find: looking
seldom saves about a twentieth of the loading (``tests/benchmarks/bench_command.py``)."""


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="floodwright")
def main() -> None:
    """Design many flood-and-drain beds on one pump: least cost, proven, and checked.

    Start with `floodwright start my-site.toml`, then `floodwright design my-site.toml`.
    """
    gc.set_threshold(OBJECTS_BETWEEN)


@main.command()
@click.argument("site", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the results.")
@search_options("Seconds after which the best so far is kept.")
@click.option(
    "--formulation",
    type=FORMULATION,
    default="best",
    show_default=True,
    help="How to search: by parts (composed), all at once (complete), or whichever fits best.",
)
@click.option(
    "--nearly/--no-nearly",
    default=True,
    show_default=True,
    help="Also price what nearly decided otherwise, on sites that are not too large.",
)
@click.option("--charts", is_flag=True, help="Also save charts as SVG and PNG, unless stopped.")
@as_json
@guarded
def design(
    site: Path,
    out: Path | None,
    gap: float,
    time_limit: float | None,
    seed: int,
    formulation: str,
    nearly: bool,
    charts: bool,
    as_json: bool,
) -> int:
    """Find the least-cost design for a site file, prove it, check it, write page and tables."""
    from optimizer.alternatives import design_layouts
    from optimizer.pipeline import read_job
    from optimizer.reading.in_file import naming
    from optimizer.search_settings import SearchSettings

    job = read_job(site)
    folder = out or site.with_name(f"{site.stem}-design")
    demand_folder(folder)
    with keeping_the_best(watching(quiet=as_json)) as search, naming(site):
        how = SearchSettings(gap, time_limit, seed, formulation, search.tell, search.stop)
        answer = design_layouts(job, how, nearly=nearly)
    wanted = charts and not search.stop.is_set()  # after Ctrl-C the design, its page and no more
    files = write_results(answer.design, answer.check, folder, charts=wanted)
    show(answer.design, answer.check, files, wants_json=as_json)
    if answer.design.record.status == "stopped":
        return INTERRUPTED
    return OK if answer.check.passed else NO


@main.command()
@click.argument("design_file", type=click.Path(path_type=Path))
@as_json
@guarded
def check(design_file: Path, as_json: bool) -> int:
    """Check a stored design.json by simulation that shares nothing with the optimiser."""
    from optimizer.records.design_io import read_design
    from optimizer.simulate.whole_check import check_whole

    stored = read_design(design_file)
    report = check_whole(stored)
    show(stored, report, [], wants_json=as_json)
    return OK if report.passed else NO


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--answer", "given", multiple=True, metavar="NAME=VALUE", help="Answer a question.")
@click.option("--yes", is_flag=True, help="Ask nothing: take the default for all else.")
@click.option("--force", is_flag=True, help="Replace the file if it is there.")
@guarded
def start(file: Path, given: tuple[str, ...], yes: bool, force: bool) -> int:
    """Ask at most ten questions and write a commented site file that designs at once."""
    from optimizer.files import write_text_whole, written_together
    from optimizer.reading.starter import answers_from, starter_text

    demand_new_file(file, force=force)
    answers = _asked(dict(pair.partition("=")[::2] for pair in given), quietly=yes)
    text = starter_text(answers_from(answers))
    with written_together(file.parent):
        write_text_whole(file, text)
    click.echo(f"Wrote {file}. Next: floodwright design {file}")
    return OK


@main.command("catalog")
@click.argument("table", required=False)
@click.option("--folder", type=click.Path(path_type=Path), help="Your own catalog folder.")
@as_json
@guarded
def show_catalog(table: str | None, folder: Path | None, as_json: bool) -> int:
    """List the catalog's tables, or the parts of one table."""
    from optimizer.reading.catalog import read_catalog
    from optimizer.reading.catalog_frames import catalog_frames

    frames = catalog_frames(read_catalog(folder))
    if table is None:
        rows = {name: len(frame) for name, frame in frames.items()}
        click.echo(json.dumps(rows) if as_json else "\n".join(f"{k}: {v}" for k, v in rows.items()))
        return OK
    if table not in frames:
        click.echo(f"No table {table!r}. Choose from: {', '.join(frames)}.", err=True)
        return BAD_INPUT
    if as_json:
        click.echo(frames[table].to_json(orient="records", force_ascii=False))
    else:
        click.echo(frames[table].drop(columns="source", errors="ignore").to_string(index=False))
    return OK


def _asked(answers: dict[str, str], *, quietly: bool) -> dict[str, str]:
    """Return an answer to every question: the one given, the one typed, or the default."""
    from optimizer.reading.starter import QUESTIONS

    for question in QUESTIONS:
        default = question.default_us if answers.get("units") == "us" else question.default
        if question.key in answers:
            continue
        choice = click.Choice(question.choices) if question.choices else None
        answers[question.key] = (
            default if quietly else click.prompt(question.words, default=default, type=choice)
        )
    return answers


main.add_command(simulate)
main.add_command(safety)
main.add_command(mend)
main.add_command(pack)
main.add_command(explore)
main.add_command(calibrate)
main.add_command(extend)
main.add_command(phase)

if __name__ == "__main__":
    main()
