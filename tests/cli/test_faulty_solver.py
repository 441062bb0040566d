"""A solver that fails, as the grower meets it: a sentence, the best so far, an exit code."""

import json

import pytest
from click.testing import CliRunner

from optimizer.cli import main
from optimizer.errors import SolverFailed
from optimizer.milp import cutting_stock
from optimizer.records.design_io import read_design
from optimizer.simulate.whole_check import check_whole
from tests.builders.spoilt_texts import STANDING
from tests.campaigns.spoilt_cases import built_text
from tests.cli.site_texts import ONE_BED
from tests.milp.broken_solver import SAID, breaks, broken_at

TOO_SHUT = STANDING.replace('opening = "50 %"', 'opening = "20 %"')


@pytest.fixture
def site(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text(ONE_BED)
    return path


def answer(*words):
    got = CliRunner().invoke(main, [str(word) for word in words])
    assert got.exception is None or isinstance(got.exception, SystemExit), got.exception
    return got


def test_a_solver_that_fails_before_a_first_design_is_told_and_nothing_is_written(site, tmp_path):
    with breaks(1):
        got = answer("design", site, "--formulation", "complete", "--out", tmp_path / "out")
    assert got.exit_code == 1
    assert got.stderr.startswith("No design: The solver failed, saying")
    assert SAID in got.stderr and not (tmp_path / "out").exists()


def test_a_solver_that_fails_later_leaves_the_best_so_far_checked_and_says_so(site, tmp_path):
    out = tmp_path / "out"
    with breaks(1, after=True):
        got = answer("design", site, "--formulation", "complete", "--no-nearly", "--out", out)
    assert got.exit_code == 3
    said = " ".join(got.stdout.split())
    assert f"The solver broke off, saying 'RuntimeError: {SAID}'" in said
    assert "Nothing is proven of what the least cost is." in said
    kept = read_design(out / "design.json")
    assert kept.record.status == "stopped" and check_whole(kept).passed
    assert "The solver broke off" in (out / "page.html").read_text()


def test_what_nearly_decided_otherwise_may_fail_and_the_design_is_kept(site, tmp_path, monkeypatch):
    monkeypatch.setattr("optimizer.near_misses.least_cost", _failing)
    got = answer("design", site, "--json", "--out", tmp_path / "out")
    assert got.exit_code == 0
    told = {each.note for each in read_design(tmp_path / "out" / "design.json").near_misses}
    assert "Not priced: the solver failed." in told


def test_mending_by_valves_is_told_where_the_search_for_what_to_buy_fails(tmp_path, monkeypatch):
    path = tmp_path / "site.toml"
    path.write_text(TOO_SHUT)
    monkeypatch.setattr("optimizer.mend.proposals.solve", _failing)
    got = answer("mend", path, "--json")
    assert got.exit_code == 1
    (way,) = json.loads(got.stdout)["proposals"]
    assert way["cost"] == 0.0


def test_mending_says_why_where_nothing_but_a_search_would_do_and_it_fails(tmp_path, monkeypatch):
    path = tmp_path / "site.toml"
    path.write_text(TOO_SHUT)
    monkeypatch.setattr("optimizer.mend.proposals.solve", _failing)
    monkeypatch.setattr("optimizer.mend.proposals.Mending._by_hand", lambda _: iter(()))
    got = answer("mend", path)
    assert got.exit_code == 1 and SAID in got.stdout


def test_a_build_pack_is_whole_where_the_cutting_plan_could_not_be_proven(tmp_path, monkeypatch):
    (tmp_path / "design.json").write_text(built_text())
    for solver in ("linprog", "milp"):
        broken = broken_at(getattr(cutting_stock, solver), 1)
        monkeypatch.setattr(cutting_stock, solver, broken)
    got = answer("pack", tmp_path / "design.json", "--out", tmp_path / "out")
    assert got.exit_code == 0
    assert (tmp_path / "out" / "pack.html").is_file()


def _failing(*_, **__):
    raise SolverFailed(f"The solver failed, saying {SAID!r}.")
