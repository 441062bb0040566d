"""Whether what a study's README quotes is what its run found.

A quoted figure stands in the text as ``figure<!-- finding -->``: the comment, which no reader sees,
names the finding (a row of results/findings.csv) that the figure just before it is rounded from.
"""

from __future__ import annotations

import re
from pathlib import Path

import pandas as pd

QUOTED = re.compile(r"(-?[\d,]*\d(?:\.\d+)?)( %)?(?:\s[^\d<|]{0,12})?<!--\s*(.+?)\s*-->", re.DOTALL)


def figures_not_found(results: Path) -> list[str]:
    """Return every quoted figure that is not its finding, rounded as it is written."""
    found = pd.read_csv(results / "findings.csv").set_index("finding")["value"]
    text = (results.parent / "README.md").read_text(encoding="utf-8")
    wrong = []
    quoted = QUOTED.findall(text)
    if len(quoted) != text.count("<!--"):
        wrong.append(f"{text.count('<!--')} comments, of which {len(quoted)} follow a figure")
    for figure, percent, comment in quoted:
        name = " ".join(comment.split())
        if name not in found:
            wrong.append(f"{figure}: no finding {name!r}")
            continue
        value = float(found[name]) * (100.0 if percent else 1.0)
        plain = figure.replace(",", "")
        decimals = len(plain.partition(".")[2])
        if f"{round(value, decimals) + 0.0:.{decimals}f}" != plain:
            wrong.append(f"{figure}{percent}: {name} is {value}")
    return wrong


def pictures_shown(results: Path) -> set[str]:
    """Return the pictures a study's README shows; each is there as PNG and SVG, and none is left.

    Raises:
        AssertionError: if a picture is missing, not shown, or a link leads nowhere.
    """
    text = (results.parent / "README.md").read_text(encoding="utf-8")
    shown = set(re.findall(r"\(results/(\w+)\.png\)", text))
    assert shown == {path.stem for path in results.glob("*.png")}
    assert {path.stem for path in results.glob("*.svg")} == shown
    for link in re.findall(r"\]\(([\w./-]+)\)", text):
        assert (results.parent / link).exists(), link
    return shown
