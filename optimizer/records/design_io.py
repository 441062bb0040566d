"""A design as a JSON file and back: every figure in SI, its unit in its key.

The file is the same, byte for byte, for the same design: keys are sorted and nothing in it tells
the time (how long the solver took is left out, and reads back as 0).
"""

from __future__ import annotations

import json
import math
import os
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from functools import lru_cache
from pathlib import Path
from typing import Any, NoReturn

from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from optimizer.errors import BadInput, Problem
from optimizer.files import write_text_whole
from optimizer.records.design import Design
from optimizer.records.design_limits import limit_problems
from optimizer.records.design_references import reference_problems

SCHEMA = "floodwright-design/1"
_NOT_STORED = "seconds"
_DEEPEST = "It is nested too deep for a design."
_WRITE_AGAIN = "Write the design again, or restore the file from a copy."


def design_to_dict(design: Design) -> dict[str, Any]:
    """Return a design as plain dicts, lists, text and numbers, with its schema's name.

    Args:
        design: the design; its solver's time is left out.
    """
    plain: dict[str, Any] = json.loads(json.dumps(asdict(design), allow_nan=False))
    del plain["record"][_NOT_STORED]
    return {"schema": SCHEMA, **plain}


def design_to_text(design: Design) -> str:
    """Return a design as JSON text with sorted keys, always the same for the same design."""
    plain = design_to_dict(design)
    return json.dumps(plain, indent=1, sort_keys=True, ensure_ascii=False, allow_nan=False) + "\n"


def write_design(design: Design, path: str | os.PathLike[str]) -> None:
    """Write a design as a JSON file, whole or not at all.

    Args:
        design: the design.
        path: the file; its folder must be there.

    Raises:
        OSError: if it cannot be written; what was there before is then untouched.
    """
    write_text_whole(path, design_to_text(design))


def read_design(path: str | os.PathLike[str]) -> Design:
    """Return the design in a JSON file.

    Args:
        path: a file that :func:`write_design` wrote, or one like it.

    Raises:
        BadInput: with every fault found, if it cannot be read or is no design.
    """
    name = str(path)
    try:
        text = Path(path).read_text(encoding="utf-8")
    except UnicodeDecodeError as fault:
        _refuse(name, f"It is not UTF-8 text (byte {fault.start}).", _WRITE_AGAIN)
    except OSError as fault:
        why = (fault.strerror or str(fault)).lower()
        _refuse(name, f"It cannot be read: {why}.", "Check the file's name and permissions.")
    except ValueError as fault:
        _refuse(name, f"It cannot be read: {fault}.", "Check the file's name.")
    return design_from_dict(_parsed(text, name), name)


def design_from_dict(plain: Mapping[str, Any], source: str = "design") -> Design:
    """Return the design that plain dicts, lists, text and numbers describe.

    Args:
        plain: what :func:`design_to_dict` returned, or the like.
        source: what to call it in messages, such as a file's name.

    Raises:
        BadInput: with every fault found, if it is no design.
    """
    if not isinstance(plain, Mapping):
        _refuse(source, "It is not a design: no braces around it.", _WRITE_AGAIN)
    _check_schema(plain.get("schema"), source)
    design = _validated(plain, source)
    problems = [
        *_unknown_keys("", dict(plain), design_to_dict(design)),
        *reference_problems(design),
        *limit_problems(design),
    ]
    if problems:
        raise BadInput([Problem(f"{source}, {p.where}", p.what, p.fix) for p in problems])
    return design


@lru_cache(maxsize=1)
def _adapter() -> TypeAdapter[Design]:
    return TypeAdapter(Design)


def _parsed(text: str, source: str) -> dict[str, Any]:
    try:
        parsed: dict[str, Any] = json.loads(
            text,
            object_pairs_hook=_without_repeats,
            parse_constant=_no_number,
            parse_float=_finite,
            parse_int=_whole,
        )
    except json.JSONDecodeError as fault:
        where = f"{source} line {fault.lineno}, column {fault.colno}"
        _refuse(where, f"It is not JSON: {fault.msg}.", _WRITE_AGAIN)
    except RecursionError:
        _refuse(source, _DEEPEST, _WRITE_AGAIN)
    except ValueError as fault:
        _refuse(source, f"{fault}.", "Mend that line.")
    return parsed


def _without_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise ValueError(f"The key {key!r} stands twice in one pair of braces")
        found[key] = value
    return found


def _no_number(text: str) -> NoReturn:
    raise ValueError(f"{text[:40]} is no number a design can have")


def _finite(text: str) -> float:
    if not math.isfinite(float(text)):
        _no_number(text)
    return float(text)


def _whole(text: str) -> int:
    _finite(text)
    return int(text)


def _check_schema(schema: object, source: str) -> None:
    if schema != SCHEMA:
        read = "It names no schema." if schema is None else f"Its schema is {schema!r}."
        _refuse(f"{source}, schema", read, f"This version reads {SCHEMA!r} only.")


def _validated(plain: Mapping[str, Any], source: str) -> Design:
    body = {key: value for key, value in plain.items() if key != "schema"}
    if isinstance(body.get("record"), Mapping):
        body["record"] = {**body["record"], _NOT_STORED: 0.0}
    try:
        text = json.dumps(body, allow_nan=False)
        return _adapter().validate_json(text, strict=True)
    except ValidationError as faults:
        problems = [_problem(fault, source) for fault in faults.errors(include_url=False)]
        raise BadInput(problems) from None
    except RecursionError:
        _refuse(source, _DEEPEST, _WRITE_AGAIN)
    except (TypeError, ValueError) as fault:
        _refuse(source, f"It cannot be put as JSON: {fault}.", _WRITE_AGAIN)


def _problem(fault: ErrorDetails, source: str) -> Problem:
    """Return one fault of the schema in our own words."""
    where = f"{source}, {_path(fault['loc'])}"
    if fault["type"] == "missing":
        return Problem(where, "It is missing.", "Add it.")
    if fault["type"] == "value_error":
        return Problem(where, f"It cannot be: {fault['ctx']['error']}.", "Mend its figures.")
    expected = fault["msg"].replace("Input should be", "Give").rstrip(".")
    return Problem(where, f"Read {_short(fault['input'])}.", f"{expected}.")


def _path(steps: tuple[int | str, ...]) -> str:
    path = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in steps)
    return path.lstrip(".") or "the whole of it"


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:37]}..."


def _unknown_keys(where: str, read: object, known: object) -> Iterator[Problem]:
    """Yield every key that was read but means nothing, by what would be written again."""
    if isinstance(read, Mapping) and isinstance(known, Mapping):
        for key, value in read.items():
            path = f"{where}.{key}".lstrip(".")
            if key in known:
                yield from _unknown_keys(path, value, known[key])
            else:
                yield Problem(path, "No design has this key.", "Take it out.")
    elif isinstance(read, list | tuple) and isinstance(known, list):
        for i, (value, each) in enumerate(zip(read, known, strict=True)):
            yield from _unknown_keys(f"{where}[{i}]", value, each)


def _refuse(where: str, what: str, fix: str) -> NoReturn:
    raise BadInput([Problem(where, what, fix)])
