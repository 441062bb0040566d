"""The one script that draws charts in a page: Vega and Vega-Lite, bundled offline at run time.

Making it takes a second or two, so it is kept in the user's cache folder, one file for each version
of vl-convert and Vega-Lite. A cache that cannot be read or written is done without.
"""

from __future__ import annotations

import contextlib
import os
import sys
from importlib.metadata import version
from pathlib import Path

import altair as alt
import vl_convert

from optimizer.files import write_text_whole

_SNIPPET = "globalThis.floodwrightDraw = vegaEmbed;"
_WHOLE = "\n/* floodwright: whole */\n"


def javascript_bundle() -> str:
    """Return the bundle; it sets ``globalThis.floodwrightDraw(element, spec, options)``."""
    path = cache_folder() / f"charts-{version('vl-convert-python')}-{vega_lite_version()}.js"
    kept = _read(path)
    if kept is not None:
        return kept
    made = str(vl_convert.javascript_bundle(_SNIPPET, vl_version=vega_lite_version())) + _WHOLE
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        write_text_whole(path, made)
    return made


def vega_lite_version() -> str:
    """Return the Vega-Lite version that altair writes, for example ``6.4``."""
    return ".".join(alt.SCHEMA_VERSION.removeprefix("v").split(".")[:2])


def cache_folder() -> Path:
    """Return the user's cache folder for Floodwright (not made here)."""
    home = Path(os.path.expanduser("~"))  # noqa: PTH111 - Path.home() raises without a home
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = home / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME") or home / ".cache")
    return base / "floodwright"


def _read(path: Path) -> str | None:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return None
    return text if text.endswith(_WHOLE) else None
