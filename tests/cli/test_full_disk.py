"""A disk that is full or may not be written to: a sentence, an exit code, and nothing half done."""

import contextlib
import errno
import os
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimizer import files
from optimizer.cli import main
from tests.builders.spoilt_texts import READINGS
from tests.campaigns.spoilt_cases import LARGER, built_text
from tests.cli.site_texts import ONE_BED
from tests.phasing.phase_texts import THREE_PHASES, YARD

posix = pytest.mark.skipif(os.name != "posix", reason="limits and mounts of POSIX systems")

IN_A_FOLDER = {
    "design": ("design", "site.toml", "--no-nearly"),
    "safety": ("safety", "site.toml"),
    "explore": ("explore", "front", "floods", "site.toml", "--steps", "2", "--no-check"),
    "simulate": ("simulate", "design.json", "--hours", "1", "--draws", "100"),
    "pack": ("pack", "design.json"),
    "calibrate": ("calibrate", "readings.toml"),
    "extend": ("extend", "design.json", "larger.toml", "--no-room"),
    "phase": ("phase", "phases.toml", "--no-room"),
}
A_FILE = {
    "start": ("start", "new.toml", "--yes", "--force"),
    "blank": ("calibrate", "new.csv", "--blank", "--force", "--design", "design.json"),
}
POINTS = "points.sqlite"
"""Finished points of a study: kept one by one, and never taken for a result."""


@pytest.fixture
def home(tmp_path, monkeypatch):
    given = {
        "site.toml": ONE_BED,
        "larger.toml": LARGER,
        "phases.toml": YARD + THREE_PHASES,
        "design.json": built_text(),
        "readings.toml": READINGS,
    }
    for name, text in given.items():
        (tmp_path / name).write_text(text)
    monkeypatch.chdir(tmp_path)
    # coefficients read from few draws are as good for writing as those of many
    monkeypatch.setattr("optimizer.learn.posterior.BLOCKS_MOST", 1)
    return tmp_path


def run(*words):
    got = CliRunner().invoke(main, list(words))
    assert got.exception is None or isinstance(got.exception, SystemExit), got.exception
    return got


def refused(got, reason, place):
    """Assert that the refusal says where, what and how to mend it."""
    assert got.exit_code == 2, got.output
    first, where, what, fix = got.stderr.strip().split("\n")
    assert first == "1 thing to mend first:"
    assert place in where and reason in what.lower() and fix.strip()


def results(folder):
    found = {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    return {name: data for name, data in found.items() if name != POINTS}


def fails_at(monkeypatch, number):
    """From its n-th file on, the disk is full."""
    real, calls = os.fsync, []

    def fsync(handle):
        calls.append(handle)
        if len(calls) >= number:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(handle)

    monkeypatch.setattr(files.os, "fsync", fsync)


@pytest.mark.parametrize("verb", IN_A_FOLDER)
def test_earlier_results_stay_whole_and_together_where_the_disk_fills_up(verb, home, monkeypatch):
    words = (*IN_A_FOLDER[verb], "--out", "out")
    assert run(*words).exit_code == 0
    names = results(home / "out")
    assert len(names) >= 3
    for name in names:
        (home / "out" / name).write_bytes(b"old")
    fails_at(monkeypatch, 2)
    refused(run(*words), "no space", "out")
    assert results(home / "out") == dict.fromkeys(names, b"old")


@posix
@pytest.mark.parametrize("verb", IN_A_FOLDER)
def test_nothing_is_left_where_a_file_cannot_be_written_to_its_end(verb, home):
    with files_at_most(3000):
        got = run(*IN_A_FOLDER[verb], "--out", "deep/out")
    refused(got, "", "deep/out")
    left = list((home / "deep").rglob("*")) if verb == "explore" else [*home.glob("deep")]
    assert [path for path in left if path.is_file()] == []
    assert verb == "explore" or left == []


@posix
@pytest.mark.parametrize("verb", A_FILE)
def test_a_file_is_left_as_it_was_where_it_cannot_be_written_to_its_end(verb, home):
    name = A_FILE[verb][1]
    (home / name).write_text("old")
    before = results(home)
    with files_at_most(20):
        got = run(*A_FILE[verb])
    refused(got, "too large", name)
    assert results(home) == before


@contextlib.contextmanager
def files_at_most(size):
    """No file may grow beyond so many bytes: writes really end in the middle."""
    import resource  # noqa: PLC0415  # POSIX only

    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@pytest.mark.parametrize("verb", IN_A_FOLDER)
def test_a_folder_that_may_not_be_written_to_is_refused_before_any_work(verb, home, monkeypatch):
    (home / "out").mkdir()
    monkeypatch.setattr(os, "access", lambda _, mode: mode == os.R_OK)
    for work in ("alternatives.design_layouts", "day_gather.gather_day", "extension.extend_design"):
        monkeypatch.setattr(f"optimizer.{work}", _no_work)
    refused(run(*IN_A_FOLDER[verb], "--out", "out"), "may not write", "out")
    assert list((home / "out").iterdir()) == []


def test_a_disk_that_turns_read_only_meanwhile_is_told(home, monkeypatch):
    def mkstemp(**_):
        raise OSError(errno.EROFS, os.strerror(errno.EROFS), "a name nobody knows")

    monkeypatch.setattr(files.tempfile, "mkstemp", mkstemp)
    refused(run("pack", "design.json", "--out", "out"), "read-only", "pack.html")
    assert not (home / "out").exists()


def _no_work(*_, **__):
    raise AssertionError("work was done for results that cannot be written")


@pytest.fixture
def small_disk(tmp_path):
    """A real disk of 64 kB, where this user may mount one."""
    disk = tmp_path / "disk"
    disk.mkdir()
    if os.name != "posix" or os.geteuid() != 0:
        pytest.skip("only the administrator may mount a disk")
    words = ["mount", "-t", "tmpfs", "-o", "size=64k", "none", str(disk)]
    if subprocess.run(words, capture_output=True, check=False).returncode:
        pytest.skip("no disk can be mounted here")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


@pytest.mark.parametrize("verb", ["design", "explore", "pack"])
def test_a_disk_that_is_really_full_keeps_nothing_and_is_told(verb, home, small_disk):
    (small_disk / "filler").write_bytes(b"x" * 61_440)
    refused(run(*IN_A_FOLDER[verb], "--out", str(small_disk / "out")), "", str(small_disk))
    assert [path.name for path in small_disk.rglob("*") if path.is_file()] == ["filler"]


def test_a_disk_that_is_really_read_only_is_refused(home, small_disk):
    again = ["mount", "-o", "remount,ro", str(small_disk)]
    subprocess.run(again, check=True)
    for words in IN_A_FOLDER.values():
        refused(run(*words, "--out", str(small_disk / "out")), "may not write", str(small_disk))
    refused(run("start", str(small_disk / "new.toml"), "--yes"), "may not", str(small_disk))
    assert list(Path(small_disk).iterdir()) == []
