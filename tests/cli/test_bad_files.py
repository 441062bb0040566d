"""Sixty spoilt site files through reading, review and, where they are sound, the whole command.

The campaign of hundreds, ``tests/campaigns/bad_files.py``, does the same with larger sites.
"""

import pytest
from click.testing import CliRunner

from optimizer.cli import main
from tests.campaigns.bad_files import FORBIDDEN, REFUSED, figures, run_all
from tests.cli.site_texts import EVERY_TABLE, ONE_BED

CASES = 60


@pytest.fixture(scope="module")
def runs():
    return run_all(CASES, seed=10_000, time_limit_s=5.0, bases=(ONE_BED, EVERY_TABLE))


@pytest.mark.parametrize("text", [ONE_BED, EVERY_TABLE], ids=["one bed", "every table"])
def test_the_files_are_sound_before_they_are_spoilt(text, tmp_path):
    site = tmp_path / "site.toml"
    site.write_text(text)
    answer = CliRunner().invoke(main, ["design", str(site)])
    assert answer.exit_code == 0, answer.output


def test_no_spoilt_file_ends_in_a_traceback_or_without_a_sentence(runs):
    assert [run for run in runs if run.outcome in FORBIDDEN] == []


def test_some_spoilt_files_are_refused_and_some_are_still_designed(runs):
    outcomes = figures(runs)["outcomes"]
    assert outcomes[REFUSED] >= CASES / 4
    assert outcomes["designed and checked"] >= CASES / 20


def test_every_refusal_names_the_file_and_the_place(runs):
    for run in runs:
        if run.outcome == REFUSED:
            assert "to mend first:" in run.said
            assert f"site-{run.seed}.toml" in run.said
