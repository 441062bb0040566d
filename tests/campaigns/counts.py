"""What campaigns count and print: how many sites had each feature, and what was found."""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import TypeVar

from tests.builders.case import Case
from tests.builders.features import ALL_FEATURES
from tests.builders.shrink import shrink
from tests.builders.site_toml import site_toml

Result = TypeVar("Result")


def feature_lines(counts: Counter[str], what: str) -> list[str]:
    """How many sites had each feature, and which features none had."""
    lines = [f"by feature ({what}):"]
    lines += [f"{counts[name]:6d} {name}" for name in sorted(ALL_FEATURES)]
    missing = sorted(ALL_FEATURES - set(counts))
    lines.append(f"features that no site had: {', '.join(missing) or 'none'}")
    return lines


def results(
    run: Callable[[int], Result], seeds: Iterable[int], processes: int, minutes: float
) -> Iterator[Result]:
    """Run seeds in processes and yield their results in order, until the minutes are over.

    Progress goes to standard error.
    """
    wanted, started = list(seeds), time.perf_counter()
    with ProcessPoolExecutor(processes) as pool:
        for done, result in enumerate(pool.map(run, wanted), start=1):
            seconds = time.perf_counter() - started
            show_progress(done, len(wanted), seconds)
            yield result
            if seconds > 60.0 * minutes:
                pool.shutdown(wait=False, cancel_futures=True)
                return


def show_progress(done: int, of: int, seconds: float) -> None:
    """Show on standard error how far a campaign is."""
    print(f"\r{done} of {of} sites, {seconds:.0f} s ", end="", file=sys.stderr, flush=True)


def keep_small(case: Case, is_faulty: Callable[[Case], bool], path: Path, tries: int) -> str:
    """Shrink a faulty case and write it as a site file; return a line that says so."""
    small = shrink(case, is_faulty, tries)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(site_toml(small), encoding="utf-8")
    beds = sum(row.positions for row in small.site.rows)
    return f"shrunk to {beds} positions in {path}"
