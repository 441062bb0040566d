"""Small sites on which a campaign once found a fault; each is named for what was wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from optimizer.pipeline import read_job
from tests.builders.case import Case
from tests.whole.agree_features import agree, without_explanations
from tests.whole.judge import judge

KEPT = sorted((Path(__file__).parent / "kept").glob("*.toml"))
TIME_LIMIT_S = 60.0


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.stem)
def test_a_site_that_once_showed_a_fault_shows_none(path):
    # Both programs or a bracket, the bill added up, and the check with a simulated day.
    job = read_job(path)
    with without_explanations():
        assert agree(Case(job.site, {}), TIME_LIMIT_S).faults == []
        verdict = judge(job.site, job.catalog, TIME_LIMIT_S)
    assert verdict.failures == ()
    assert (verdict.bound_above_cost, verdict.bill_off_cents) == (False, 0)
