"""Faults that say where in a file they lie, told with the file's name."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from optimizer.errors import BadInput, Problem

First = TypeVar("First")
Second = TypeVar("Second")


def read_both(first: Callable[[], First], second: Callable[[], Second]) -> tuple[First, Second]:
    """Return what two files hold, the faults of both told at once.

    Raises:
        BadInput: with every fault of either.
    """
    problems: list[Problem] = []
    found: list[First] = []
    others: list[Second] = []
    try:
        found.append(first())
    except BadInput as faults:
        problems += faults.problems
    try:
        others.append(second())
    except BadInput as faults:
        problems += faults.problems
    if problems:
        raise BadInput(problems)
    return found[0], others[0]


@contextmanager
def naming(file: str | Path, *others: str | Path) -> Iterator[None]:
    """Put a file's name before the place of every fault that names no file yet.

    Args:
        file: the file that a fault without one lies in.
        others: further files that faults may name themselves.
    """
    known = tuple(str(name) for each in (file, *others) for name in (each, Path(each).name))
    try:
        yield
    except BadInput as faults:
        raise BadInput(
            [
                p if p.where.startswith(known) else replace(p, where=f"{file}, {p.where}")
                for p in faults.problems
            ]
        ) from None
