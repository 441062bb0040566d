"""Five hundred spoilt files of every kind through the whole command.

The campaign of tens of thousands, ``tests/campaigns/bad_input.py``, is the same with other seeds.
"""

import pytest
from click.testing import CliRunner

from optimizer.cli import main
from tests.campaigns.bad_input import FORBIDDEN, REFUSED, run_all
from tests.campaigns.watch import PageFaults
from tests.cli.site_texts import EVERY_TABLE, ONE_BED

CASES, PARTS = 500, 10
EACH = CASES // PARTS


@pytest.fixture(scope="module", params=range(PARTS))
def runs(request):
    """What became of one tenth of the files; the parts are shared out between processes."""
    first = 1_000_000 + request.param * EACH
    return run_all(range(first, first + EACH))


@pytest.mark.parametrize("text", [ONE_BED, EVERY_TABLE], ids=["one bed", "every table"])
def test_the_files_are_sound_before_they_are_spoilt(text, tmp_path):
    site = tmp_path / "site.toml"
    site.write_text(text)
    answer = CliRunner().invoke(main, ["design", str(site)])
    assert answer.exit_code == 0, answer.output


def test_no_spoilt_file_ends_in_what_must_never_happen(runs):
    assert [run for run in runs if run.outcome in FORBIDDEN] == []


def test_some_spoilt_files_are_refused_and_some_still_answered(runs):
    refused = [run for run in runs if run.outcome == REFUSED]
    assert EACH / 4 <= len(refused) < EACH
    assert any(run.outcome == "answered" for run in runs)


def test_every_refusal_counts_its_faults_and_names_a_file(runs):
    for run in (each for each in runs if each.outcome == REFUSED):
        assert "to mend first:" in run.said
        assert any(name in run.said for name in (f"site-{run.seed}.toml", "design", ".csv"))


# Twins of the watch: a page with markup from outside is seen, and one without is not accused.
@pytest.mark.parametrize(
    "markup",
    [
        "<img src=x>",
        "<p onclick=f()>",
        "<a href='javascript:f()'>",
        "<script>alert(1)</script>",
        "<a href='//elsewhere'>",
    ],
)
def test_the_watch_sees_markup_that_no_page_of_ours_has(markup):
    assert PageFaults(f"<body><p>{markup}</p></body>").found


def test_the_watch_does_not_accuse_escaped_text():
    page = '<p>&lt;img src=x onerror=alert(1)&gt;</p><a href="#beds">beds</a>'
    data = '<script type="application/json">{"name": "alert("}</script>'
    assert PageFaults(page + data).found == []
