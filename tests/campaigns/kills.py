"""Campaign: the command killed, or interrupted, at random moments.

Each run begins in a folder that already holds the whole results of an earlier input, and is stopped
at a random moment of its length, as the processor counts it: killed at once (kill -9), or with
Ctrl-C. Same input, same output: so each file after a kill is the old one or the new one, byte for
byte; anything else is damaged or partial. Ctrl-C may leave the best design so far instead, so there
each file must be whole; it must end inside two seconds of the processor, whatever else the machine
does. Every fifth time the same command runs again, undisturbed, and must end with the new files.

    python -m tests.campaigns.kills --kills 50 --interrupts 20

Prints a row for each verb, the machine's load and a last line of counts; answers 1 if anything was
damaged or went on too long. Needs Linux, which tells what a process took.
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
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from tests.campaigns.kill_verbs import VERBS, Verb

ROOT = Path(__file__).resolve().parents[2]
LOGS = {"run_log.json", "run_log.csv"}
"""Files that tell the time: whole, but never the same twice."""

PATIENCE_S = 900.0
QUICK_S = 2.0
"""Seconds of the processor inside which Ctrl-C ends a command."""

TICK_S = 0.03

Folder = dict[str, bytes]

ENDS = {
    ".json": b"}\n",
    ".html": b"</html>\n",
    ".csv": b"\n",
    ".svg": b"</svg>",
    ".png": b"IEND\xaeB`\x82",
    ".toml": b"\n",
}
"""How a whole file ends, by what follows the last point of its name."""


@dataclass(frozen=True, order=True)
class Took:
    """Seconds of the processor, and by the clock."""

    processor_s: float
    clock_s: float


@dataclass
class Tally:
    """What was seen of one verb: the longest it went on after Ctrl-C, and what was wrong."""

    longest: Took = field(default_factory=lambda: Took(0.0, 0.0))
    damaged: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Measure:
    """What a verb writes for the old and for the new input, and its seconds of the processor."""

    old: Folder
    new: Folder
    seconds: float


def command(verb: Verb, folder: Path) -> list[str]:
    """Return the words of a process that runs the verb on a folder."""
    results = ["--out", str(folder / "out")] if verb.writes else []
    return [sys.executable, "-m", "optimizer.cli", *verb.words, *results]


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


def processor_s(session: int) -> float:
    """Return what the processes of a session took so far, those included that they waited for."""
    ticks = 0
    for each in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):  # it ended meanwhile
            words = each.read_text().rpartition(")")[2].split()
            if int(words[3]) == session:
                ticks += sum(int(word) for word in words[11:15])
    return ticks / os.sysconf("SC_CLK_TCK")


def wait_until(process: subprocess.Popen[bytes], at_s: float) -> float:
    """Wait until a process and its workers took so long, or ended; return what they took."""
    taken = 0.0
    while process.poll() is None and (now := processor_s(process.pid)) < at_s:
        taken = max(taken, now)
        time.sleep(TICK_S)
    return taken


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
        process = start(verb, folder)
        seconds = wait_until(process, PATIENCE_S)
        code = process.wait(PATIENCE_S)
        if code not in (0, 1):
            raise RuntimeError(f"{verb.name} does not run: exit code {code}")
        found.append(contents(folder))
    return Measure(found[0], found[1], seconds)


def stop_once(verb: Verb, folder: Path, measured: Measure, at_s: float, how: int) -> Took:
    """Stop a run at a moment; return how long it went on."""
    shutil.rmtree(folder / "out", ignore_errors=True)
    for name, data in measured.old.items():
        path = folder / "out" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    verb.lay_out(folder, new=True)
    process = start(verb, folder)
    wait_until(process, at_s)
    before, began = processor_s(process.pid), time.perf_counter()
    with suppress(ProcessLookupError):  # it ended by itself
        os.killpg(process.pid, how)
    after = wait_until(process, PATIENCE_S)
    process.wait(PATIENCE_S)
    return Took(max(0.0, after - before), time.perf_counter() - began)


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
                took = stop_once(verb, folder, measured, at_s, how)
                found = damage(contents(folder), measured, how)
                if how == signal.SIGINT:
                    tally.longest = max(tally.longest, took)
                    late = took.processor_s > QUICK_S
                    found += [f"went on for {took.processor_s:.1f} s"] if late else []
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
    parser.add_argument("--only", help="this verb alone")
    given = parser.parse_args()
    # A shell starts what runs aside with Ctrl-C ignored, and so would be every command from here.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    rng = random.Random(given.seed)
    damaged: list[str] = []
    chosen = [verb for verb in VERBS if given.only in (None, verb.name)]
    for verb in chosen:
        kills = -(-given.kills // len(chosen))
        interrupts = -(-given.interrupts // len(chosen))
        tally = run_verb(verb, kills, interrupts, rng)
        damaged += tally.damaged
        longest = tally.longest
        print(
            f"{verb.name}: {kills} kills, {interrupts} times Ctrl-C (at most "
            f"{longest.processor_s:.1f} s of the processor to end, {longest.clock_s:.1f} s by the "
            f"clock at a load of {os.getloadavg()[0]:.0f}), {len(tally.damaged)} faults",
            flush=True,
        )
    print("\n".join(damaged))
    print(f"{len(damaged)} files damaged or partial, or runs that went on")
    return 1 if damaged else 0


if __name__ == "__main__":
    sys.exit(main())
