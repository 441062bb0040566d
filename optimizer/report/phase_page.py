"""The page of a site built in phases, and its files."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from optimizer.files import write_text_whole, written_together
from optimizer.records.phasing import Phasing
from optimizer.report import phase_tables, phase_words, theme, words
from optimizer.report.page import environment
from optimizer.report.tables import csv_text

CAUTION = (
    "Before you open a system that has run: switch the pump off at its plug, let it drain, and "
    "mind that wet beds are heavy. Mains work is for a licensed electrician."
)
NOT_COUNTED = (
    "Not counted: harvest lost while you build, digging up what is covered, tees cut into pipe "
    "that stands, and what replaced parts may sell for. Delivery and work for the site are paid "
    "at every step that buys something. A pump that stays is counted as new at "
    "each step."
)


def render_phases(found: Phasing, pages: Sequence[tuple[str, str]]) -> str:
    """Return the page as HTML. It fetches nothing and carries no clock time.

    Args:
        found: the plans.
        pages: what each step of the best plan is called, and where its own page lies.
    """
    lists = [
        (step, phase_words.bought_table(found, step), phase_words.parts_table(step))
        for step in found.best.steps
    ]
    return (
        environment()
        .get_template("phases.html.j2")
        .render(
            found=found,
            told=phase_words.sentences(found),
            reaches=phase_words.reach_sentences(found),
            steps=phase_words.steps_table(found),
            plans=phase_words.plans_table(found),
            lists=lists,
            pages=pages,
            cautions=[CAUTION, NOT_COUNTED, *words.cautions(found.best.steps[-1].design)],
            theme=theme,
        )
    )


def write_phases(
    found: Phasing, folder: str | Path, pages: Sequence[tuple[str, str]]
) -> list[Path]:
    """Write phases.html, phases.json and the tables, all or none.

    Args:
        found: the plans.
        folder: where to; made if it is not there.
        pages: what each step of the best plan is called, and where its own page lies from there.

    Returns:
        the files, the page first.

    Raises:
        OSError: if a file cannot be written.
    """
    frames = {
        "steps": phase_tables.steps_frame(found.best),
        "plans": phase_tables.plans_frame(found),
        "bought": phase_tables.bought_frame(found.best),
        "parts": phase_tables.parts_frame(found.best),
        "reach": phase_tables.reach_frame(found),
    }
    plain = phase_tables.phasing_dict(found)
    texts = {
        "phases.html": render_phases(found, pages),
        "phases.json": json.dumps(plain, indent=1, ensure_ascii=False, allow_nan=False) + "\n",
    }
    for name, frame in frames.items():
        texts[f"{name}.csv"] = csv_text(frame)
    target = Path(folder)
    with written_together(target):
        for name, text in texts.items():
            write_text_whole(target / name, text)
    return [target / name for name in texts]
