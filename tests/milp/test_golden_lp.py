"""Each family alone as LP text, against a stored file: a changed rule shows as a changed text."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from optimizer.milp.family import REGISTRY
from optimizer.milp.model import FAMILIES, build_model, maths_of_the_program
from optimizer.milp.modeling import linear, minimise, new_model, write_lp
from optimizer.milp.tables import Tables
from optimizer.milp.variables import add_variables
from tests.milp.small_problem import COUNTED, EVERYTHING, IN_TURN

HERE = Path(__file__).parent
GOLDEN = HERE / "golden"
MATHS = HERE.parents[1] / "docs" / "maths.md"
PROBLEMS = (EVERYTHING, IN_TURN, COUNTED)
WRITE = (
    "If that is meant: python -m tests.milp.test_golden_lp writes golden files and docs/maths.md "
    "anew. Read the difference before you commit it."
)


def tables_with(name: str) -> Tables:
    """The tables of the first small problem in which a family has rows."""
    found = [t for t in map(Tables, PROBLEMS) if list(REGISTRY[name].indices(t))]
    assert found, (
        f"{name} has no row in EVERYTHING, IN_TURN or COUNTED of tests/milp/small_problem.py: give "
        "one of them what the family needs (other golden files must stay as they are)."
    )
    return found[0]


def family_alone(name: str, path: Path) -> str:
    tables = tables_with(name)
    model = new_model("alone")
    add_variables(model, tables)
    REGISTRY[name].add_to(model, tables)
    minimise(model, linear([]))
    write_lp(model, path)
    return path.read_text()


@pytest.mark.parametrize("name", [f.name for f in FAMILIES])
def test_a_family_alone_writes_its_golden_rows(name, tmp_path):
    stored, written = GOLDEN / f"{name}.lp", family_alone(name, tmp_path / "alone.lp")
    assert stored.exists(), f"{name} has no golden file. {WRITE}"
    assert written == stored.read_text(), f"The rows of {name} have changed. {WRITE}"


def test_every_registered_family_has_a_golden_file_and_no_file_is_left_over():
    differ = {path.stem for path in GOLDEN.glob("*.lp")} ^ set(REGISTRY)
    assert differ == set(), f"Write those that lack, take out those left over. {WRITE}"


def test_the_maths_page_is_current():
    assert MATHS.read_text() == maths_of_the_program(), f"docs/maths.md is old. {WRITE}"


def test_the_whole_program_is_written_under_its_own_names(tmp_path):
    text = ""
    for problem in PROBLEMS:
        write_lp(build_model(problem), tmp_path / "whole.lp")
        text += (tmp_path / "whole.lp").read_text()
    assert [family.name for family in FAMILIES if family.name not in text] == []


def test_the_program_loads_neither_the_site_nor_the_physics():
    code = (
        "import sys, optimizer.milp.solve, optimizer.milp.size_tree;"
        "print([m for m in sys.modules if m.startswith('optimizer.')])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    seen = {name.split(".")[1] for name in ast.literal_eval(out.stdout)}
    assert seen == {"errors", "milp", "records", "units_format", "units_told"}


def store_golden() -> None:
    """Write every golden file and the maths page anew; read the difference before committing."""
    GOLDEN.mkdir(exist_ok=True)
    for family in FAMILIES:
        family_alone(family.name, GOLDEN / f"{family.name}.lp")
    MATHS.write_text(maths_of_the_program())


if __name__ == "__main__":
    store_golden()
