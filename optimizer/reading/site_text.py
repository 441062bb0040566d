"""A site file from disk to plain tables, with the line of every key."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any

from optimizer.errors import BadInput, Problem
from optimizer.reading.toml_positions import Path, Position, find_positions

BYTES_MOST = 500_000
LINE_MOST = 1000
PARTS_MOST = 12  # of a dotted key: reading takes time with the square of their number

_TOML_MESSAGE = re.compile(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", re.DOTALL)
_PART = r"(?:[\w-]+|\"[^\"\n]{0,60}\"|'[^'\n]{0,60}')[ \t]*"
_LONG_KEY = re.compile(
    rf"(?:^|[{{,])[ \t]*\[{{0,2}}[ \t]*(?:{_PART}\.[ \t]*){{{PARTS_MOST}}}", re.MULTILINE
)
_BARE_MEASURE = re.compile(r"\s*([\w.-]+\s*=\s*)([-+]?[0-9][0-9./ -]*[ ]?[A-Za-z%'\"][^#\n]*)")
_BARE_WORD = re.compile(r"\s*([\w.-]+\s*=\s*)([A-Za-z][^#\n\"']*)")
_KEY_TWICE = ("Cannot overwrite a value", "Cannot declare", "Cannot mutate", "Duplicate inline")


@dataclass(frozen=True)
class KeyLines:
    """Where each key of a file stands.

    Attributes:
        file: name of the file, or empty where a site was not read from one.
        positions: path of a key to its position.
    """

    file: str = ""
    positions: Mapping[Path, Position] = field(default_factory=dict)

    def line(self, *path: str | int) -> int | None:
        """Return the line of a key, else of the nearest table around it that stands in the file."""
        known = (path[:end] for end in range(len(path), 0, -1) if path[:end] in self.positions)
        return next((self.positions[key].line for key in known), None)

    def where(self, *path: str | int) -> str:
        """Return file, line and key in words; repeated tables and list items count from 1."""
        line = self.line(*path)
        place = self.file if line is None else f"{self.file} line {line}"
        return ", ".join(part for part in (place.strip(), dotted(path)) if part)


def dotted(path: Path) -> str:
    """Return a path as ``row[2].spacing``; repeated tables and list items count from 1."""
    words = (f"[{part + 1}]" if isinstance(part, int) else f".{_quoted(part)}" for part in path)
    return "".join(words).lstrip(".")


def _quoted(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]{1,60}", key) else repr(key[:60])


def load_toml(path: FilePath) -> tuple[dict[str, Any], KeyLines]:
    """Return the tables of a TOML file and where its keys stand.

    Raises:
        BadInput: if the file cannot be read, is not UTF-8 or is not TOML.
    """
    return parse_toml(read_text(path), path.name)


def parse_toml(text: str, file: str) -> tuple[dict[str, Any], KeyLines]:
    """Return the tables of a TOML text and where its keys stand.

    Raises:
        BadInput: if the text is not TOML, or has a line or nesting beyond what a person writes.
    """
    _refuse_long_lines(text, file)
    _refuse_long_keys(text, file)
    try:
        return tomllib.loads(text), KeyLines(file, find_positions(text))
    except RecursionError:
        raise BadInput([nested_too_deep(file)]) from None
    except ValueError as error:
        raise BadInput([_syntax_problem(str(error), text, file)]) from None


def nested_too_deep(file: str) -> Problem:
    """Return the fault of a file whose lists or tables nest beyond what can be read."""
    return Problem(file, "lists or tables are nested too deep to read.", "Undo the nesting.")


def read_text(path: FilePath) -> str:
    """Return the text of a file that a person wrote.

    Raises:
        BadInput: if it cannot be read, is too large or is not UTF-8.
    """
    try:
        if not path.is_file():
            raise BadInput([_no_file(path)])
        with path.open("rb") as opened:
            raw = opened.read(BYTES_MOST + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        fix = "Check the name and whether you may read it."
        raise BadInput([Problem(path.name, f"cannot be read: {reason}.", fix)]) from None
    if len(raw) > BYTES_MOST:
        raise BadInput(
            [Problem(path.name, "is over 500 kB, too large for a site file.", "Cut it.")]
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        what = "is not UTF-8 text."
        fix = "Save the file as plain text, encoding UTF-8."
        raise BadInput([Problem(f"{path.name} line {line}", what, fix)]) from None


def _no_file(path: FilePath) -> Problem:
    if path.is_dir():
        return Problem(str(path), "is a folder.", "Name the site file inside it.")
    return Problem(str(path), "there is no such file.", "Check the name.")


def _refuse_long_lines(text: str, file: str) -> None:
    long_lines = [
        Problem(
            f"{file} line {number}",
            f"a line of {len(line)} letters; at most {LINE_MOST} fit.",
            "Break it into several lines.",
        )
        for number, line in enumerate(text.split("\n"), start=1)
        if len(line) > LINE_MOST
    ]
    if long_lines:
        raise BadInput(long_lines)


def _refuse_long_keys(text: str, file: str) -> None:
    match = _LONG_KEY.search(text)
    if match is not None:
        line = text.count("\n", 0, match.end()) + 1
        what = f"a key of more than {PARTS_MOST} parts."
        raise BadInput([Problem(f"{file} line {line}", what, "No key here has so many.")])


def _syntax_problem(message: str, text: str, file: str) -> Problem:
    match = _TOML_MESSAGE.fullmatch(message)
    if match is None:
        return Problem(file, f"cannot be read: {message[:200]}.", "Write a smaller number.")
    lines = text.split("\n")
    number = int(match[2]) if match[2] else max(1, len(text.rstrip("\n").split("\n")))
    column = f", column {match[3]}" if match[3] else ", at the end"
    line = lines[number - 1] if number <= len(lines) else ""
    fix = _syntax_fix(match[1], line)
    return Problem(f"{file} line {number}{column}", f"is not TOML: {match[1]}.", fix)


def _syntax_fix(message: str, line: str) -> str:
    if message.startswith(_KEY_TWICE):
        return "The key or table stands twice: keep one."
    measure = _BARE_MEASURE.match(line) or _BARE_WORD.match(line)
    if measure is not None:
        return f'Put quotes around it: {measure[1]}"{measure[2].strip()}".'
    if not line.isprintable():
        return "Take out the letters that cannot be seen."
    return "Look for a missing quote, bracket or equals sign on or before this line."
