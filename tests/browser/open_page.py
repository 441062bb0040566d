"""A page opened in a browser, and the stored designs it must agree with."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Locator, expect

from optimizer.records.check import CheckReport
from optimizer.records.design import Design
from optimizer.records.design_io import read_design
from optimizer.simulate.check import check_design


@dataclass(frozen=True)
class Stored:
    """A row of a study's table with its design, read from its own file, and its own check."""

    name: str
    design: Design
    check: CheckReport

    @property
    def beds(self) -> set[str]:
        return {bed.id for bed in self.design.beds}

    def cents(self, group: str | None = None) -> int:
        """What its lines cost together."""
        return sum(c.cents for c in self.design.costs if group in (None, c.group))


def read_stored(table: Path, folder: Path) -> list[Stored]:
    """The designs of a study's table, in its order."""
    with table.open(encoding="utf-8", newline="") as file:
        names = [row["design"] for row in csv.DictReader(file)]
    designs = [(name, read_design(folder / f"{name}.json")) for name in names if name]
    return [Stored(name, design, check_design(design)) for name, design in designs]


class Opened:
    """A page in a tab of its own; what it fetches, says and throws is kept.

    Args:
        browser: a running browser.
        file: the page.
        width: of the window, in pixels.
        height: of the window, in pixels.
        touch: whether there is a finger and no mouse.
        address: what follows the file's name, from ``#`` on.
    """

    def __init__(
        self,
        browser: Browser,
        file: Path,
        *,
        width: int,
        height: int,
        touch: bool = False,
        address: str = "",
    ) -> None:
        size: Any = {"width": width, "height": height}
        self.context = browser.new_context(viewport=size, has_touch=touch, is_mobile=touch)
        self.page = self.context.new_page()
        self.said: list[str] = []
        self.fetched: list[str] = []
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda fault: self.said.append(str(fault)))
        self.page.on("dialog", lambda box: (self.said.append(box.message), box.dismiss()))
        self.page.on("request", lambda request: self.fetched.append(request.url))
        self.url = file.as_uri()
        self.page.goto(self.url + address)

    def __enter__(self) -> Opened:
        return self

    def __exit__(self, *_: object) -> None:
        self.context.close()

    def demand_quiet(self) -> None:
        """Nothing was fetched but the file, and nothing went wrong."""
        assert {url.split("#")[0] for url in self.fetched} == {self.url}
        assert self.said == []

    def mark(self, place: int) -> Locator:
        """The mark of a point in the chart."""
        return self.page.locator(f"#points [data-place='{place}']")

    def middle_of(self, place: int) -> tuple[float, float]:
        """Where a mark lies in the window, after scrolling to it."""
        self.mark(place).scroll_into_view_if_needed()
        box = self.mark(place).locator(".halo").bounding_box()
        assert box is not None
        return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    @property
    def chosen(self) -> list[int]:
        """Places of the marks that say they are chosen."""
        marks = self.page.locator("#points [aria-checked='true']").all()
        return [int(mark.get_attribute("data-place") or -1) for mark in marks]

    def text(self, box: str) -> str:
        """What an element says, spaces joined."""
        return " ".join(self.page.locator(f"#{box}").inner_text().split())

    def unfold(self) -> None:
        """Open everything that is folded away."""
        folded = self.page.locator("details:not([open]):not([hidden]) > summary")
        while folded.count():
            folded.first.click()
        expect(self.page.locator("details[open]:not(:has(td))")).to_have_count(0)

    def rows(self, box: str) -> list[list[str]]:
        """The cells of a table's body."""
        read = "rows => rows.map(row => [...row.cells].map(cell => cell.innerText.trim()))"
        found: list[list[str]] = self.page.locator(f"#{box} tbody tr").evaluate_all(read)
        return found

    def beds_on_plan(self) -> set[str]:
        """Ids of the beds drawn."""
        read = "beds => beds.map(bed => bed.dataset.bed)"
        return set(self.page.locator("#plan .bed").evaluate_all(read))

    def widest(self) -> int:
        """How wide the page is, over what may be scrolled to."""
        width: int = self.page.evaluate("document.documentElement.scrollWidth")
        return width
