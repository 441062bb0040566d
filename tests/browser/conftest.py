"""One browser for each file of tests, one study for all of them, a fresh page for each test."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner
from playwright.sync_api import Error, sync_playwright

from optimizer.cli import main
from tests.browser.find_browser import ARGUMENTS, HOW, find_chromium, own_chromium
from tests.browser.open_page import Opened, Stored, read_stored
from tests.builders.site_parts import TUB, row_text, sump_text

SITE = f"""\
name = "Quay yard (invented)"
[goal]
floods = "1.5 per hour"
beds = 1
[ground]
{sump_text("-0.9 m")}{TUB}{row_text("A", (1.5, 1), 2, "1.2 m")}\
{row_text("B", (1.5, 3.2), 2, "1.2 m")}[buy]
pipe_series = "pvcu_pn10"
pumps = ["pump_025w_mid", "pump_040w_mid", "pump_065w_mid"]
sumps = ["sump_0500", "sump_1000"]
"""


@pytest.fixture(scope="module")
def chromium():
    """A running Chromium, gone before tests of other things begin: it runs an event loop."""
    with sync_playwright() as playwright:
        path = find_chromium(playwright)
        if path is None:
            pytest.skip(HOW)
        try:
            browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        except Error as fault:
            if own_chromium():
                raise
            pytest.skip(f"the Chromium fetched does not start ({fault}); {HOW}")
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def study(tmp_path_factory) -> Path:
    """The folder of a front of growing areas, with each design stored beside its page."""
    folder = tmp_path_factory.mktemp("study")
    (folder / "site.toml").write_text(SITE)
    words = ["explore", "front", "area", str(folder / "site.toml"), "--designs", "--no-check"]
    answer = CliRunner().invoke(main, [*words, "--workers", "1", "--out", str(folder / "out")])
    assert answer.exit_code == 0, answer.output
    return folder / "out"


@pytest.fixture(scope="session")
def stored(study) -> list[Stored]:
    """The study's designs as they are stored, in the order of its table."""
    return read_stored(study / "front_area.csv", study / "designs")


@pytest.fixture
def opened(chromium, study):
    """The page at 1280 pixels, with a mouse."""
    with Opened(chromium, study / "front_area.html", width=1280, height=900) as page:
        yield page
        page.demand_quiet()


@pytest.fixture
def phone(chromium, study):
    """The page at 390 pixels, with a finger."""
    with Opened(chromium, study / "front_area.html", width=390, height=844, touch=True) as page:
        yield page
        page.demand_quiet()
