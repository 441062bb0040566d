"""The nearest valid name to one that is not valid, and how values read are shown."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

_LISTED_MOST = 12
_LETTERS_MOST = 60


def nearest_name(name: str, valid: Iterable[str]) -> str | None:
    """Return the valid name most like ``name``, or None if none is much like it."""
    folded = {choice.lower(): choice for choice in valid}
    close = difflib.get_close_matches(name.lower()[:_LETTERS_MOST], folded, n=1, cutoff=0.6)
    return folded[close[0]] if close else None


def choose_from(name: str, valid: Iterable[str]) -> str:
    """Return an instruction: the nearest valid name, or the list of them all."""
    names = sorted(set(valid))
    near = nearest_name(name, names)
    if near is not None:
        return f"Did you mean {near!r}?"
    listed, more = ", ".join(names[:_LISTED_MOST]), len(names) - _LISTED_MOST
    if not names:
        return "There is none to choose from."
    return f"Choose from: {listed}{f' and {more} more' if more > 0 else ''}."


def shown(value: object) -> str:
    """Return a value as read, short enough for a message."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, bool):
        return "true" if value else "false"
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= _LETTERS_MOST else text[:_LETTERS_MOST] + "..."
