"""Every slow campaign in turn, each with a line of how it ended; answers 1 if any found a fault.

python -m tests.campaigns [--small]
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time

CAMPAIGNS = {
    "soundness": ("--sites", 2000, 10),
    "agreement": ("--sites", 300, 5),
    "enumeration": ("--sites", 300, 10),
    "bad_input": ("--cases", 20000, 50),
    "sameness": ("--sites", 5, 1),
    "kills": ("--kills", 50, 2),
    "intervals": ("--repetitions", 200, 4),
    "branches": ("--processes", 2, None),
    "house": (None, None, None),
    "install": (None, None, None),
}
"""What is counted, how many make the whole campaign, and how many a small one.

A small round leaves out what has no small form.
"""


def words_of(name: str, *, small: bool) -> list[str] | None:
    """Return the options of a campaign; None where it is left out."""
    option, whole, few = CAMPAIGNS[name]
    if option is None:
        return []
    count = few if small else whole
    return None if count is None else [option, str(count)]


def main() -> int:
    """Run them all."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true", help="a few cases of each, in minutes")
    asked = parser.parse_args()
    ended = []
    for name in CAMPAIGNS:
        words = words_of(name, small=asked.small)
        if words is None:
            continue
        print(f"--- {name} {' '.join(words)}", flush=True)
        started = time.perf_counter()
        command = [sys.executable, "-m", f"tests.campaigns.{name}", *words]
        status = subprocess.run(command, check=False).returncode
        minutes = (time.perf_counter() - started) / 60.0
        ended.append((name, status, minutes))
    for name, status, minutes in ended:
        print(f"{name}: {'no fault' if status == 0 else f'answered {status}'}, {minutes:.1f} min")
    return 1 if any(status for _, status, _ in ended) else 0


if __name__ == "__main__":
    sys.exit(main())
