"""Campaign: spoilt files of every kind through the whole command, as a person would give them.

Site files, catalog folders and stored designs, spoilt by a seed: slips of the pen that mostly still
read, and what editors and programs do to files (units, types, sizes from 0 to 1e12, nan, letters of
every script, deep nesting, keys that stand twice, cut files, other encodings, markup and script
text, path tricks). Each goes through the verbs that read it; what stays valid is designed, checked
or packed, with five seconds for a search.

    python -m tests.campaigns.bad_input --cases 20000 --processes 2

What must never happen: a traceback, a run without an end, an exit code that is none of 0 to 3, a
refusal without a sentence, a file written outside the folder for results, a program started, a
connection made, text of a file that became markup of a page, more than 2 GB of memory. Prints one
JSON object and a last line of counts; answers 1 if anything happened that must not.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import random
import resource
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from click.testing import CliRunner, Result

from optimizer.cli import main as floodwright
from optimizer.reading.catalog import shipped_folder
from optimizer.records.design_io import design_to_text
from optimizer.report.bundle import cache_folder
from tests.builders.make_design import make_design
from tests.builders.spoilt_catalogs import spoil_catalog
from tests.builders.spoilt_designs import spoilt_design
from tests.campaigns.watch import TooLongError, Watch, page_faults, patience
from tests.cli.site_texts import EVERY_TABLE, ONE_BED
from tests.reading.mutants import mutant, slip
from tests.reading.site_texts import EVERY_KEY, SMALLEST
from tests.simulate.spoil_fish import with_fish

SEARCH_S = 5.0
PATIENCE_S = 60.0
"""A run that takes longer than this is cut off and counted as one without an end."""

REFUSAL_S = 10.0
"""A refusal slower than this is a fault: reading and review hold no search."""

MEMORY_MOST_KB = 2_000_000

KINDS = ("site", "site", "site", "catalog", "design")
SITES = (ONE_BED, ONE_BED, EVERY_TABLE, SMALLEST, EVERY_KEY.replace('catalog = "my_parts"\n', ""))
OWN_PARTS = 'catalog = "my_parts"\n' + ONE_BED

REFUSED, TRACEBACK, ENDLESS = "refused: bad input", "traceback", "without an end"
SILENT, STRANGE, SLOW = "no sentence", "another exit code", "a slow refusal"
OUTSIDE, MARKUP = "touched what it must not", "text became markup"
BROKEN_PROMISE = "answered, but a promise fails"
CLASSES = {0: "answered", 1: "no, and why", 2: REFUSED, 3: "stopped, best so far kept"}
FORBIDDEN = {TRACEBACK, ENDLESS, SILENT, STRANGE, SLOW, OUTSIDE, MARKUP}


@dataclass(frozen=True)
class Run:
    """What became of one file: its class, how long it took and what was said."""

    seed: int
    kind: str
    outcome: str
    seconds: float
    said: str


@cache
def the_watch() -> Watch:
    """Return this process's watch."""
    return Watch()


@cache
def design_texts() -> list[str]:
    """Return sound stored designs, one of them with fish."""
    return [design_to_text(make_design()), design_to_text(with_fish())]


def spoil(seed: int, folder: Path) -> tuple[str, list[str]]:
    """Write a spoilt file into an empty folder; return its kind and the command that reads it."""
    rng = random.Random(f"kind {seed}")
    kind = rng.choice(KINDS)
    results = ["--out", str(folder / "out")]
    search = ["--time-limit", str(SEARCH_S), "--no-nearly"]
    if kind == "design":
        file = folder / "design.json"
        file.write_bytes(spoilt_design(seed, design_texts()))
        verbs = [["check", str(file)], ["pack", str(file), *results]]
        verbs.append(["simulate", str(file), "--hours", "2", *results])
        return kind, rng.choice(verbs)
    site = folder / f"site-{seed}.toml"
    if kind == "catalog":
        (folder / "my_parts").mkdir()
        spoil_catalog(seed, shipped_folder(), folder / "my_parts")
        site.write_text(OWN_PARTS, encoding="utf-8")
        if rng.random() < 0.3:
            return kind, ["catalog", "pumps", "--folder", str(folder / "my_parts")]
    else:
        site.write_bytes(mutant(seed, SITES) if rng.random() < 0.5 else slip(seed, SITES))
    return kind, ["design", str(site), *search, *results]


def run_one(seed: int) -> Run:
    """Give one spoilt file to the command, in a folder of its own."""
    with tempfile.TemporaryDirectory(prefix="spoilt-") as name:
        folder = Path(name)
        kind, words = spoil(seed, folder)
        started = time.perf_counter()
        with the_watch().over(folder / "out", cache_folder()) as touched:
            answer = _invoke(words)
        seconds = time.perf_counter() - started
        given = {"out", "my_parts", "design.json", f"site-{seed}.toml"}
        stray = [f"left {each.name}" for each in folder.iterdir() if each.name not in given]
        outcome, said = _judge(answer, seconds, [*touched, *stray], page_faults(folder / "out"))
    return Run(seed, kind, outcome, seconds, said)


def _invoke(words: list[str]) -> Result | None:
    """Run the command; nothing if it had to be cut off."""
    try:
        with patience(PATIENCE_S):
            answer = CliRunner().invoke(floodwright, words)
    except TooLongError:
        return None
    return None if isinstance(answer.exception, TooLongError) else answer


def _judge(
    answer: Result | None, seconds: float, touched: Sequence[str], markup: Sequence[str]
) -> tuple[str, str]:
    """Return the class of an outcome and what was said, or what is wrong."""
    if answer is None:
        return ENDLESS, ""
    if answer.exception is not None and not isinstance(answer.exception, SystemExit):
        return TRACEBACK, "".join(traceback.format_exception(answer.exception))
    if touched:
        return OUTSIDE, "\n".join(touched)
    if markup:
        return MARKUP, "\n".join(markup)
    said = answer.output.strip()
    if answer.exit_code in (1, 2) and not said:
        return SILENT, said
    if answer.exit_code == 2 and seconds > REFUSAL_S:
        return SLOW, said
    if answer.exit_code == 1 and answer.stdout.strip():  # why there is none is told on stderr
        return BROKEN_PROMISE, said
    return CLASSES.get(answer.exit_code, STRANGE), said


def run_all(seeds: Iterable[int], processes: int = 1) -> list[Run]:
    """Run seeds in order, on one process or several."""
    if processes == 1:
        return [run_one(seed) for seed in seeds]
    context = multiprocessing.get_context("spawn")
    with context.Pool(processes, maxtasksperchild=500) as pool:
        return list(pool.imap(_run_and_weigh, seeds, chunksize=10))


def _run_and_weigh(seed: int) -> Run:
    run = run_one(seed)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    if memory > MEMORY_MOST_KB:
        return Run(seed, run.kind, OUTSIDE, run.seconds, f"{memory / 1e6:.1f} GB of memory")
    return run


def figures(runs: Sequence[Run]) -> dict[str, object]:
    """Return the campaign's figures."""
    worst = max(runs, key=lambda run: run.seconds)
    refused = [run.seconds for run in runs if run.outcome == REFUSED]
    kinds = sorted({run.kind for run in runs})
    return {
        "cases": len(runs),
        "outcomes": {
            kind: dict(sorted(Counter(r.outcome for r in runs if r.kind == kind).items()))
            for kind in kinds
        },
        "worst_s": round(worst.seconds, 2),
        "worst_seed": worst.seed,
        "worst_refusal_s": round(max(refused, default=0.0), 2),
        "promises_that_fail": seeds_by_words(runs, {BROKEN_PROMISE}),
        "forbidden": seeds_by_words(runs, FORBIDDEN),
    }


def seeds_by_words(runs: Sequence[Run], outcomes: set[str]) -> dict[str, list[int]]:
    """Return the seeds of some outcomes by what was said: the last line, or what fails."""
    found: dict[str, list[int]] = {}
    for run in (each for each in runs if each.outcome in outcomes):
        lines = run.said.splitlines() or [run.outcome]
        fails = [i for i, line in enumerate(lines) if line.startswith("fails ")]
        words = " ".join(lines[fails[0] + 1].split()) if fails else lines[-1].strip()
        found.setdefault(f"{run.kind}: {words}", []).append(run.seed)
    return found


def main() -> int:
    """Run the campaign from the command line."""
    parser = argparse.ArgumentParser(description="Spoilt files through the whole command.")
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--processes", type=int, default=1)
    given = parser.parse_args()
    runs = run_all(range(given.seed, given.seed + given.cases), given.processes)
    print(json.dumps(figures(runs), indent=1, ensure_ascii=False))
    bad = sum(run.outcome in FORBIDDEN for run in runs)
    print(f"{len(runs)} spoilt files, {bad} with an outcome that must not be")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
