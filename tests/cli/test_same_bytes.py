"""The same input and seed give the same files, byte for byte; only the run log tells of a run.

The campaign ``tests/campaigns/sameness.py`` does this with more sites and processes.
"""

import json
import re
import socket
import sys
import tempfile
from pathlib import Path

import pytest

from tests.campaigns.sameness import differences, files_of, swept
from tests.cli.site_texts import ONE_BED

OF_A_RUN = re.compile(r"time|second|date|clock|host|user|version|machine")
"""Words in a key that would tell of a run or a machine."""


@pytest.fixture(scope="module")
def written():
    """What two commands wrote from one site, in worlds that have nothing in common."""
    return [files_of(ONE_BED, ("design", "site.toml"), world) for world in (0, 1)]


def test_a_design_is_the_same_whatever_the_hash_seed_the_time_zone_and_the_folder(written):
    assert "design.json" in written[0] and len(written[0]) > 5
    assert differences(*written) == []


def test_a_file_that_differs_or_is_missing_is_seen():
    assert differences({"a": b"1", "b": b"1"}, {"a": b"2", "c": b"1"}) == ["a", "b", "c"]
    assert differences({"a": b"1"}, {"a": b"1"}) == []


def test_a_design_tells_nothing_of_when_where_and_on_what_it_was_made(written):
    text = written[0]["design.json"].decode()
    for word in (socket.gethostname(), str(Path.cwd()), sys.executable, tempfile.gettempdir()):
        assert word not in text
    keys = set(_keys(json.loads(text)))
    assert [key for key in keys if OF_A_RUN.search(key)] == []
    # the one time in it is the grower's, with bucket and watch; flows are per second
    seconds = {key for key in keys if key.endswith("_s") and not key.endswith(("m3_s", "m_s"))}
    assert seconds == {"bucket_s"}


def _keys(tree):
    if isinstance(tree, dict):
        for key, below in tree.items():
            yield key
            yield from _keys(below)
    elif isinstance(tree, list):
        for below in tree:
            yield from _keys(below)


def test_a_sweep_is_the_same_on_one_worker_and_on_several():
    assert swept(ONE_BED, steps=2) == []
