"""A file is written whole or not at all."""

from __future__ import annotations

import os

import pytest

from optimizer import files
from optimizer.files import write_bytes_whole, write_text_whole, written_together


def test_text_is_written_as_utf8_with_its_own_line_ends(tmp_path):
    write_text_whole(tmp_path / "a.txt", "é\r\n\n")
    assert (tmp_path / "a.txt").read_bytes() == b"\xc3\xa9\r\n\n"


def test_an_old_file_stays_as_it_was_when_the_disk_fails(tmp_path, monkeypatch):
    target = tmp_path / "a.bin"
    write_bytes_whole(target, b"old")

    def full_disk(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.os, "fsync", full_disk)
    with pytest.raises(OSError, match="No space"):
        write_bytes_whole(target, b"new and longer")
    assert target.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.bin"]


def test_a_folder_that_is_not_there_is_an_error_and_makes_nothing(tmp_path):
    with pytest.raises(FileNotFoundError):
        write_bytes_whole(tmp_path / "no" / "a.bin", b"x")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name != "posix", reason="permissions as bits are a POSIX matter")
def test_permissions_are_those_of_any_new_file_or_of_the_file_replaced(tmp_path):
    plain, target = tmp_path / "plain", tmp_path / "a"
    plain.write_bytes(b"")
    write_bytes_whole(target, b"1")
    assert target.stat().st_mode == plain.stat().st_mode
    target.chmod(0o600)
    write_bytes_whole(target, b"2")
    assert target.stat().st_mode & 0o777 == 0o600


@pytest.mark.skipif(os.name != "posix", reason="links need rights on other systems")
def test_a_link_stays_a_link_and_its_target_is_written(tmp_path):
    target, link = tmp_path / "target", tmp_path / "link"
    target.write_bytes(b"old")
    link.symlink_to(target)
    write_bytes_whole(link, b"new")
    assert link.is_symlink()
    assert target.read_bytes() == b"new"


def test_files_written_together_are_all_there_or_none(tmp_path):
    (tmp_path / "a").write_bytes(b"old")
    with pytest.raises(RuntimeError), written_together(tmp_path / "new" / "deep"):
        write_bytes_whole(tmp_path / "a", b"new")
        write_bytes_whole(tmp_path / "new" / "deep" / "b", b"new")
        raise RuntimeError
    assert [p.name for p in tmp_path.iterdir()] == ["a"]
    assert (tmp_path / "a").read_bytes() == b"old"


def test_a_folder_in_the_place_of_a_file_is_named_and_no_other_file_has_changed(tmp_path):
    (tmp_path / "page").mkdir()
    (tmp_path / "table").write_text("old")

    def written():
        with files.written_together(tmp_path):
            files.write_text_whole(tmp_path / "table", "new")
            files.write_text_whole(tmp_path / "page", "new")

    with pytest.raises(IsADirectoryError) as fault:
        written()
    assert fault.value.filename == str(tmp_path / "page")
    assert (tmp_path / "table").read_text() == "old"
    assert {each.name for each in tmp_path.iterdir()} == {"page", "table"}


def test_files_written_together_take_their_places_at_the_end_of_the_outermost_block(tmp_path):
    with written_together(tmp_path):
        with written_together(tmp_path / "in"):
            write_bytes_whole(tmp_path / "in" / "a", b"first")
            write_bytes_whole(tmp_path / "in" / "a", b"second")
        assert not (tmp_path / "in" / "a").exists()
    assert [p.name for p in (tmp_path / "in").iterdir()] == ["a"]
    assert (tmp_path / "in" / "a").read_bytes() == b"second"
