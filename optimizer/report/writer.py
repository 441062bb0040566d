"""A design's files: the page, the tables and, when asked for, every chart as a picture."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import pandas as pd
import vl_convert

from optimizer.files import write_bytes_whole, write_text_whole, written_together
from optimizer.records.check import CheckReport
from optimizer.records.design import Design
from optimizer.records.safety import SafetyStep
from optimizer.report import tables, theme
from optimizer.report.bundle import vega_lite_version
from optimizer.report.charts.every import chart_specs
from optimizer.report.page import render_page
from optimizer.report.safety_tables import safety_frame

PNG_SCALE = 2.0
FORMATS = ("svg", "png")


def write_report(
    design: Design,
    check: CheckReport,
    folder: str | Path,
    safety: Sequence[SafetyStep] = (),
) -> list[Path]:
    """Write page.html and the CSV tables, all or none.

    Args:
        design: the design.
        check: what simulation says of it.
        folder: where to; made if it is not there.
        safety: the site designed more and less safely, where that was asked for.

    Returns:
        the files, the page first.

    Raises:
        OSError: if a file cannot be written.
    """
    target = Path(folder)
    texts = {"page.html": render_page(design, check, safety)}
    texts |= {
        f"{name}.csv": tables.csv_text(frame) for name, frame in _frames(design, check).items()
    }
    if safety:
        texts["safety.csv"] = tables.csv_text(safety_frame(safety))
    with written_together(target):
        for name, text in texts.items():
            write_text_whole(target / name, text)
    return [target / name for name in texts]


def save_charts(
    design: Design, check: CheckReport, folder: str | Path, formats: Sequence[str] = FORMATS
) -> list[Path]:
    """Write every chart as a picture, for example ``plan.svg``.

    Args:
        design: the design.
        check: what simulation says of it.
        folder: where to; made if it is not there.
        formats: any of svg and png.

    Raises:
        ValueError: for another format.
        OSError: if a file cannot be written.
    """
    unknown = sorted(set(formats) - set(FORMATS))
    if unknown:
        raise ValueError(f"charts are written as {' or '.join(FORMATS)}, not {unknown[0]}")
    target, written = Path(folder), []
    with written_together(target):
        for name, chart in chart_specs(design, check).items():
            spec = chart_text(chart)
            for each in formats:
                path = target / f"{name}.{each}"
                write_bytes_whole(path, picture(spec, each))
                written.append(path)
    return written


@theme.unchecked
def chart_text(chart: theme.Chart) -> str:
    """Return a chart as the text of its Vega-Lite specification, for a picture file."""
    spec = json.dumps(chart.to_dict(validate=False))
    return spec.replace(theme.FONT, theme.PICTURE_FONT)


def picture(spec: str, form: str) -> bytes:
    """Return a Vega-Lite specification drawn as svg or png."""
    version = vega_lite_version()
    if form == "png":
        return bytes(vl_convert.vegalite_to_png(spec, vl_version=version, scale=PNG_SCALE))
    return str(vl_convert.vegalite_to_svg(spec, vl_version=version)).encode()


def _frames(design: Design, check: CheckReport) -> dict[str, pd.DataFrame]:
    return {
        "beds": tables.beds_frame(design, check),
        "parts": tables.parts_frame(design),
        "costs": tables.costs_frame(design),
        "findings": tables.findings_frame(check),
        "pipes": tables.stretches_frame(design),
        "returns": tables.returns_frame(design),
    }
