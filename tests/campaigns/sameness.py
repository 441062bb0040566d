"""Campaign: the same input, versions and seed give the same files, byte for byte.

Each site is designed again and again, each time in a process of its own with another hash seed,
time zone, language and folder, and swept over flood goals on one worker, on two, and on a Dask
cluster of two where that extra is installed. Everything but the run log must be the same, and the
points of a sweep in its store too. Searches must end proven: one that is stopped by a time limit
gives what the machine had found by then.

    python -m tests.campaigns.sameness --sites 10 --runs 4

The first sites are those of the tests and the demo, the others are drawn with every feature of a
site file. Prints a row for each site and a last line of counts; answers 1 if anything differs.
"""

from __future__ import annotations

import argparse
import json
import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from importlib.util import find_spec
from pathlib import Path

from tests.builders.every_feature import every_feature
from tests.builders.site_toml import site_toml
from tests.cli.site_texts import EVERY_TABLE, ONE_BED

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "studies" / "demo" / "site.toml"
PATIENCE_S = 3600.0
BEDS_MOST = 6
SWEEPS = 3 if find_spec("distributed") else 2
LOG = "run_log.json"
"""The one file that tells how long things took."""

WORLDS = (
    {"PYTHONHASHSEED": "0", "TZ": "UTC", "LC_ALL": "C.UTF-8"},
    {"PYTHONHASHSEED": "1", "TZ": "Asia/Tokyo", "LC_ALL": "C"},
    {"PYTHONHASHSEED": "4711", "TZ": "America/Lima", "LANG": "de_DE.UTF-8"},
    {"PYTHONHASHSEED": "99999", "TZ": "Pacific/Apia", "PYTHONDONTWRITEBYTECODE": "1"},
)
"""What a process may find around it and must not tell."""

Folder = dict[str, bytes]


def files_of(text: str, words: Sequence[str], world: int) -> Folder:
    """Run a verb on a site in a new folder and a world of its own; return what it wrote.

    Args:
        text: of the site file.
        words: the verb, ``site.toml`` for the file, and its options.
        world: which of the worlds; they come round again.
    """
    with tempfile.TemporaryDirectory(prefix=f"same-{'x' * world}-") as name:
        home = Path(name)
        (home / "site.toml").write_text(text, encoding="utf-8")
        around = WORLDS[world % len(WORLDS)]
        ran = subprocess.run(
            [sys.executable, "-m", "optimizer.cli", *words, "--out", "out"],
            cwd=home,
            env={**os.environ, "PYTHONPATH": str(ROOT), **around},
            capture_output=True,
            timeout=PATIENCE_S,
            check=False,
        )
        if ran.returncode not in (0, 1):
            raise RuntimeError(ran.stderr.decode())
        written = _contents(home / "out")
        return written or {"what was said": ran.stdout + ran.stderr}


def _contents(folder: Path) -> Folder:
    """Return every file but the log; of a store, its points."""
    found = {}
    for path in sorted(each for each in folder.rglob("*") if each.is_file()):
        if path.suffix == ".sqlite":
            with closing(sqlite3.connect(path)) as base:
                rows = base.execute("select * from point order by key").fetchall()
            found[path.name] = json.dumps(rows).encode()
        elif path.name != LOG:
            found[str(path.relative_to(folder))] = path.read_bytes()
    return found


def differences(first: Folder, other: Folder) -> list[str]:
    """Return the names of files that are not the same in both, or in one only."""
    return sorted(n for n in {*first, *other} if first.get(n) != other.get(n))


def designed(text: str, runs: int) -> list[str]:
    """Return what differs between designs of a site in different worlds."""
    words = ("design", "site.toml", "--charts")
    first = files_of(text, words, 0)
    return [
        f"design in world {world}: {name}"
        for world in range(1, runs)
        for name in differences(first, files_of(text, words, world))
    ]


def swept(text: str, steps: int = 3) -> list[str]:
    """Return what differs between sweeps of a site on one worker, on two and on a cluster."""
    words = ("explore", "front", "floods", "site.toml", "--steps", str(steps))
    first = files_of(text, (*words, "--workers", "1"), 0)
    found = {"two workers": files_of(text, (*words, "--workers", "2"), 1)}
    if find_spec("distributed"):
        with _cluster() as address:
            found["a cluster"] = files_of(text, (*words, "--dask", address), 2)
    return [
        f"sweep on {engine}: {name}"
        for engine, files in found.items()
        for name in differences(first, files)
    ]


@contextmanager
def _cluster() -> Iterator[str]:
    from distributed import LocalCluster  # noqa: PLC0415  # an optional extra

    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
        yield cluster.scheduler_address


def sites(count: int) -> Iterator[tuple[str, str]]:
    """Yield names and texts of site files: some written by hand, then drawn ones."""
    yield "one bed", ONE_BED
    yield "every table", EVERY_TABLE
    yield "demo", DEMO.read_text(encoding="utf-8")
    for seed in range(count):
        yield f"drawn {seed}", site_toml(every_feature(seed, BEDS_MOST))


def main() -> int:
    """Run the campaign from the command line."""
    parser = argparse.ArgumentParser(description="Same input, same files.")
    parser.add_argument("--sites", type=int, default=5)
    parser.add_argument("--runs", type=int, default=len(WORLDS), help="of each design")
    given = parser.parse_args()
    faults: list[str] = []
    for name, text in sites(given.sites):
        found = [*designed(text, given.runs), *swept(text)]
        faults += [f"{name}: {each}" for each in found]
        print(f"{name}: {given.runs} designs and {SWEEPS} sweeps, {len(found)} differ", flush=True)
    print("\n".join(faults))
    print(f"{given.sites + 3} sites, {len(faults)} files that differ")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
