"""Campaign: wheel and sdist are built, installed in clean environments, and run the demo there.

    python -m tests.campaigns.install

Nothing of the clone can be seen by the installed command: it runs in an empty folder, isolated from
the search path, on a copy of the demo site. Prints what was installed and how long the command
takes to start (`--help`, three times, the median); answers 1 if anything fails.
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "studies" / "demo" / "site.toml"
STARTS = 3


def run(words: list[str], folder: Path) -> str:
    """Run a command away from the clone; return what it printed."""
    clean = {k: v for k, v in os.environ.items() if k not in {"PYTHONPATH", "VIRTUAL_ENV"}}
    done = subprocess.run(words, cwd=folder, env=clean, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"{' '.join(words)}\n{done.stdout}{done.stderr}")
    return done.stdout


def build(folder: Path) -> list[Path]:
    """Return a wheel and an sdist built from the clone."""
    run([sys.executable, "-m", "build", "--outdir", str(folder), str(ROOT)], folder)
    return sorted(folder.glob("floodwright-*"))


def try_out(package: Path, folder: Path) -> str:
    """Install a package in a clean environment and design the demo; return a row of figures."""
    home = folder / f"venv-{package.suffix.strip('.')}"
    venv.create(home, with_pip=True)
    run([str(home / "bin" / "pip"), "install", "-q", str(package)], folder)
    command = str(home / "bin" / "floodwright")
    starts = []
    for _ in range(STARTS):
        began = time.perf_counter()
        run([command, "--help"], folder)
        starts.append(time.perf_counter() - began)
    site = Path(shutil.copy(DEMO, folder / "site.toml"))
    answer = run(
        [command, "design", str(site), "--no-nearly", "--out", str(folder / "out")], folder
    )
    parts = run([command, "catalog"], folder)
    told = next(line.strip() for line in answer.splitlines() if line.strip())
    return (
        f"{package.name}: {package.stat().st_size / 1e6:.2f} MB; help after "
        f"{statistics.median(starts):.2f} s; {len(parts.splitlines())} catalog tables; demo: {told}"
    )


def main() -> int:
    """Run the campaign from the command line."""
    with tempfile.TemporaryDirectory(prefix="install-") as name:
        folder = Path(name)
        packages = build(folder)
        for package in packages:
            print(try_out(package, folder))
    print(f"{len(packages)} packages installed and tried")
    return 0 if len(packages) == 2 else 1


if __name__ == "__main__":
    sys.exit(main())
