"""Five hundred spoilt files of every kind through the command; some go the whole road.

The campaign of tens of thousands, ``tests/campaigns/bad_input.py``, is the same with other seeds.
"""

import pytest
from click.testing import CliRunner

from optimizer.cli import main
from optimizer.learn.read import read_readings
from optimizer.mend.run import read_standing
from optimizer.pipeline import read_job
from tests.builders.spoilt_texts import (
    BESIDE_A_SHEET,
    COEFFICIENTS,
    EVERY_READING_KEY,
    READINGS,
    SHEET,
    STANDING,
)
from tests.campaigns.spoilt_cases import LARGER
from tests.campaigns.spoilt_runs import FORBIDDEN, REFUSED, run_one
from tests.campaigns.watch import PageFaults
from tests.cli.site_texts import EVERY_TABLE, ONE_BED

CASES, PARTS = 500, 10
EACH = CASES // PARTS


@pytest.fixture(scope="module", params=range(PARTS))
def runs(request):
    """What became of one tenth of the files; the parts are shared out between processes."""
    first = 1_000_000 + request.param * EACH
    return [run_one(seed) for seed in range(first, first + EACH)]


@pytest.mark.parametrize("text", [ONE_BED, EVERY_TABLE], ids=["one bed", "every table"])
def test_the_files_are_sound_before_they_are_spoilt(text, tmp_path):
    site = tmp_path / "site.toml"
    site.write_text(text)
    answer = CliRunner().invoke(main, ["design", str(site)])
    assert answer.exit_code == 0, answer.output


@pytest.mark.parametrize(
    ("texts", "read"),
    [
        ({"f.toml": READINGS}, read_readings),
        ({"f.toml": EVERY_READING_KEY}, read_readings),
        ({"f.toml": BESIDE_A_SHEET, "sheet.csv": SHEET}, read_readings),
        ({"f.toml": STANDING}, read_standing),
        ({"f.toml": LARGER}, read_job),
        ({"f.toml": f'{ONE_BED}[coefficients]\ninclude = "c"\n', "c": COEFFICIENTS}, read_job),
    ],
    ids=["readings", "every key of readings", "sheet", "standing", "larger", "included"],
)
def test_what_is_not_designed_at_once_reads_before_it_is_spoilt(texts, read, tmp_path):
    for name, text in texts.items():
        (tmp_path / name).write_text(text)
    assert read(tmp_path / "f.toml")


def test_no_spoilt_file_ends_in_what_must_never_happen(runs):
    assert [run for run in runs if run.outcome in FORBIDDEN] == []


def test_some_spoilt_files_are_refused_and_some_still_answered(runs):
    refused = [run for run in runs if run.outcome == REFUSED]
    assert EACH / 4 <= len(refused) < EACH
    assert any(run.outcome == "answered" for run in runs)


def test_every_refusal_counts_its_faults_and_tells_where_what_and_how_to_mend(runs):
    for run in (each for each in runs if each.outcome == REFUSED):
        first, *lines = run.said.split("\n")
        count = int(first.partition(" ")[0])
        assert first.endswith("to mend first:") and len(lines) == 3 * count, run
        assert all(line.strip() for line in lines), run


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
