"""Cases of the campaign of spoilt files: by its seed, a folder with a spoilt file and a command.

Everything a case is made of lies in one folder: ``home`` with what the grower wrote, ``outside``
with a file that nothing may read, and ``out`` for results.
"""

from __future__ import annotations

import json
import random
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from optimizer.alternatives import design_site
from optimizer.learn.sheet_csv import blank_sheet
from optimizer.reading.catalog import shipped_folder
from optimizer.records.design_io import design_to_text
from tests.builders.make_design import make_design
from tests.builders.path_tricks import lay_out_tricks, path_trick
from tests.builders.spoilt_catalogs import spoil_catalog, spoilt_table
from tests.builders.spoilt_designs import spoilt_design
from tests.builders.spoilt_texts import (
    BESIDE_A_SHEET,
    COEFFICIENTS,
    EVERY_READING_KEY,
    READINGS,
    SHEET,
    STANDING,
)
from tests.cli.site_texts import EVERY_TABLE, ONE_BED
from tests.reading.mutants import mutant, slip
from tests.reading.site_texts import EVERY_KEY, SMALLEST
from tests.simulate.spoil_fish import with_fish

SEARCH_S = 5.0
SITES = (ONE_BED, ONE_BED, EVERY_TABLE, SMALLEST, EVERY_KEY.replace('catalog = "my_parts"\n', ""))
LARGER = ONE_BED.replace("positions = 2", "positions = 3")
SEARCH = ["--time-limit", str(SEARCH_S)]


@dataclass(frozen=True)
class Place:
    """Where a case lies and what it draws from."""

    seed: int
    folder: Path
    home: Path
    rng: random.Random

    @property
    def results(self) -> list[str]:
        """Options that send results to the folder for them."""
        return ["--out", str(self.folder / "out")]

    def write(self, name: str, data: str | bytes) -> str:
        """Write a file that the grower gives; return its path."""
        path = self.home / name
        path.write_bytes(data.encode("utf-8") if isinstance(data, str) else data)
        return str(path)

    def spoilt(self, *texts: str) -> bytes:
        """Return one of the texts, broken by a program or with slips of the pen."""
        return mutant(self.seed, texts) if self.rng.random() < 0.6 else slip(self.seed, texts)


@cache
def design_texts() -> list[str]:
    """Return sound stored designs, one of them with fish."""
    return [design_to_text(make_design()), design_to_text(with_fish())]


@cache
def built_text() -> str:
    """Return the stored design of the smaller site of an extension."""
    with tempfile.TemporaryDirectory() as name:
        site = Path(name) / "site.toml"
        site.write_text(ONE_BED, encoding="utf-8")
        return design_to_text(design_site(site).design)


def _site(place: Place) -> list[str]:
    site = place.write("site.toml", place.spoilt(*SITES))
    return ["design", site, "--no-nearly", *SEARCH, *place.results]


def _catalog(place: Place) -> list[str]:
    """A catalog folder of the grower's own, spoilt, or a name in its place that leads elsewhere."""
    (place.home / "my_parts").mkdir()
    spoil_catalog(place.seed, shipped_folder(), place.home / "my_parts")
    name = "my_parts"
    if place.rng.random() < 0.2:
        lay_out_tricks(place.folder, place.home, "id\n", ".csv")
        name = path_trick(place.rng, place.folder, ".csv")
    elif place.rng.random() < 0.3:
        return ["catalog", "pumps", "--folder", str(place.home / "my_parts")]
    site = place.write("site.toml", f"catalog = {json.dumps(name)}\n{ONE_BED}")
    return ["design", site, "--no-nearly", *SEARCH, *place.results]


def _design(place: Place) -> list[str]:
    texts = [*design_texts(), built_text()]  # the last alone can be packed: it carries prices
    file = place.write("design.json", spoilt_design(place.seed, texts))
    verbs = [["check", file], ["pack", file, *place.results]]
    verbs.append(["simulate", file, "--hours", "2", "--draws", "200", *place.results])
    return place.rng.choice(verbs)


def _included(place: Place) -> list[str]:
    """A site file that includes coefficients: a spoilt file, or a name that leads elsewhere."""
    name = "june.toml"
    if place.rng.random() < 0.6:
        lay_out_tricks(place.folder, place.home, COEFFICIENTS, ".toml")
        name = path_trick(place.rng, place.folder, ".toml")
    else:
        place.write(name, place.spoilt(COEFFICIENTS))
    include = f"[coefficients]\ninclude = {json.dumps(name)}\n"
    site = place.write("site.toml", ONE_BED + include)
    return ["design", site, "--no-nearly", *SEARCH, *place.results]


def _readings(place: Place) -> list[str]:
    """Readings as TOML, as a sheet, or as both; sometimes with the design of the beds read."""
    how = place.rng.random()
    words: list[str] = []
    if how < 0.5:
        file = place.write("readings.toml", place.spoilt(READINGS, EVERY_READING_KEY))
    elif how < 0.65:
        text = _filled_sheet()
        file = place.write("sheet.csv", spoilt_table(text, place.rng))
        words = ["--design", place.write("design.json", design_texts()[0])]
    elif how < 0.8:
        place.write("sheet.csv", spoilt_table(SHEET, place.rng))
        file = place.write("readings.toml", BESIDE_A_SHEET)
    else:
        lay_out_tricks(place.folder, place.home, SHEET, ".csv")
        name = path_trick(place.rng, place.folder, ".csv")
        text = BESIDE_A_SHEET.replace('"sheet.csv"', json.dumps(name))
        file = place.write("readings.toml", text)
    return ["calibrate", file, *words, *place.results]


@cache
def _filled_sheet() -> str:
    """Return the sheet of a stored design with a reading of two of its beds."""
    beds = [bed.id for bed in make_design().beds]
    lines = blank_sheet(beds, "metric").splitlines()
    for i, read in ((1, ",2026-05-30,62,yes,,,,,"), (2, ",,300,no,,,,,")):
        lines[i] = lines[i].partition(",")[0] + read
    return "\n".join(lines) + "\n"


def _standing(place: Place) -> list[str]:
    return ["mend", place.write("site.toml", place.spoilt(STANDING)), "--ways", "1"]


def _extend(place: Place) -> list[str]:
    """What was built and a larger site: the one spoilt, the other, or both."""
    spoil_old, spoil_new = place.rng.choice(
        [(True, False), (False, True), (False, True), (True, True)]
    )
    old = spoilt_design(place.seed, [built_text()]) if spoil_old else built_text()
    new = place.spoilt(LARGER) if spoil_new else LARGER
    files = [place.write("old.json", old), place.write("site.toml", new)]
    return ["extend", *files, "--no-room", *SEARCH, *place.results]


KINDS: dict[str, tuple[int, Callable[[Place], list[str]]]] = {
    "site": (7, _site),
    "catalog": (2, _catalog),
    "design": (3, _design),
    "include": (2, _included),
    "readings": (3, _readings),
    "standing": (2, _standing),
    "extend": (1, _extend),
}
"""How often each kind is drawn, and how it is laid out."""


def lay_out(seed: int, folder: Path) -> tuple[str, list[str]]:
    """Lay out a case in an empty folder; return its kind and the command that reads it."""
    rng = random.Random(f"kind {seed}")
    shares = [share for share, _ in KINDS.values()]
    kind = rng.choices(list(KINDS), weights=shares)[0]
    place = Place(seed, folder, folder / "home", rng)
    place.home.mkdir()
    return kind, KINDS[kind][1](place)
