"""The verb ``calibrate``: what readings with a bucket and a watch say of the siphons."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimizer.cli_answers import BAD_INPUT, NO, OK, as_json, guarded
from optimizer.cli_options import SEED, demand_folder, demand_new_file
from optimizer.cli_output import StatusLine, console

if TYPE_CHECKING:
    from optimizer.records.calibration import Calibration
    from optimizer.records.design import Design

PATH = click.Path(path_type=Path)


@click.command()
@click.argument("readings", type=PATH)
@click.option("--design", "design_file", type=PATH, help="The design.json of the beds read.")
@click.option("--site", type=PATH, help="The site file whose bed types and kits were read.")
@click.option("--kind", help="Which kind of bed, where readings are of several.")
@click.option("--out", type=PATH, help="Folder for coefficients, table and chart.")
@click.option("--blank", is_flag=True, help="Write READINGS as an empty sheet for --design.")
@click.option("--force", is_flag=True, help="With --blank, replace the file if it is there.")
@click.option("--seed", type=SEED, default=0, show_default=True, help="The sampler's random seed.")
@as_json
@guarded
def calibrate(
    readings: Path,
    design_file: Path | None,
    site: Path | None,
    kind: str | None,
    out: Path | None,
    blank: bool,
    force: bool,
    seed: int,
    as_json: bool,
) -> int:
    """Estimate start, stop, loss and porosity of siphons from readings with bucket and watch."""
    from optimizer.learn.calibrate import calibrate as learn
    from optimizer.learn.read import read_readings
    from optimizer.records.design_io import read_design

    if design_file is not None and site is not None:
        click.echo("Give --design or --site, not both.", err=True)
        return BAD_INPUT
    design = read_design(design_file) if design_file else None
    if blank:
        return _write_blank(readings, design, force=force)
    folder = out or readings.with_name(f"{readings.stem}-calibrated")
    demand_folder(folder)
    read = read_readings(readings, design=design, site=site)
    with StatusLine("learning from the readings", _standing, quiet=as_json) as told:
        found = learn(read, kind=kind, seed=seed, told=told)
    files = _write(found, folder) if found.estimates else []
    _show(found, files, wants_json=as_json)
    return OK if found.told else NO


def _standing(share: float) -> str:
    return f"learning from the readings: {share:.0%} (Ctrl-C stops)"


def _write_blank(path: Path, design: Design | None, *, force: bool) -> int:
    from optimizer.files import write_text_whole, written_together
    from optimizer.learn.sheet_csv import blank_sheet

    if design is None:
        click.echo("--blank needs --design: it lists the design's beds.", err=True)
        return BAD_INPUT
    demand_new_file(path, force=force)
    with written_together(path.parent):
        write_text_whole(path, blank_sheet([bed.id for bed in design.beds], design.units))
    click.echo(f"Wrote {path}. Fill it in beside the beds, then leave out --blank.")
    return OK


def _write(found: Calibration, folder: Path) -> list[Path]:
    from optimizer.files import write_bytes_whole, written_together
    from optimizer.learn.coefficients_file import coefficients_text
    from optimizer.report.charts.estimates import estimates_chart, estimates_frame
    from optimizer.report.writer import chart_text, picture

    frame = estimates_frame(found.estimates)
    files = {
        folder / "estimates.csv": frame.to_csv(index=False, lineterminator="\n").encode(),
        folder / "estimates.svg": picture(chart_text(estimates_chart(found.estimates)), "svg"),
    }
    text = coefficients_text(found)
    if text is not None:
        files = {folder / "coefficients.toml": text.encode(), **files}
    with written_together(folder):
        for file, data in files.items():
            write_bytes_whole(file, data)
    return list(files)


def _show(found: Calibration, files: list[Path], *, wants_json: bool) -> None:
    from dataclasses import asdict

    from optimizer.report.estimate_words import calibration_summary

    if wants_json:
        told = asdict(found) | {"told": list(found.told), "files": [str(file) for file in files]}
        click.echo(json.dumps(told, ensure_ascii=False))
    else:
        console().print(calibration_summary(found, files))
