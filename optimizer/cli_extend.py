"""The verb ``extend``: what was built is kept, and beds are added to it."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimizer.cli_answers import INTERRUPTED, NO, OK, as_json, guarded
from optimizer.cli_keeping import keeping_the_best
from optimizer.cli_options import demand_folder, search_options
from optimizer.cli_output import show_with_files, watching, write_results

if TYPE_CHECKING:
    from optimizer.records.extension import Extension


@click.command()
@click.argument("old_design", type=click.Path(path_type=Path))
@click.argument("new_site", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the results.")
@search_options("Seconds for each search.")
@click.option(
    "--room/--no-room",
    default=True,
    show_default=True,
    help="Also find how many beds fit on the standing pump, and what the next one costs.",
)
@as_json
@guarded
def extend(
    old_design: Path,
    new_site: Path,
    out: Path | None,
    gap: float,
    time_limit: float | None,
    seed: int,
    room: bool,
    as_json: bool,
) -> int:
    """Extend a built design.json to a larger site: what stands is kept at no price.

    Says what stays, what is replaced and what is new, how many beds fit on today's pump, and what
    the next one costs.
    """
    from optimizer.extension import extend_design
    from optimizer.pipeline import read_job
    from optimizer.reading.in_file import naming, read_both
    from optimizer.records.design_io import read_design

    old, job = read_both(lambda: read_design(old_design), lambda: read_job(new_site))
    folder = out or new_site.with_name(f"{new_site.stem}-extension")
    demand_folder(folder)
    with (
        keeping_the_best(watching(quiet=as_json)) as search,
        naming(new_site, old_design),
    ):
        extension = extend_design(
            job,
            old,
            gap=gap,
            time_limit_s=time_limit,
            seed=seed,
            progress=search.tell,
            stop=search.stop,
            room=room,
            source=str(old_design),
        )
    _show(extension, _written(extension, folder), wants_json=as_json)
    if search.stop.is_set():
        return INTERRUPTED
    return OK if extension.check.passed else NO


def _written(extension: Extension, folder: Path) -> list[Path]:
    """Write the extended design with its page, and the tables of parts and of the pump's reach."""
    from optimizer.files import write_text_whole, written_together
    from optimizer.report.extension_words import fates_frame, room_frame

    frames = {"extension.csv": fates_frame(extension.fates)}
    if extension.room:
        frames["room.csv"] = room_frame(extension.room)
    with written_together(folder):
        files = write_results(extension.design, extension.check, folder, charts=False)
        for name, frame in frames.items():
            write_text_whole(folder / name, frame.to_csv(index=False, lineterminator="\n"))
    return [*files, *(folder / name for name in frames)]


def _show(extension: Extension, files: list[Path], *, wants_json: bool) -> None:
    from optimizer.report.extension_words import extension_dict, extension_summary

    named = ("page.html", "extension.csv", "design.json")
    words = partial(extension_summary, extension)
    show_with_files(extension_dict(extension), words, files, named, wants_json=wants_json)
