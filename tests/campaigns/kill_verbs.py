"""The commands that the campaign of kills stops, and their input before and after a change."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from optimizer.alternatives import design_site
from optimizer.records.design_io import design_to_text
from tests.builders.spoilt_texts import READINGS, STANDING
from tests.cli.site_texts import ONE_BED

OFTEN = ONE_BED.replace('"2 per hour"', '"3 per hour"')


def _sites(folder: Path, *, new: bool) -> None:
    (folder / "site.toml").write_text(OFTEN if new else ONE_BED, encoding="utf-8")


def _designs(folder: Path, *, new: bool) -> None:
    (folder / "design.json").write_text(_design_text(new), encoding="utf-8")


def _readings(folder: Path, *, new: bool) -> None:
    text = READINGS.replace('"62 s"', '"60 s"') if new else READINGS
    (folder / "readings.toml").write_text(text, encoding="utf-8")


def _built(folder: Path, *, new: bool) -> None:
    """What was built is the same; the site to extend it to has one place more, then two."""
    (folder / "design.json").write_text(_design_text(new=False), encoding="utf-8")
    places = "positions = 4" if new else "positions = 3"
    text = ONE_BED.replace("positions = 2", places)
    (folder / "site.toml").write_text(text, encoding="utf-8")


def _standing(folder: Path, *, new: bool) -> None:
    """A site file for a verb that writes nothing: it may only end, and the file stays."""
    opening = "20 %" if new else "50 %"
    text = STANDING.replace('opening = "50 %"', f'opening = "{opening}"')
    (folder / "site.toml").write_text(text, encoding="utf-8")


@cache
def _design_text(new: bool) -> str:
    with tempfile.TemporaryDirectory() as name:
        _sites(Path(name), new=new)
        return design_to_text(design_site(Path(name) / "site.toml").design)


@dataclass(frozen=True)
class Verb:
    """A command, how to lay out its input, and whether it writes results."""

    name: str
    words: tuple[str, ...]
    lay_out: Callable[..., None]
    writes: bool = True


VERBS = (
    Verb("design", ("design", "site.toml", "--charts"), _sites),
    Verb("explore", ("explore", "front", "floods", "site.toml", "--steps", "4", "--workers", "2"),
         _sites),
    Verb("simulate", ("simulate", "design.json", "--hours", "6"), _designs),
    Verb("pack", ("pack", "design.json"), _designs),
    Verb("extend", ("extend", "design.json", "site.toml"), _built),
    Verb("calibrate", ("calibrate", "readings.toml"), _readings),
    Verb("mend", ("mend", "site.toml"), _standing, writes=False),
)  # fmt: skip
