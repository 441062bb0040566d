"""A Chromium for the tests: the machine's own, or one that Playwright fetches, or none."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from functools import cache
from pathlib import Path

from playwright.sync_api import Playwright

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "msedge")
OVERRIDE = "FLOODWRIGHT_CHROMIUM"
PATIENCE_S = 300
ARGUMENTS = ["--no-sandbox", "--disable-dev-shm-usage", "--hide-scrollbars"]
HOW = (
    f"no Chromium here and none could be fetched: install one (apt-get install chromium, or "
    f"python -m playwright install chromium), or name one in {OVERRIDE}"
)


def own_chromium() -> str | None:
    """The path of the machine's own browser; None where it has none."""
    named = os.environ.get(OVERRIDE)
    return named or next((found for name in NAMES if (found := shutil.which(name))), None)


def find_chromium(playwright: Playwright) -> str | None:
    """The path of a Chromium; one is fetched where there is none. None where that fails too."""
    own, fetched = own_chromium(), playwright.chromium.executable_path
    if own or Path(fetched).exists():
        return own or fetched
    return fetched if fetch() and Path(fetched).exists() else None


@cache
def fetch() -> bool:
    """Whether Playwright could fetch its Chromium; tried once a process."""
    words = [sys.executable, "-m", "playwright", "install", "chromium"]
    try:
        subprocess.run(words, check=True, capture_output=True, timeout=PATIENCE_S)
    except (subprocess.SubprocessError, OSError):
        return False
    return True
