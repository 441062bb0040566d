"""Which libraries each verb loads: help none of them, the others only those they use.

Each test asks a fresh process, since this one has loaded everything.
"""

import subprocess
import sys
from pathlib import Path

import pytest

from optimizer.cli import main
from tests.cli.site_texts import ONE_BED

SCIPY = ("scipy", "scipy.integrate", "scipy.interpolate", "scipy.optimize", "scipy.stats")
DRAWING = ("altair", "jinja2", "vl_convert")
SEARCHING = ("highspy", "networkx", "pyomo", "optimizer.milp", "optimizer.formulate")
SELDOM = ("distributed", "emcee", "sqlite3", "typst", "xlsxwriter")
HEAVY = ("numpy", "pandas", "pydantic", "rich", *SCIPY, *DRAWING, *SEARCHING, *SELDOM)


def loaded(code: str) -> set[str]:
    """The heavy modules that a fresh process has loaded after running some code."""
    told = f"import sys\n{code}\nprint(*(name for name in {HEAVY!r} if name in sys.modules))"
    command = [sys.executable, "-c", told]
    found = subprocess.run(command, capture_output=True, text=True, check=True)
    return set(found.stdout.splitlines()[-1].split())


def after(*lines: list[str]) -> set[str]:
    """The heavy modules loaded once the command has answered 0 to each line of words."""
    run = "\n".join(f"answered({words!r})" for words in lines)
    return loaded(f"""
from optimizer.cli import main
def answered(words):
    try:
        main(words)
    except SystemExit as end:
        assert not end.code, (words, end.code)
{run}
""")


@pytest.fixture(scope="module")
def design(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, set[str]]:
    """A stored design, and what making it with its page loaded."""
    folder = tmp_path_factory.mktemp("loading")
    site = folder / "tubs.toml"
    site.write_text(ONE_BED)
    found = after(["design", str(site), "--out", str(folder / "out")])
    return folder / "out" / "design.json", found


def test_help_of_every_verb_loads_none_of_the_heavy_libraries():
    assert after(["--help"], *([verb, "--help"] for verb in main.commands)) == set()


def test_importing_the_library_loads_none_of_the_heavy_libraries():
    assert loaded("import optimizer") == set()


def test_a_design_loads_no_modelling_library_and_nothing_that_only_other_verbs_use(design):
    _, found = design
    # The composed program needs no rows; draws, sheets and sweeps belong to other verbs.
    assert not found & {"pyomo", "scipy.integrate", "scipy.stats", *SELDOM}
    assert {"altair", "networkx", "scipy.optimize"} <= found


def test_a_check_loads_nothing_that_draws_or_searches(design):
    stored, _ = design
    assert not after(["check", str(stored)]) & {*DRAWING, *SEARCHING, *SELDOM, "scipy.stats"}


def test_the_catalog_is_listed_without_physics_pages_or_programs():
    assert after(["catalog", "pumps"]) <= {"numpy", "pandas"}
