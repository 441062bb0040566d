"""One case of the campaign of spoilt files, run and judged in this process."""

from __future__ import annotations

import resource
import shutil
import tempfile
import time
import traceback
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from unittest import mock

from click.testing import CliRunner, Result

from optimizer.cli import main as floodwright
from optimizer.report.bundle import cache_folder
from tests.builders.path_tricks import SECRET
from tests.campaigns.spoilt_cases import lay_out
from tests.campaigns.watch import TooLongError, Watch, page_faults, patience

PATIENCE_S = 60.0
"""Seconds of the processor, and five times as many of the clock, after which a run is cut off."""

SLOW_S = 10.0
"""A run that takes the processor longer is slow; five of these seconds may be a search."""

MEMORY_MOST_KB = 2_000_000

REFUSED, TRACEBACK, ENDLESS = "refused: bad input", "traceback", "without an end"
SILENT, STRANGE, SLOW = "no sentence", "another exit code", f"over {SLOW_S:.0f} s"
OUTSIDE, MARKUP, DIED = "touched what it must not", "text became markup", "the process died"
BROKEN_PROMISE = "answered, but a promise fails"
READ_ONLY = "reads; the work after it left out"
CLASSES = {0: "answered", 1: "no, and why", 2: REFUSED, 3: "stopped, best so far kept"}
TOO_LONG = {ENDLESS, SLOW}
FORBIDDEN = {TRACEBACK, SILENT, STRANGE, OUTSIDE, MARKUP, DIED, *TOO_LONG}

WORK = (
    "optimizer.alternatives.design_layouts",
    "optimizer.day_gather.gather_day",
    "optimizer.pack.writer.write_pack",
    "optimizer.learn.calibrate.calibrate",
    "optimizer.mend.run.diagnose",
    "optimizer.extension.extend_design",
)
"""Where the work begins that follows when a file was read and found sound."""

WHOLE_EVERY = 3
"""One in so many cases of the other verbs goes the whole road; of those that design, every one."""


class LeftOutError(BaseException):
    """Raised where the work would begin that is left out; nothing may swallow it."""


@dataclass(frozen=True)
class Run:
    """What became of one case: its class, the processor's seconds and what was said."""

    seed: int
    kind: str
    outcome: str
    seconds: float
    said: str


@cache
def the_watch() -> Watch:
    """Return this process's watch."""
    return Watch()


def run_one(seed: int, kept: Path | None = None) -> Run:
    """Run one case in a folder of its own.

    Args:
        seed: of the case.
        kept: a folder that gets a copy of a case with an outcome that must not be.
    """
    with tempfile.TemporaryDirectory(prefix="spoilt-") as name:
        folder = Path(name)
        kind, words = lay_out(seed, folder)
        given = {path.name for path in (folder / "home").iterdir()}
        began = time.process_time()
        with the_watch().over(folder / "out", cache_folder(), secret=folder / "outside") as touched:
            answer = _invoke(words, whole=words[0] == "design" or seed % WHOLE_EVERY == 0)
        seconds = time.process_time() - began
        home = [path.name for path in (folder / "home").iterdir() if path.name not in given]
        outside = [*touched, *(f"left {each}" for each in home)]
        outcome, said = _judge(answer, seconds, outside, folder / "out")
        if outcome in FORBIDDEN and kept is not None:
            _keep(folder, kept / str(seed), words, said)
    return Run(seed, kind, outcome, seconds, said)


def _invoke(words: list[str], *, whole: bool) -> Result | BaseException:
    """Run the command; where it was cut off, what did that."""
    try:
        with patience(PATIENCE_S, 5 * PATIENCE_S), _work(whole=whole):
            answer = CliRunner().invoke(floodwright, words)
    except (LeftOutError, TooLongError) as cut:
        return cut
    return answer.exception if isinstance(answer.exception, TooLongError) else answer


@contextmanager
def _work(*, whole: bool) -> Iterator[None]:
    """Leave the work after reading out, or not."""
    if whole:
        yield
        return
    with ExitStack() as stack:
        for name in WORK:
            stack.enter_context(mock.patch(name, side_effect=LeftOutError))
        yield


def _judge(
    answer: Result | BaseException, seconds: float, outside: Sequence[str], out: Path
) -> tuple[str, str]:
    """Return the class of an outcome and what was said, or what is wrong."""
    if isinstance(answer, TooLongError):
        return ENDLESS, f"cut off after {seconds:.0f} s of the processor"
    if outside:
        return OUTSIDE, "\n".join(outside)
    if seconds > SLOW_S:
        return SLOW, f"{seconds:.1f} s of the processor"
    if isinstance(answer, LeftOutError):
        return READ_ONLY, ""
    assert isinstance(answer, Result)
    if answer.exception is not None and not isinstance(answer.exception, SystemExit):
        return TRACEBACK, "".join(traceback.format_exception(answer.exception))
    return _judge_words(answer, out)


def _judge_words(answer: Result, out: Path) -> tuple[str, str]:
    said = answer.output.strip()
    if markup := page_faults(out):
        return MARKUP, "\n".join(markup)
    if SECRET in said:
        return OUTSIDE, f"told what it may not read: {said}"
    if answer.exit_code in (1, 2) and not said:
        return SILENT, said
    if answer.exit_code == 1 and answer.stdout.strip():  # why there is none is told on stderr
        return BROKEN_PROMISE, said
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    if memory > MEMORY_MOST_KB:
        return OUTSIDE, f"{memory / 1e6:.1f} GB of memory"
    return CLASSES.get(answer.exit_code, STRANGE), said


def _keep(folder: Path, place: Path, words: list[str], said: str) -> None:
    """Copy a case, with its command and what was said; links stay links, pipes are left."""

    def pipes(where: str, names: list[str]) -> list[str]:
        return [name for name in names if (Path(where) / name).is_fifo()]

    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(folder, place, symlinks=True, ignore=pipes)
    told = [each.replace(str(folder), ".") for each in words]
    (place / "command.txt").write_text(f"floodwright {' '.join(told)}\n\n{said}\n", "utf-8")
