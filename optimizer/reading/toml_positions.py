"""Line and column of every key in a TOML text.

The standard reader keeps no positions, so this scanner walks a text that the reader has already
accepted. It therefore checks nothing: it only has to tell keys, values and comments apart.
Line and column count from 1.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field

Path = tuple[str | int, ...]

_GAP = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BASIC = re.compile(r'"(?:[^"\\\n]|\\.)*"')
_LITERAL = re.compile(r"'[^'\n]*'")
_LONG_BASIC = re.compile(r'"""(?:[^"\\]|\\.|"{1,2}(?!"))*"{3,5}', re.DOTALL)
_LONG_LITERAL = re.compile(r"'''(?:[^']|'{1,2}(?!'))*'{3,5}", re.DOTALL)
_PLAIN = re.compile(r"[^,\]}#\n]+")
_STRINGS = {'"': (_LONG_BASIC, _BASIC), "'": (_LONG_LITERAL, _LITERAL)}


@dataclass(frozen=True)
class Position:
    """A place in a text; line and column count from 1."""

    line: int
    column: int


def find_positions(text: str) -> dict[Path, Position]:
    """Return where every table, key and array element of ``text`` stands.

    Args:
        text: TOML that ``tomllib.loads`` accepts.

    Returns:
        path to position, as ``("row", 1, "spacing")``; array elements count from 0. The first
        mention counts where a table is named more than once.

    Raises:
        RecursionError: if arrays or inline tables nest deeper than Python's stack.
        ValueError: if the text is not TOML.
    """
    scanner = _Scanner(text.replace("\r\n", "\n"))
    scanner.document()
    return scanner.found


@dataclass
class _Scanner:
    text: str
    at: int = 0
    found: dict[Path, Position] = field(default_factory=dict)
    tables: dict[Path, int] = field(default_factory=dict)  # arrays of tables: how many so far
    line: int = 1
    line_start: int = 0
    counted: int = 0

    def document(self) -> None:
        """Walk every statement of the text."""
        table: Path = ()
        self.skip(_GAP)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.pair(table)
            self.skip(_GAP)

    def header(self) -> Path:
        """Walk ``[a.b]`` or ``[[a.b]]`` and return the path of the table it opens."""
        place = self.here()
        repeated = self.text.startswith("[[", self.at)
        self.at += 2 if repeated else 1
        keys = self.key()
        self.at += 2 if repeated else 1
        path = self.inside((), keys[:-1], place)
        path = (*path, keys[-1])
        if repeated:
            self.found.setdefault(path, place)
            self.tables[path] = self.tables.get(path, 0) + 1
        path = self.last(path)
        self.found.setdefault(path, place)
        return path

    def last(self, path: Path) -> Path:
        """Return ``path``, stepped into the newest table where it names an array of tables."""
        return (*path, self.tables[path] - 1) if path in self.tables else path

    def inside(self, path: Path, keys: tuple[str, ...], place: Position) -> Path:
        """Return the path under ``keys``, noting each table on the way."""
        for key in keys:
            path = (*path, key)
            self.found.setdefault(path, place)
            path = self.last(path)
        return path

    def pair(self, table: Path) -> None:
        """Walk ``key = value``."""
        place = self.here()
        keys = self.key()
        path = self.inside(table, keys, place)
        self.skip(_SPACE)
        self.at += 1  # the equals sign
        self.skip(_SPACE)
        self.value(path)

    def key(self) -> tuple[str, ...]:
        """Walk a dotted key and the space after it."""
        keys: list[str] = []
        while True:
            self.skip(_SPACE)
            keys.append(self.simple_key())
            self.skip(_SPACE)
            if not self.text.startswith(".", self.at):
                return tuple(keys)
            self.at += 1

    def simple_key(self) -> str:
        """Walk one part of a key; a quoted one is read by the standard reader."""
        first = self.text[self.at : self.at + 1]
        if first in ('"', "'"):
            quoted = self.take(_STRINGS[first][1])
            return next(iter(tomllib.loads(f"{quoted} = 0")))
        return self.take(_BARE_KEY)

    def value(self, path: Path) -> None:
        """Walk a value of any kind."""
        first = self.text[self.at : self.at + 1]
        if first == "[":
            self.array(path)
        elif first == "{":
            self.inline_table(path)
        elif first in ('"', "'"):
            long_form, short_form = _STRINGS[first]
            self.take(long_form if self.text.startswith(first * 3, self.at) else short_form)
        else:
            self.take(_PLAIN)

    def array(self, path: Path) -> None:
        """Walk ``[value, value]``, which may hold newlines and comments."""
        self.at += 1
        count = 0
        while not self.closes("]"):
            self.found[(*path, count)] = self.here()
            self.value((*path, count))
            count += 1

    def inline_table(self, path: Path) -> None:
        """Walk ``{key = value, key = value}``."""
        self.at += 1
        while not self.closes("}"):
            self.pair(path)

    def closes(self, mark: str) -> bool:
        """Skip gaps and a comma; step over ``mark`` and return True if it is next."""
        self.skip(_GAP)
        if self.text.startswith(",", self.at):
            self.at += 1
            self.skip(_GAP)
        if self.at >= len(self.text):
            raise ValueError("a value that never closes")
        if not self.text.startswith(mark, self.at):
            return False
        self.at += 1
        return True

    def skip(self, pattern: re.Pattern[str]) -> None:
        """Step over what ``pattern`` matches, if anything."""
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def take(self, pattern: re.Pattern[str]) -> str:
        """Step over what ``pattern`` matches and return it."""
        match = pattern.match(self.text, self.at)
        if match is None:
            raise ValueError(f"not TOML at {self.here()}")
        self.at = match.end()
        return match[0]

    def here(self) -> Position:
        """Return the position of the next letter, counting only newlines not counted before."""
        newlines = self.text.count("\n", self.counted, self.at)
        if newlines:
            self.line += newlines
            self.line_start = self.text.rfind("\n", self.counted, self.at) + 1
        self.counted = self.at
        return Position(self.line, self.at - self.line_start + 1)
