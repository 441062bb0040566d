"""Ctrl-C: exit code 3, with the best design so far or a sentence, no traceback.

Each run is a process of its own that sends itself the signal a terminal sends, at a moment chosen
by what it is doing and not by a clock.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from optimizer.records.design_io import read_design, write_design
from tests.builders.make_design import make_design

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "studies" / "demo" / "site.toml"
SENTENCE = "Stopped before the results were written."

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals of POSIX systems")

DURING_THE_SEARCH = """
import os, signal, sys
from dataclasses import replace
import optimizer.pipeline as pipeline
from optimizer.milp import beside

beside.PATIENCE_S = {patience_s}
real, waiting = pipeline.design_job, [True]

def design_job(job, search, **options):
    def tell(progress):
        if waiting and {moment}:
            waiting.clear()
            os.kill(os.getpid(), signal.SIGINT)
    return real(job, replace(search, progress=tell), **options)

pipeline.design_job = design_job
from optimizer.cli import main
main([*sys.argv[1:], "--formulation", "{formulation}"])
"""

BEFORE_THE_SEARCH = """
import os, signal, sys
import optimizer.pipeline as pipeline

pipeline.read_job = lambda _: os.kill(os.getpid(), signal.SIGINT)
from optimizer.cli import main
main(sys.argv[1:])
"""


DURING_A_DAY = """
import os, signal, sys
import optimizer.day_gather as day_gather

day_gather.staggered_start = lambda _: os.kill(os.getpid(), signal.SIGINT)
from optimizer.cli import main
main(sys.argv[1:])
"""


def interrupted(program: str, out: Path, *verb: str) -> str:
    """Run a program that interrupts itself; return what it said on its error output."""
    asked = verb or ("design", str(DEMO))
    words = [sys.executable, "-c", program, *asked, "--out", str(out)]
    ended = subprocess.run(
        words, cwd=ROOT, capture_output=True, text=True, timeout=300, check=False
    )
    assert ended.returncode == 3, ended.stderr
    assert "Traceback" not in ended.stderr
    return ended.stderr


@pytest.mark.parametrize(
    ("formulation", "moment", "patience_s"),
    [
        ("complete", "True", 1.0),
        ("complete", "progress.seconds >= 1.0", 1.0),
        ("complete", "progress.seconds >= 1.0", 0.0),
        ("composed", "True", 1.0),
        ("best", "True", 1.0),
    ],
)
def test_ctrl_c_during_the_search_keeps_the_best_or_says_that_there_is_none(
    formulation, moment, patience_s, tmp_path: Path
):
    # Without patience the solver is left while it works, and must not end the process in its way.
    out = tmp_path / "out"
    during = DURING_THE_SEARCH.format(formulation=formulation, moment=moment, patience_s=patience_s)
    said = interrupted(during, out)
    if out.exists():
        assert read_design(out / "design.json").record.status == "stopped"
        assert (out / "page.html").is_file()
    else:
        assert SENTENCE in said


def test_ctrl_c_before_the_search_writes_nothing_and_says_so(tmp_path: Path):
    said = interrupted(BEFORE_THE_SEARCH, tmp_path / "out")
    assert said.strip() == SENTENCE
    assert not (tmp_path / "out").exists()


def test_ctrl_c_during_a_simulated_day_writes_nothing_and_says_so(tmp_path: Path):
    write_design(make_design(), tmp_path / "design.json")
    verb = ("simulate", str(tmp_path / "design.json"), "--hours", "1")
    said = interrupted(DURING_A_DAY, tmp_path / "out", *verb)
    assert said.strip() == SENTENCE
    assert not (tmp_path / "out").exists()


DURING_THE_MENDING = """
import os, signal, sys
import optimizer.mend.proposals as proposals

moment, real = "{moment}", proposals.Mending

class Mending(real):
    def __init__(self, built, openings, faults, tell, stop, most):
        def heard(doing):
            tell(doing)
            if doing.words.endswith(moment):
                os.kill(os.getpid(), signal.SIGINT)
        super().__init__(built, openings, faults, heard, stop, most)

import optimizer.mend.run as run
run.Mending = Mending
from optimizer.cli import main
main(sys.argv[1:])
"""


def mended_until(moment: str, site: Path) -> dict:
    """Mend a site with the pump too weak, interrupted when something is first looked for."""
    weak = (ROOT / "studies" / "mend" / "site.toml").read_text()
    site.write_text(weak.replace("pump_065w_mid", "pump_040w_mid"))
    words = [sys.executable, "-c", DURING_THE_MENDING.format(moment=moment)]
    ended = subprocess.run(
        [*words, "mend", str(site), "--json"],
        cwd=ROOT, capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert ended.returncode == 3, ended.stderr
    assert "Traceback" not in ended.stderr
    return json.loads(ended.stdout)


def test_ctrl_c_while_mending_keeps_the_ways_found_so_far(tmp_path: Path):
    # The first way, another pump, is found and proven; then the second is looked for.
    found = mended_until("(way 2)", tmp_path / "weak.toml")
    (way,) = found["proposals"]
    assert [change["kind"] for change in way["changes"]] == ["pump"]
    assert way["proven_least"] == way["cost"] > 0
    assert "stopped" in found["why_none"]


def test_ctrl_c_before_any_way_to_mend_still_tells_what_does_not_work(tmp_path: Path):
    found = mended_until("will do", tmp_path / "weak.toml")
    assert found["proposals"] == []
    assert len(found["faults"]) == 5
    assert "stopped" in found["why_none"]
