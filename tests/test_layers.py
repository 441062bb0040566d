"""The layer contracts hold."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def test_layers_point_one_way():
    found = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command as c; c()"],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
    )
    assert found.returncode == 0, found.stdout + found.stderr
