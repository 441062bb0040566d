"""Claims of the study on rings, in miniature."""

from pathlib import Path

import pandas as pd
import pytest

from studies.ring_header.run import QUICK, RESULTS, SIZES, Case, main, opened, table
from tests.milp.test_size_tree import enumerated
from tests.oracles.enumerate_ring import least_ring_cost
from tests.oracles.enumerate_tree import HazenWilliamsByHand
from tests.tolerances import FORMULA

README = Path(RESULTS).parent / "README.md"
LAW = HazenWilliamsByHand(150.0)


def test_the_miniature_runs_and_writes_its_table(tmp_path, capsys):
    assert main(["--quick", "--out", str(tmp_path)]) == 0
    assert len(pd.read_csv(tmp_path / "rings.csv")) == len(QUICK)
    assert "rings.csv" in capsys.readouterr().out


def test_ring_and_open_tree_cost_what_trying_everything_costs():
    case = Case(3, 1e-3, 0.2, 6.0)
    row = table([case]).iloc[0]
    few = SIZES.iloc[:3]
    ring, _ = least_ring_cost(case.ring(), few, LAW)
    trees = [enumerated(opened(case.ring(), edge), few, LAW) for edge in case.ring().edges]
    assert row.ring == pytest.approx(ring, rel=FORMULA)
    assert row.best_open == pytest.approx(min(t for t in trees if t), rel=FORMULA)


def test_the_page_says_what_the_table_says():
    rows, page = pd.read_csv(RESULTS / "rings.csv"), README.read_text()
    dearer = int((rows.ring_more_percent > 0).sum())
    assert f"in {dearer} of {len(rows)} cases" in page
    short = rows[rows.closing_m < 20.0].ring_more_percent.mean()
    assert f"{short:.1f} % more on the mean" in page
    saved = sorted(-rows.ring_more_percent[rows.ring_more_percent < 0])
    assert f"saved {saved[0]:.1f} and {saved[1]:.1f} %" in page.replace("\n", " ")


def test_every_ring_of_the_table_is_proven_and_costs_no_less_than_its_bound():
    rows = pd.read_csv(RESULTS / "rings.csv").dropna(subset="ring")
    assert (rows.ring_bound <= rows.ring * (1 + FORMULA)).all()
    # Its prices come in steps of at least 0.1, so no gap is left; the table has six figures.
    assert rows.ring_bound.to_numpy() == pytest.approx(rows.ring.to_numpy(), rel=FORMULA)
