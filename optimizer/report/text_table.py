"""A table of words, as page, print and terminal show it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Table:
    """A table as text. ``figures`` names the columns that hold figures."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    figures: frozenset[str] = frozenset()


def make_table(
    caption: str, columns: str, rows: Iterable[tuple[str, ...]], figures: str = ""
) -> Table:
    """Return a table; columns and figure columns are named in one text, parted by ``|``."""
    named = tuple(columns.split("|"))
    return Table(caption, named, tuple(rows), frozenset(figures.split("|")) & set(named))
