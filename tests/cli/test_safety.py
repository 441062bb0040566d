"""The verb safety: three levels side by side, what was finished when it is stopped."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner

from optimizer.cli import main
from tests.cli.site_texts import ONE_BED

ROOT = Path(__file__).parents[2]

AFTER_THE_FIRST = """
import os, signal, sys
import optimizer.safety as safety

real = safety.cost_of_safety

def cost_of_safety(job, **options):
    if options["levels"] != ("nominal",):
        os.kill(os.getpid(), signal.SIGINT)
    return real(job, **options)

safety.cost_of_safety = cost_of_safety
from optimizer.cli import main
main(sys.argv[1:])
"""


def run(*words: object):
    return CliRunner().invoke(main, ["safety", *(str(word) for word in words)])


def test_three_levels_stand_side_by_side_and_the_page_of_the_sites_own_level_shows_them(
    site: Path, tmp_path: Path
):
    answer = run(site, "--out", tmp_path / "out", "--json")
    assert answer.exit_code == 0, answer.output
    told = json.loads(answer.stdout)
    assert [row["robustness"] for row in told["levels"]] == ["nominal", "most", "whole"]
    costs = [row["cost_cents"] for row in told["levels"]]
    assert costs == sorted(costs)
    assert costs[2] - costs[0] == told["levels"][2]["extra_cents"]
    assert "What more safety costs" in (tmp_path / "out" / "page.html").read_text()
    design = json.loads((tmp_path / "out" / "design.json").read_text())
    assert design["promise"]["robustness"] == "most"
    table = pd.read_csv(tmp_path / "out" / "safety.csv")
    assert table["cost_cents"].tolist() == costs


def test_the_words_name_each_level(site: Path):
    shown = run(site).output
    for part in ("nominal", "95 % of draws", "whole band", "works in"):
        assert part in shown


def test_a_site_without_any_design_says_so_at_each_level_and_answers_one(site: Path):
    site.write_text(ONE_BED.replace('"2 per hour"', '"50 per hour"'))
    answer = run(site, "--json")
    assert answer.exit_code == 1
    rows = json.loads(answer.stdout)["levels"]
    assert [row["designed"] for row in rows] == [False] * 3
    assert all("no design: " in row["changes"] for row in rows)


def test_where_the_sites_own_level_has_no_design_the_table_alone_is_written(
    site: Path, tmp_path: Path
):
    # Margins of ratio 1.08 x 1.4 / (0.92 x 0.6) = 2.74: more than the 10.92 / 4.77 = 2.29 between
    # the ends of the kit's whole-band window (docs/windows.md), less than its nominal 4.7.
    error = '[goal]\nvalve_setting_error = "40 %"\nrobustness = "whole"'
    site.write_text(ONE_BED.replace("[goal]", error))
    answer = run(site, "--out", tmp_path / "out", "--json")
    assert answer.exit_code == 0, answer.output
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["safety.csv"]


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX systems")
def test_ctrl_c_keeps_the_levels_that_were_finished(site: Path):
    words = [sys.executable, "-c", AFTER_THE_FIRST, "safety", str(site), "--json"]
    ended = subprocess.run(
        words, cwd=ROOT, capture_output=True, text=True, timeout=300, check=False
    )
    assert ended.returncode == 3, ended.stderr
    assert "Traceback" not in ended.stderr
    assert [row["robustness"] for row in json.loads(ended.stdout)["levels"]] == ["nominal"]


def test_a_missing_site_is_a_sentence(tmp_path: Path):
    answer = run(tmp_path / "none.toml")
    assert answer.exit_code == 2
    assert "Traceback" not in answer.output
