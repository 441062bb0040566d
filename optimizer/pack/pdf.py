"""The pack as PDF. Needs the optional library typst; all text goes in as data, never as markup."""

from __future__ import annotations

import json
from dataclasses import asdict
from importlib.resources import files
from typing import Any

from optimizer.errors import BadInput, Problem
from optimizer.pack.sheets import Grid, Pack
from optimizer.report.text_table import Table

LEAST_SHARE, MOST_SHARE = 5, 40
"""Least and most width of a column, in letters, so that none is starved and none takes all."""


def pack_pdf(pack: Pack) -> bytes:
    """Return the pack as PDF, drawings at their true size.

    Words are set in a font that comes with the library; letters it lacks, and the drawings, take
    what the machine has.

    Raises:
        BadInput: if the library is not there.
    """
    try:
        import typst  # noqa: PLC0415 - optional, and only for this
    except ImportError:
        fix = 'Install it: pip install "floodwright[pdf]", or print pack.html from a browser.'
        raise BadInput([Problem("--pdf", "the library typst is not installed.", fix)]) from None
    source = files("optimizer.pack").joinpath("pack.typ").read_bytes()
    data = json.dumps(pack_data(pack), ensure_ascii=False)
    made = typst.compile(source, sys_inputs={"pack": data})
    return bytes(made)


def pack_data(pack: Pack) -> dict[str, Any]:
    """Return a pack as plain data; each different drawing is there once."""
    drawings: dict[str, int] = {}
    plain = asdict(pack)
    for sheet, given in zip(plain["sheets"], pack.sheets, strict=True):
        for block, of in zip(sheet["blocks"], given.blocks, strict=True):
            if isinstance(of, Grid):
                block["shares"] = _shares(of.table)
                block["table"]["figures"] = sorted(of.table.figures)
            for picture in block.get("pictures", ()):
                svg = picture.pop("svg")
                picture["drawing"] = drawings.setdefault(svg, len(drawings))
    plain["drawings"] = list(drawings)
    return plain


def _shares(table: Table) -> list[int]:
    """Return the columns' widths: about as many letters as the fullest cell has, within limits."""
    wanted = [
        max(len(name), *(len(row[i]) for row in table.rows), 1)
        for i, name in enumerate(table.columns)
    ]
    return [min(max(n, LEAST_SHARE), MOST_SHARE) for n in wanted]
