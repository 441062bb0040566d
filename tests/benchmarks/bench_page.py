"""How large the page of many designs is, how soon it opens, and how soon a choice is drawn.

``python -m tests.benchmarks.bench_page [--points FILE]``
designs 100 beds for 50 flood goals (kept in FILE, so that a second run need not), writes the page
and opens it in headless Chromium. Beside it three of the same charts are drawn from their altair
specifications with the chart library's bundle. Prints the figures of docs/benchmarks.md.
"""

from __future__ import annotations

import argparse
import json
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, sync_playwright

from optimizer.explore.fronts import floods_front
from optimizer.explore.point import Search
from optimizer.explore.store import Store
from optimizer.explore.sweep import Study
from optimizer.explore.told_page import front_page
from optimizer.job import Job
from optimizer.report.bundle import javascript_bundle
from optimizer.report.charts.plan import plan_chart
from optimizer.report.charts.pump import pump_head_chart, pump_watts_chart
from optimizer.report.charts.windows import windows_chart
from optimizer.report.explorer.page import page_data, render_explorer
from optimizer.report.explorer.records import Explorer
from optimizer.report.page import spec_json
from tests.benchmarks.program_sites import CATALOG, Shape, site_of
from tests.browser.find_browser import ARGUMENTS, find_chromium

DESIGNS, ROWS, IN_ROW = 50, 10, 10
FLOODS = (1.0, 2.1)
OPENINGS, CHOICES, LIBRARY_DESIGNS = 9, 49, 5
LIMITS = {"size": 3_000_000, "open": 2.0, "choose": 0.2}

CHOOSE = """async () => {
  const before = performance.now();
  document.getElementById("after").click();
  document.body.getBoundingClientRect();
  const drawn = performance.now();
  await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
  return [drawn - before, performance.now() - before];
}"""
DRAW = """async (n) => {
  const before = performance.now();
  const specs = JSON.parse(document.getElementById("specs").textContent)[n];
  const boxes = [...document.querySelectorAll(".box")];
  const draw = (spec, k) => floodwrightDraw(boxes[k], spec, { renderer: "svg", actions: false });
  await Promise.all(specs.map(draw));
  document.body.getBoundingClientRect();
  return performance.now() - before;
}"""
READY = "performance.getEntriesByType('navigation')[0].loadEventEnd"


def explorer_of(points: Path | None) -> Explorer:
    """Return 50 flood goals of one site of 100 beds, each designed."""
    shape = Shape(ROWS, IN_ROW, ROWS * IN_ROW, kits=3, returns=True, containers=("box_120x120",))
    search = Search(gap=0.01, time_limit_s=20.0, check=False)
    low, high = FLOODS
    goals = [low + (high - low) * n / (DESIGNS - 1) for n in range(DESIGNS)]
    with Store(points) as store:
        study = Study(Job(site_of(shape), CATALOG), store=store, search=search)
        found = front_page(study, floods_front(study, goals), ("Invented.",))
    assert found is not None
    assert all(point.design is not None for point in found.points)
    return found


def opened(browser: Browser, file: Path, then: Callable[[Any], Any]) -> tuple[float, Any]:
    """Return the seconds until a page is loaded and drawn, and what then comes of it."""
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(file.as_uri(), wait_until="load")
    seconds = page.evaluate(READY) / 1000.0
    value = then(page)
    page.close()
    return seconds, value


def library_page(explorer: Explorer, designs: int) -> str:
    """Return a page that draws plan, windows and pump of some designs with the chart library."""
    specs = []
    for point in explorer.points[:designs]:
        design, check = point.design, point.check
        assert design is not None and check is not None
        charts = [plan_chart(design), windows_chart(design, check), pump_head_chart(design, check)]
        watts = pump_watts_chart(design, check)
        specs.append([json.loads(spec_json(chart)) for chart in [*charts, watts] if chart])
    data = json.dumps(specs, separators=(",", ":")).replace("<", "\\u003c")
    boxes = '<div class="box"></div>' * 4
    bundle = javascript_bundle().replace("</script", "<\\/script")
    island = f'<script type="application/json" id="specs">{data}</script>'
    return f'<!DOCTYPE html><body>{boxes}{island}<script type="module">{bundle}</script></body>'


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--points", type=Path, help="keep the designed points here")
    explorer = explorer_of(parser.parse_args().points)
    began = time.process_time()
    html = render_explorer(explorer)
    made_s = time.process_time() - began
    different = len(json.loads(page_data(explorer))["designs"])
    print(f"{different} different designs of {ROWS * IN_ROW} beds; made in {made_s:.2f} s CPU")
    sizes(explorer, len(html.encode()))
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        page, library = Path(folder) / "page.html", Path(folder) / "library.html"
        page.write_text(html, encoding="utf-8")
        library.write_text(library_page(explorer, LIBRARY_DESIGNS), encoding="utf-8")
        path = find_chromium(playwright)
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        opening(browser, page, library)
        choosing(browser, page, library)
        browser.close()


def sizes(explorer: Explorer, size: int) -> None:
    """Print how large the page is, and what the chart library's would be."""
    bundle = len(javascript_bundle().encode())
    few = len(library_page(explorer, LIBRARY_DESIGNS).encode())
    library = bundle + DESIGNS * (few - bundle) / LIBRARY_DESIGNS
    print(f"size: {size / 1e6:.2f} MB of {LIMITS['size'] / 1e6:g} allowed")
    print(
        f"four charts a design by the library: {library / 1e6:.1f} MB, {library / size:.1f} times"
    )


def opening(browser: Browser, page: Path, library: Path) -> None:
    """Print how soon the page is drawn after it is opened."""
    own = [opened(browser, page, lambda _: None)[0] for _ in range(OPENINGS)]
    drawn = [opened(browser, library, lambda tab: tab.evaluate(DRAW, 0)) for _ in range(OPENINGS)]
    told("opens", own, LIMITS["open"], [seconds + ms / 1000.0 for seconds, ms in drawn])


def choosing(browser: Browser, page: Path, library: Path) -> None:
    """Print how soon a design is drawn after it is chosen."""
    _, pairs = opened(browser, page, lambda tab: [tab.evaluate(CHOOSE) for _ in range(CHOICES)])
    places = [n % LIBRARY_DESIGNS for n in range(12)]
    _, again = opened(browser, library, lambda tab: [tab.evaluate(DRAW, n) for n in places])
    own = [drawn / 1000.0 for drawn, _ in pairs]
    told("draws a choice", own, LIMITS["choose"], [ms / 1000.0 for ms in again[2:]])
    print(f"until painted: {statistics.median(painted for _, painted in pairs):.0f} ms")


def told(what: str, times: list[float], limit: float, beside: list[float]) -> None:
    """Print a median with its limit, and how many times as long the chart library takes."""
    own, other = statistics.median(times), statistics.median(beside)
    print(
        f"{what}: {1000 * own:.0f} ms (median of {len(times)}, worst {1000 * max(times):.0f}; "
        f"limit {1000 * limit:.0f}); four charts by the library {1000 * other:.0f} ms, "
        f"{other / own:.1f} times as long"
    )


if __name__ == "__main__":
    main()
