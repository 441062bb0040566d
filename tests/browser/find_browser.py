"""A Chromium for the tests: the machine's own, or one that Playwright fetches, or none."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
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


def find_chromium(playwright: Playwright) -> str | None:
    """The path of a Chromium; one is fetched where there is none. None where that fails too."""
    named = os.environ.get(OVERRIDE)
    here = named or next((found for name in NAMES if (found := shutil.which(name))), None)
    fetched = playwright.chromium.executable_path
    if here or Path(fetched).exists():
        return here or fetched
    fetch = [sys.executable, "-m", "playwright", "install", "chromium"]
    try:
        subprocess.run(fetch, check=True, capture_output=True, timeout=PATIENCE_S)
    except (subprocess.SubprocessError, OSError):
        return None
    return fetched if Path(fetched).exists() else None
