"""The verb ``pack``: all that a builder needs, from a stored design."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimizer.cli_answers import OK, as_json, guarded
from optimizer.cli_options import FiniteNumber, demand_folder

if TYPE_CHECKING:
    from optimizer.pack.shopping import ShoppingList
    from optimizer.records.design import Design

KERF_MM = FiniteNumber(min=0.0, max=20.0)


@click.command()
@click.argument("design_file", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the pack.")
@click.option("--pdf", is_flag=True, help="Also write pack.pdf (needs the extra 'pdf').")
@click.option(
    "--kerf", "kerf_mm", type=KERF_MM, default=3.0, show_default=True, help="Saw cut, in mm."
)
@as_json
@guarded
def pack(design_file: Path, out: Path | None, pdf: bool, kerf_mm: float, as_json: bool) -> int:
    """Write the build pack of a stored design.json: shopping, cutting, bed sheets, first start."""
    from optimizer.pack.writer import write_pack
    from optimizer.reading.in_file import naming
    from optimizer.records.design_io import read_design

    design = read_design(design_file)
    folder = out or design_file.with_name("build-pack")
    demand_folder(folder)
    with naming(design_file):
        found, files = write_pack(design, folder, pdf=pdf, kerf_m=kerf_mm / 1000.0)
    if as_json:
        told = _figures(design, found) | {"files": [str(file) for file in files]}
        click.echo(json.dumps(told, ensure_ascii=False))
    else:
        click.echo("\n".join([*_sentences(design, found), *(f"Wrote {file}" for file in files)]))
    return OK


def _figures(design: Design, found: ShoppingList) -> dict[str, object]:
    return {
        "beds": len(design.beds),
        "currency": design.currency,
        "cost_cents": found.cents,
        "lines": len(found.lines),
        "unpriced_lines": len(found.unpriced),
        "sticks": {each.part.id: each.plan.count for each in found.cuts},
        "sticks_at_least": {each.part.id: each.plan.bound for each in found.cuts},
    }


def _sentences(design: Design, found: ShoppingList) -> list[str]:
    from optimizer.report.scales import money

    sticks = sum(each.plan.count for each in found.cuts)
    least = sum(each.plan.bound for each in found.cuts)
    proof = "no plan needs fewer" if sticks == least else f"no plan needs fewer than {least}"
    lines = [
        f"{len(found.lines)} lines to buy, {money(found.cents, design.currency)} for all that "
        "have a price.",
        f"{sticks} sticks of pipe; {proof} (proven).",
    ]
    if found.unpriced:
        lines.append(f"{len(found.unpriced)} lines have no price here: clips, glue and the like.")
    return lines
