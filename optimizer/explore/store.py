"""Finished points in a SQLite file: each is there as soon as it is done, or not at all."""

from __future__ import annotations

import errno
import json
import sqlite3
from collections.abc import Iterable, Mapping
from pathlib import Path
from types import TracebackType
from typing import Any

from optimizer.errors import BadInput, Problem

VERSION = 1
_TABLES = """
create table if not exists point (key text primary key, answer text not null, design text);
create table if not exists run_log (key text, seconds real, finished text);
"""


_ERRORS = {
    sqlite3.SQLITE_FULL: errno.ENOSPC,
    sqlite3.SQLITE_READONLY: errno.EROFS,
    sqlite3.SQLITE_CANTOPEN: errno.EACCES,
    sqlite3.SQLITE_PERM: errno.EACCES,
}
"""The base's numbers of what keeps it from writing, as the system's."""


def _as_os_error(fault: sqlite3.OperationalError, path: Path | None) -> OSError:
    number = _ERRORS.get(fault.sqlite_errorcode & 0xFF, errno.EIO)
    return OSError(number, str(fault), str(path))


class Store:
    """Answers by key, kept across runs; a killed run loses at most the point being written.

    Times go to a table of their own (``run_log``), so that the answers of two runs are equal.

    Args:
        path: the file; made where it is not there. None keeps points in memory only.

    Raises:
        BadInput: if the file is something else, or was written by another version.
        OSError: if it cannot be read or written.
    """

    def __init__(self, path: Path | None) -> None:
        self.path = path
        try:
            self.base = sqlite3.connect(path or ":memory:", isolation_level=None)
            self._prepare()
        except sqlite3.Error as fault:
            self._forget()
            if isinstance(fault, sqlite3.OperationalError):
                raise _as_os_error(fault, path) from None
            fix = "Name another file for the points, or move this one away."
            raise BadInput([Problem(str(path), f"It holds no points ({fault}).", fix)]) from None

    def _forget(self) -> None:
        """Leave no empty file where the base could not even begin."""
        if hasattr(self, "base"):
            self.base.close()
        if self.path is not None and self.path.is_file() and self.path.stat().st_size == 0:
            self.path.unlink()

    def _prepare(self) -> None:
        (version,) = self.base.execute("pragma user_version").fetchone()
        if version not in (0, VERSION):
            raise sqlite3.DatabaseError(f"written by version {version}, this is {VERSION}")
        self.base.executescript(_TABLES)
        self.base.execute(f"pragma user_version = {VERSION}")

    def put(self, key: str, answer: Mapping[str, Any], design: str | None, seconds: float) -> None:
        """Keep one finished point, whole or not at all.

        Args:
            key: what names the point.
            answer: plain text and numbers, no times.
            design: its design as JSON text, where there is one.
            seconds: how long it took.

        Raises:
            OSError: if it cannot be written: a full disk, a folder that may not be written to.
        """
        text = json.dumps(answer, sort_keys=True, ensure_ascii=False)
        try:
            with self.base as base:  # commits, or takes back what was begun
                base.execute("begin")
                base.execute("insert or replace into point values (?, ?, ?)", (key, text, design))
                base.execute("insert into run_log values (?, ?, datetime('now'))", (key, seconds))
        except sqlite3.OperationalError as fault:
            raise _as_os_error(fault, self.path) from None

    def answers(self, keys: Iterable[str]) -> dict[str, dict[str, Any]]:
        """Return the answers there are for the keys."""
        found = {}
        for key in keys:
            row = self.base.execute("select answer from point where key = ?", (key,)).fetchone()
            if row:
                found[key] = json.loads(row[0])
        return found

    def design(self, key: str) -> str | None:
        """Return a point's design as JSON text, or None."""
        row = self.base.execute("select design from point where key = ?", (key,)).fetchone()
        return row[0] if row else None

    def seconds(self) -> float:
        """Return the seconds that all points together took, over all runs."""
        (total,) = self.base.execute("select coalesce(sum(seconds), 0) from run_log").fetchone()
        return float(total)

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.base.close()
