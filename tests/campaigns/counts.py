"""What campaigns count and print: how many sites had each feature, and what was found."""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from tests.builders.features import ALL_FEATURES, Case
from tests.builders.shrink import shrink
from tests.builders.site_toml import site_toml


def feature_lines(counts: Counter[str], what: str) -> list[str]:
    """How many sites had each feature, and which features none had."""
    lines = [f"by feature ({what}):"]
    lines += [f"{counts[name]:6d} {name}" for name in sorted(ALL_FEATURES)]
    missing = sorted(ALL_FEATURES - set(counts))
    lines.append(f"features that no site had: {', '.join(missing) or 'none'}")
    return lines


def show_progress(done: int, of: int, started: float) -> None:
    """Show on standard error how far a campaign is; ``started`` by ``time.perf_counter``."""
    seconds = time.perf_counter() - started
    print(f"\r{done} of {of} sites, {seconds:.0f} s ", end="", file=sys.stderr, flush=True)


def keep_small(case: Case, is_faulty: Callable[[Case], bool], path: Path, tries: int) -> str:
    """Shrink a faulty case and write it as a site file; return a line that says so."""
    small = shrink(case, is_faulty, tries)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(site_toml(small), encoding="utf-8")
    beds = sum(row.positions for row in small.site.rows)
    return f"shrunk to {beds} positions in {path}"
