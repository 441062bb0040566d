"""Files that are hardly files, and bytes that are no site file, are refused in a sentence."""

import os

import pytest

from optimizer.errors import BadInput
from optimizer.reading.site import read_site
from tests.reading.site_texts import SMALLEST


def bad(path):
    with pytest.raises(BadInput) as caught:
        read_site(path)
    assert all(problem.where and problem.what and problem.fix for problem in caught.value.problems)
    return str(caught.value)


def test_a_missing_file_a_folder_and_an_impossible_name_are_refused(tmp_path):
    assert "no such file" in bad(tmp_path / "none.toml")
    assert "is a folder" in bad(tmp_path)
    assert bad("a\x00b")
    assert bad("x" * 5000)


@pytest.mark.skipif(os.name != "posix", reason="no such files there")
def test_a_pipe_or_a_device_is_never_opened(tmp_path):
    os.mkfifo(tmp_path / "queue")
    assert "no such file" in bad(tmp_path / "queue")
    assert "no such file" in bad("/dev/zero")


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may read everything")
def test_a_file_one_may_not_read_is_refused(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text(SMALLEST)
    path.chmod(0)
    assert "cannot be read" in bad(path)


@pytest.mark.parametrize(
    "raw",
    [
        SMALLEST.encode("utf-16"),
        SMALLEST.replace("Six", "S\xedx").encode("latin-1"),
        bytes(range(256)),
        b"\x00" * 100,
        b"\x89PNG\r\n\x1a\n" + bytes(500),
        b"a = " + b"[" * 900,
        b"a = [\n" + b"[\n" * 20_000 + b"]\n" * 20_001,
        b"a = " + b"9" * 900,
        b"a" + b".a" * 200_000 + b" = 1",
        b"x = 1\n" * 200_000,
        b"<html><b>name</b></html>",
        b"name = \"\xf0\x9f\x92\xa7\xf0",
    ],
    ids=range(12),
)  # fmt: skip
def test_bytes_that_are_no_site_file_are_refused(raw, tmp_path):
    path = tmp_path / "site.toml"
    path.write_bytes(raw)
    bad(path)


def test_text_that_is_not_utf8_is_named_by_line(tmp_path):
    path = tmp_path / "site.toml"
    path.write_bytes(SMALLEST.replace("wide", "w\xefde").encode("latin-1"))
    assert "site.toml line 10: is not UTF-8 text." in bad(path)
