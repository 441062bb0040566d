"""Campaign: spoilt site files through the whole command line, ``design`` included.

Every file is a small sound site spoilt by a seed: the even ones by slips of the pen (a wrong digit,
a lost point, another word that fits), which often still read; the odd ones broken in the ways that
editors and programs break files. It goes through ``floodwright design`` as a person would give it,
with a time limit on the search. What must never happen is a traceback, a run without an end, an
exit code that is none of 0 to 3, or a refusal without a sentence.

    python tests/campaigns/bad_files.py --cases 500 --seed 0

All runs share one process, so that the libraries are loaded once; each has a folder of its own.
Prints one JSON object; answers 1 if anything happened that must not.
"""

from __future__ import annotations

import argparse
import json
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from click.testing import CliRunner

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from optimizer.cli import main as floodwright  # noqa: E402  # after the path is set
from tests.cli.site_texts import ONE_BED  # noqa: E402
from tests.reading.mutants import mutant, slip  # noqa: E402
from tests.reading.site_texts import EVERY_KEY, SMALLEST  # noqa: E402

TIME_LIMIT_S = 5.0
PATIENCE_S = 120.0
"""A run that takes longer than this is cut off and counted as one without an end."""

SLOW_S = 15.0
"""Seeds of runs slower than this are listed."""

FIELD = EVERY_KEY.replace('catalog = "my_parts"\n', "")
DEMO = (ROOT / "studies" / "demo" / "site.toml").read_text(encoding="utf-8")
BASES = (ONE_BED, ONE_BED, SMALLEST, FIELD, FIELD, DEMO)

REFUSED, TRACEBACK, ENDLESS = "refused: bad input", "traceback", "without an end"
BROKEN_PROMISE = "designed, but a promise fails"
CLASSES = {
    0: "designed and checked",
    1: "no design, and why",
    2: REFUSED,
    3: "stopped by the time limit, best so far kept",
}
FORBIDDEN = {TRACEBACK, ENDLESS, "another exit code", "no sentence"}


@dataclass(frozen=True)
class Run:
    """What became of one file."""

    seed: int
    outcome: str
    seconds: float
    said: str


class TooLongError(Exception):
    """Raised by the timer in a run without an end."""


@contextmanager
def patience(seconds: float) -> Iterator[None]:
    """Cut off what takes longer, where the system has such a timer."""

    def give_up(*_: object) -> None:
        raise TooLongError

    if not hasattr(signal, "setitimer"):
        yield
        return
    earlier = signal.signal(signal.SIGALRM, give_up)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, earlier)


def spoilt(seed: int, bases: Sequence[str]) -> bytes:
    """Return a spoilt site file."""
    return mutant(seed, bases) if seed % 2 else slip(seed, bases)


def run_one(seed: int, folder: Path, bases: Sequence[str], time_limit_s: float) -> Run:
    """Give one spoilt file to the command."""
    site = folder / f"site-{seed}.toml"
    site.write_bytes(spoilt(seed, bases))
    words = ["design", str(site), "--time-limit", str(time_limit_s), "--out", str(folder / "out")]
    started = time.perf_counter()
    with patience(PATIENCE_S):
        answer = CliRunner().invoke(floodwright, words)
    seconds = time.perf_counter() - started
    site.unlink()
    return Run(seed, outcome_of(answer), seconds, words_of(answer))


def outcome_of(answer) -> str:  # click names the class differently by version
    """Return the class of an outcome."""
    if isinstance(answer.exception, TooLongError):
        return ENDLESS
    if answer.exception is not None and not isinstance(answer.exception, SystemExit):
        return TRACEBACK
    if answer.exit_code in (1, 2) and not answer.output.strip():
        return "no sentence"
    if answer.exit_code == 1 and answer.stdout.strip():  # why there is none is told on stderr
        return BROKEN_PROMISE
    return CLASSES.get(answer.exit_code, "another exit code")


def words_of(answer) -> str:
    """Return what was said, or the traceback."""
    if answer.exception is None or isinstance(answer.exception, SystemExit):
        return answer.output.strip()
    return "".join(traceback.format_exception(answer.exception))


def run_all(
    cases: int, seed: int, time_limit_s: float = TIME_LIMIT_S, bases: Sequence[str] = BASES
) -> list[Run]:
    """Run the seeds ``seed`` to ``seed + cases``."""
    with tempfile.TemporaryDirectory() as folder:
        return [
            run_one(each, Path(folder), bases, time_limit_s) for each in range(seed, seed + cases)
        ]


def figures(runs: Sequence[Run]) -> dict[str, object]:
    """Return the campaign's figures."""
    worst = max(runs, key=lambda run: run.seconds)
    refused = [run.seconds for run in runs if run.outcome == REFUSED]
    return {
        "cases": len(runs),
        "outcomes": dict(sorted(Counter(run.outcome for run in runs).items())),
        "worst_s": round(worst.seconds, 2),
        "worst_seed": worst.seed,
        "worst_refusal_s": round(max(refused, default=0.0), 2),
        "seconds": round(sum(run.seconds for run in runs), 1),
        "slow_seeds": [run.seed for run in runs if run.seconds > SLOW_S],
        "promises_that_fail": seeds_by_words(runs, {BROKEN_PROMISE}),
        "forbidden": seeds_by_words(runs, FORBIDDEN),
    }


def seeds_by_words(runs: Sequence[Run], outcomes: set[str]) -> dict[str, list[int]]:
    """Return the seeds of some outcomes by what was said: the last line, or what fails."""
    found: dict[str, list[int]] = {}
    for run in (each for each in runs if each.outcome in outcomes):
        lines = run.said.splitlines() or ["nothing"]
        fails = [i for i, line in enumerate(lines) if line.startswith("fails ")]
        words = " ".join(lines[fails[0] + 1].split()) if fails else lines[-1].strip()
        found.setdefault(words, []).append(run.seed)
    return found


def main() -> int:
    """Run the campaign from the command line."""
    parser = argparse.ArgumentParser(description="Spoilt site files through the whole command.")
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--time-limit", type=float, default=TIME_LIMIT_S)
    given = parser.parse_args()
    found = figures(run_all(given.cases, given.seed, given.time_limit))
    print(json.dumps(found, indent=1))
    return 1 if found["forbidden"] else 0


if __name__ == "__main__":
    sys.exit(main())
