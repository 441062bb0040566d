"""The store: a point is there whole or not at all, and times stay out of answers."""

import sqlite3
from contextlib import closing

import pytest

from optimizer.errors import BadInput
from optimizer.explore.store import Store

ANSWER = {"outcome": "designed", "cost": 12.5}


def test_a_point_comes_back_as_it_was_put(tmp_path):
    with Store(tmp_path / "points.sqlite") as store:
        store.put("a", ANSWER, '{"design": 1}', 0.5)
    with Store(tmp_path / "points.sqlite") as again:
        assert again.answers(["a", "b"]) == {"a": ANSWER}
        assert again.design("a") == '{"design": 1}'
        assert again.design("b") is None
        assert again.seconds() == 0.5


def test_a_point_put_twice_is_there_once_and_both_times_are_logged():
    with Store(None) as store:
        store.put("a", {"outcome": "lost"}, None, 1.0)
        store.put("a", ANSWER, None, 2.0)
        assert store.answers(["a"]) == {"a": ANSWER}
        assert store.seconds() == 3.0


def test_a_point_cut_off_while_it_is_written_is_not_there(tmp_path):
    path = tmp_path / "points.sqlite"
    with Store(path) as store:
        store.put("a", ANSWER, None, 0.0)
        store.base.execute("begin")
        store.base.execute("insert into point values ('b', '{}', null)")
        # The connection closes without a commit, as when the process is killed.
    with Store(path) as again:
        assert again.answers(["a", "b"]) == {"a": ANSWER}


def test_a_point_that_could_not_be_written_does_not_stand_in_the_way_of_the_next(tmp_path):
    # Another program holds the file: this point is told as not written, and nothing of it is left
    # begun, so that once the file is free points are kept again.
    path = tmp_path / "points.sqlite"
    with Store(path) as store, closing(sqlite3.connect(path, isolation_level=None)) as other:
        store.base.execute("pragma busy_timeout = 0")
        other.execute("begin immediate")
        with pytest.raises(OSError, match="locked"):
            store.put("a", ANSWER, None, 0.0)
        other.execute("rollback")
        store.put("b", ANSWER, None, 0.0)
        assert store.answers(["a", "b"]) == {"b": ANSWER}


def test_a_file_that_is_no_store_is_refused_and_left_alone(tmp_path):
    path = tmp_path / "notes.txt"
    path.write_text("not a store, but long enough to be read as a header " * 40)
    before = path.read_bytes()
    with pytest.raises(BadInput, match="holds no points"):
        Store(path)
    assert path.read_bytes() == before


def test_a_store_of_another_version_is_refused(tmp_path):
    path = tmp_path / "points.sqlite"
    with sqlite3.connect(path) as base:
        base.execute("pragma user_version = 99")
    with pytest.raises(BadInput, match="version 99"):
        Store(path)
