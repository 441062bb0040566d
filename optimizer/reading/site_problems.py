"""The sentences for what is wrong with a site file's keys and values."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from optimizer.errors import Problem
from optimizer.reading.nearest import choose_from, shown
from optimizer.reading.site_fields import FieldError
from optimizer.reading.site_models import SiteTable
from optimizer.reading.site_text import KeyLines
from optimizer.reading.toml_positions import Path

_SHAPES = {
    "model_type": ("a table of keys", "Write its keys under a heading in square brackets."),
    "list_type": ("a list", "Put the values in square brackets, or repeat a [[table]]."),
    "tuple_type": ("two coordinates", 'Write them as ["1 m", "2 m"].'),
}

SITE_PAGE = "docs/site-file.md"


def problems_of(
    error: ValidationError,
    lines: KeyLines,
    table: type[BaseModel] = SiteTable,
    page: str = SITE_PAGE,
) -> list[Problem]:
    """Return one problem for each fault that pydantic found, in the order of the file.

    Args:
        error: what pydantic found.
        lines: where keys stand.
        table: the whole file's table.
        page: the page that describes the file.
    """
    faults = error.errors(include_url=False)
    placed = sorted(faults, key=lambda fault: lines.line(*fault["loc"]) or 0)
    return [_problem(dict(fault), lines, table, page) for fault in placed]


def _problem(
    fault: Mapping[str, Any], lines: KeyLines, table: type[BaseModel], page: str
) -> Problem:
    path: Path = fault["loc"]
    raised = fault.get("ctx", {}).get("error")
    if isinstance(raised, FieldError):
        return Problem(lines.where(*path), raised.what, raised.fix)
    what, fix = _sentences(fault, path, table, page)
    return Problem(lines.where(*path), what, fix)


def _sentences(
    fault: Mapping[str, Any], path: Path, table: type[BaseModel], page: str
) -> tuple[str, str]:
    kind = fault["type"]
    if kind in _SHAPES:
        expected, fix = _SHAPES[kind]
        return f"read {shown(fault['input'])}, expected {expected}.", fix
    if kind == "extra_forbidden":
        return "no such key here.", _key_fix(path, table)
    if kind == "missing" and isinstance(path[-1], str):
        return "key missing.", f"Add {path[-1]}; {page} says what it holds."
    if kind in ("missing", "too_short", "too_long"):
        return _wrong_number(fault, path)
    return f"cannot be used: {fault['msg']}.", f"{page} says what it holds."


def _wrong_number(fault: Mapping[str, Any], path: Path) -> tuple[str, str]:
    """Return the sentences for a list that is too short or too long, or a point."""
    limits = fault.get("ctx", {})
    if limits.get("field_type") != "List":
        return "a point has two coordinates.", 'Write it as ["1 m", "2 m"].'
    if fault["type"] == "too_short":
        return f"holds too few; at least {limits['min_length']} needed.", "Add to the list."
    fix = "Use [[row]] tables." if path[-1] == "position" else "Take some out."
    return f"holds too many; at most {limits['max_length']} fit.", fix


def _key_fix(path: Path, table: type[BaseModel]) -> str:
    valid = keys_at(path[:-1], table)
    return choose_from(str(path[-1]), valid) if valid else "Take it out."


def keys_at(path: Path, whole: type[BaseModel] = SiteTable) -> tuple[str, ...]:
    """Return the keys that fit in the table at ``path``; none if there is no such table."""
    table: type[BaseModel] | None = whole
    for part in path:
        if isinstance(part, int) or table is None:
            continue
        table = _table_in(_fields(table).get(part))
    return () if table is None else tuple(_fields(table))


def _fields(table: type[BaseModel]) -> dict[str, FieldInfo]:
    return {info.alias or name: info for name, info in table.model_fields.items()}


def _table_in(info: FieldInfo | None) -> type[BaseModel] | None:
    """Return the table that a key holds, alone or in a list."""
    found = _tables([] if info is None else [info.annotation])
    return next(iter(found), None)


def _tables(annotations: Iterable[object]) -> list[type[BaseModel]]:
    found: list[type[BaseModel]] = []
    for annotation in annotations:
        if isinstance(annotation, type) and issubclass(annotation, BaseModel):
            found.append(annotation)
        found += _tables(get_args(annotation))
    return found
