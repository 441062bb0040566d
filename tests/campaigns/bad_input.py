"""Campaign: spoilt files of every kind through the whole command, as a person would give them.

Site files, catalog folders, stored designs, readings and their sheets, included coefficients,
standing systems and pairs to extend, spoilt by a seed: slips of the pen that mostly still read;
what editors and programs do to files (units, types, sizes from 0 to 1e12, nan, letters of every
script, deep nesting, keys that stand twice, cut files, other encodings, markup and script text);
and names of files that lead elsewhere (links, pipes, devices, folders above). Each goes through the
verb that reads it. Of those that read, all that were given to design and one in three of the others
are worked out too: designed, checked, packed, run, calibrated, mended or extended, with five
seconds for a search; the rest end where that work would begin.

    python -m tests.campaigns.bad_input --cases 20000 --processes 1

What must never happen: a traceback, a run without an end or of more than ten seconds of the
processor, an exit code that is none of 0 to 3, a refusal without a sentence, a file written outside
the folder for results or read where nothing may be, a program started, a connection made, text of a
file that became markup of a page, more than 2 GB of memory, a process that dies. What took too long
is run again alone before it counts. Each such case is copied, whole, with its command, into the
folder ``--keep``, and so are the figures so far. A campaign that was ended goes on with ``--seed``
at the seed told last.

Prints one JSON object and a last line of counts; answers 1 if anything happened that must not.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from multiprocessing.connection import Connection
from pathlib import Path

from optimizer.files import write_text_whole
from tests.campaigns.spoilt_runs import (
    BROKEN_PROMISE,
    DIED,
    FORBIDDEN,
    PATIENCE_S,
    READ_ONLY,
    REFUSED,
    TOO_LONG,
    Run,
    run_one,
)

BATCH = 250
"""Cases that share a process: it dies with one of them at worst, and its memory ends with it."""

PRELOADED = ["tests.campaigns.spoilt_runs", "optimizer.pipeline", "optimizer.report.writer",
             "optimizer.day_gather", "optimizer.mend.run", "optimizer.extension",
             "optimizer.learn.calibrate", "optimizer.pack.writer"]  # fmt: skip


def run_batch(seeds: Sequence[int], keep: Path) -> list[Run]:
    """Run seeds in a process of their own, and those after one that ends it in another."""
    runs: list[Run] = []
    while len(runs) < len(seeds):
        rest = seeds[len(runs) :]
        for run in _in_a_process(rest, keep):
            runs.append(run)
            if run.outcome == DIED:
                break
    return [_again_alone(run, keep) if run.outcome in TOO_LONG else run for run in runs]


def _in_a_process(seeds: Sequence[int], keep: Path) -> Iterator[Run]:
    """Yield what became of each seed, up to one that ends the process."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(PRELOADED)
    ours, theirs = context.Pipe(duplex=False)
    process = context.Process(target=_tell_runs, args=(list(seeds), keep, theirs))
    process.start()
    theirs.close()
    try:
        for seed in seeds:
            if not ours.poll(6 * PATIENCE_S):
                process.kill()
                yield Run(seed, "?", DIED, 6 * PATIENCE_S, "killed: no end in sight")
                return
            yield ours.recv()
    except EOFError:
        process.join()
        yield Run(seed, "?", DIED, 0.0, f"the process ended with {process.exitcode}")
    finally:
        process.join()


def _tell_runs(seeds: Sequence[int], keep: Path, to: Connection) -> None:
    for seed in seeds:
        to.send(run_one(seed, keep))
    to.close()


def _again_alone(run: Run, keep: Path) -> Run:
    """Return what became of a case that took too long, when it was run again by itself."""
    return next(_in_a_process([run.seed], keep))


def figures(runs: Sequence[Run]) -> dict[str, object]:
    """Return the campaign's figures."""
    worst = max(runs, key=lambda run: run.seconds)
    refused = [run.seconds for run in runs if run.outcome == REFUSED]
    kinds = sorted({run.kind for run in runs})
    return {
        "cases": len(runs),
        "outcomes": dict(sorted(Counter(run.outcome for run in runs).items())),
        "by_kind": {
            kind: dict(sorted(Counter(r.outcome for r in runs if r.kind == kind).items()))
            for kind in kinds
        },
        "processor_s": round(sum(run.seconds for run in runs), 1),
        "worst_s": round(worst.seconds, 2),
        "worst_seed": worst.seed,
        "worst_refusal_s": round(max(refused, default=0.0), 2),
        "promises_that_fail": seeds_by_words(runs, {BROKEN_PROMISE}),
        "forbidden": seeds_by_words(runs, FORBIDDEN),
    }


def told(runs: Sequence[Run]) -> str:
    """Return the figures as text."""
    return json.dumps(figures(runs), indent=1, ensure_ascii=False)


def seeds_by_words(runs: Sequence[Run], outcomes: set[str]) -> dict[str, list[int]]:
    """Return the seeds of some outcomes by what was said: the last line, or what fails."""
    found: dict[str, list[int]] = {}
    for run in (each for each in runs if each.outcome in outcomes):
        lines = run.said.splitlines() or [run.outcome]
        fails = [i for i, line in enumerate(lines) if line.startswith("fails ")]
        words = " ".join(lines[fails[0] + 1].split()) if fails else lines[-1].strip()
        found.setdefault(f"{run.kind}: {words}", []).append(run.seed)
    return found


def run_all(first: int, cases: int, processes: int, keep: Path) -> list[Run]:
    """Run a range of seeds; tell how far it is, and keep the figures so far in a file."""
    keep.mkdir(parents=True, exist_ok=True)
    ends = range(first, first + cases, BATCH)
    batches = [range(start, min(start + BATCH, first + cases)) for start in ends]
    runs: list[Run] = []
    with ThreadPoolExecutor(processes) as pool:
        for batch in pool.map(lambda seeds: run_batch(seeds, keep), batches):
            runs += batch
            bad = sum(run.outcome in FORBIDDEN for run in runs)
            done, spent = first + len(runs), sum(run.seconds for run in runs)
            said = f"up to seed {done}: {bad} bad, {spent:.0f} s of the processor"
            print(said, file=sys.stderr, flush=True)
            write_text_whole(keep / f"figures-from-{first}.json", told(runs))
    return runs


def main() -> int:
    """Run the campaign from the command line."""
    parser = argparse.ArgumentParser(description="Spoilt files through the whole command.")
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=0, help="the first")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--keep", type=Path, default=Path(tempfile.gettempdir()) / "spoilt-faults")
    given = parser.parse_args()
    began = time.monotonic()
    runs = run_all(given.seed, given.cases, given.processes, given.keep)
    print(told(runs))
    bad = sum(run.outcome in FORBIDDEN for run in runs)
    whole = sum(run.outcome not in (REFUSED, READ_ONLY) for run in runs)
    spent = sum(run.seconds for run in runs)
    print(
        f"{len(runs)} spoilt files, {whole} of them worked out to the end, {bad} with an outcome "
        f"that must not be; {len(runs) / spent:.1f} files a second of the processor, "
        f"{(time.monotonic() - began) / 60:.0f} min by the clock"
    )
    if bad:
        print(f"kept in {given.keep}")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
