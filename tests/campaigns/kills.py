"""Campaign: the command killed, or interrupted, at random moments.

Each run begins in a folder that already holds the whole results of an earlier site, and is stopped
at a random moment of its length: killed at once (kill -9), or with Ctrl-C. Same input, same output:
so each file after a kill is the old one or the new one, byte for byte; anything else is damaged or
partial. Ctrl-C may leave the best design so far instead, so there each file must be whole. Every
fifth time the same command runs again, undisturbed, and must end with the new files. How long the
slowest run went on after Ctrl-C is printed.

    python -m tests.campaigns.kills --kills 50 --interrupts 20

Prints a row for each verb and a last line of counts; answers 1 if anything was damaged.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from optimizer.alternatives import design_site
from optimizer.records.design_io import design_to_text
from tests.cli.site_texts import ONE_BED

ROOT = Path(__file__).resolve().parents[2]
LOGS = {"run_log.json", "run_log.csv"}
"""Files that tell the time: whole, but never the same twice."""

PATIENCE_S = 300.0

OFTEN = ONE_BED.replace('"2 per hour"', '"3 per hour"')
Folder = dict[str, bytes]


def _sites(folder: Path, *, new: bool) -> None:
    (folder / "site.toml").write_text(OFTEN if new else ONE_BED, encoding="utf-8")


def _designs(folder: Path, *, new: bool) -> None:
    (folder / "design.json").write_text(_design_text(new), encoding="utf-8")


@cache
def _design_text(new: bool) -> str:
    with tempfile.TemporaryDirectory() as name:
        _sites(Path(name), new=new)
        return design_to_text(design_site(Path(name) / "site.toml").design)


@dataclass(frozen=True)
class Verb:
    """A command that writes results, and how to lay out its input."""

    name: str
    words: tuple[str, ...]
    lay_out: Callable[..., None]


VERBS = (
    Verb("design", ("design", "site.toml", "--charts"), _sites),
    Verb("explore", ("explore", "front", "floods", "site.toml", "--steps", "4", "--workers", "2"),
         _sites),
    Verb("simulate", ("simulate", "design.json", "--hours", "6"), _designs),
    Verb("pack", ("pack", "design.json"), _designs),
)  # fmt: skip


ENDS = {
    ".json": b"}\n",
    ".html": b"</html>\n",
    ".csv": b"\n",
    ".svg": b"</svg>",
    ".png": b"IEND\xaeB`\x82",
}
"""How a whole file ends, by what follows the last point of its name."""


@dataclass
class Tally:
    """What was seen of one verb."""

    slowest_stop_s: float = 0.0
    damaged: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Measure:
    """What a verb writes for the old and for the new input, and how long it takes."""

    old: Folder
    new: Folder
    seconds: float


def command(verb: Verb, folder: Path) -> list[str]:
    """Return the words of a process that runs the verb on a folder."""
    return [sys.executable, "-m", "optimizer.cli", *verb.words, "--out", str(folder / "out")]


def start(verb: Verb, folder: Path) -> subprocess.Popen[bytes]:
    """Start the verb in its own group of processes, so that a kill reaches its workers."""
    return subprocess.Popen(
        command(verb, folder),
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )


def contents(folder: Path) -> Folder:
    """Return every result file by its name, without logs, stores and what a kill left unfinished.

    A file being written has a name that begins with a point, and nothing reads it.
    """
    out = folder / "out"
    return {
        str(path.relative_to(out)): path.read_bytes()
        for path in sorted(out.rglob("*"))
        if path.is_file() and path.name not in LOGS and not _is_kept_aside(path)
    }


def _is_kept_aside(path: Path) -> bool:
    return path.name.startswith(".") or ".sqlite" in path.name


def measure(verb: Verb, folder: Path) -> Measure:
    """Run the verb undisturbed on the old and the new input."""
    found = []
    seconds = 0.0
    for new in (False, True):
        shutil.rmtree(folder / "out", ignore_errors=True)
        verb.lay_out(folder, new=new)
        began = time.perf_counter()
        code = start(verb, folder).wait(PATIENCE_S)
        seconds = time.perf_counter() - began
        if code not in (0, 1):
            raise RuntimeError(f"{verb.name} does not run: exit code {code}")
        found.append(contents(folder))
    return Measure(found[0], found[1], seconds)


def stop_once(verb: Verb, folder: Path, measured: Measure, at_s: float, how: int) -> float:
    """Stop a run at a moment; return how many seconds it went on."""
    shutil.rmtree(folder / "out", ignore_errors=True)
    for name, data in measured.old.items():
        path = folder / "out" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    verb.lay_out(folder, new=True)
    process = start(verb, folder)
    time.sleep(at_s)
    began = time.perf_counter()
    os.killpg(process.pid, how)
    process.wait(PATIENCE_S)
    return time.perf_counter() - began


def damage(now: Folder, measured: Measure, how: int) -> list[str]:
    """Return what is wrong with the files after a stop."""
    gone = [f"{name} is gone" for name in measured.old if name not in now]
    changed = [
        (name, data)
        for name, data in now.items()
        if data not in (measured.old.get(name), measured.new.get(name))
    ]
    if how == signal.SIGKILL:
        return gone + [f"{name} is neither the old file nor the new one" for name, _ in changed]
    return gone + [
        f"{name} is not whole"
        for name, data in changed
        if not data.endswith(ENDS.get(Path(name).suffix, b""))
    ]


def again(verb: Verb, folder: Path, measured: Measure) -> list[str]:
    """Run the verb undisturbed after a stop; return what differs from the new results."""
    start(verb, folder).wait(PATIENCE_S)
    now = contents(folder)
    new = measured.new.items()
    return [f"{name} differs after going on" for name, data in new if now.get(name) != data]


def run_verb(verb: Verb, kills: int, interrupts: int, rng: random.Random) -> Tally:
    """Stop one verb again and again."""
    tally = Tally()
    with tempfile.TemporaryDirectory(prefix="kills-") as name:
        folder = Path(name)
        measured = measure(verb, folder)
        for how, times in ((signal.SIGKILL, kills), (signal.SIGINT, interrupts)):
            for i in range(times):
                at_s = measured.seconds * rng.random()
                where = f"{verb.name} stopped by {how.name} after {at_s:.2f} s"
                stop_s = stop_once(verb, folder, measured, at_s, how)
                found = damage(contents(folder), measured, how)
                if how == signal.SIGINT:
                    tally.slowest_stop_s = max(tally.slowest_stop_s, stop_s)
                if i % 5 == 0:
                    found += again(verb, folder, measured)
                tally.damaged += [f"{where}: {each}" for each in found]
    return tally


def main() -> int:
    """Run the campaign from the command line."""
    parser = argparse.ArgumentParser(description="The command stopped at random moments.")
    parser.add_argument("--kills", type=int, default=50, help="kills in all, shared by the verbs")
    parser.add_argument("--interrupts", type=int, default=20)
    parser.add_argument("--seed", type=int, default=0)
    given = parser.parse_args()
    rng = random.Random(given.seed)
    damaged: list[str] = []
    for verb in VERBS:
        kills = -(-given.kills // len(VERBS))
        interrupts = -(-given.interrupts // len(VERBS))
        tally = run_verb(verb, kills, interrupts, rng)
        damaged += tally.damaged
        print(
            f"{verb.name}: {kills} kills, {interrupts} times Ctrl-C (slowest to end "
            f"{tally.slowest_stop_s:.1f} s), {len(tally.damaged)} damaged"
        )
    print("\n".join(damaged))
    print(f"{len(damaged)} files damaged or partial")
    return 1 if damaged else 0


if __name__ == "__main__":
    sys.exit(main())
