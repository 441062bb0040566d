"""Figures of the house: length of files and functions, the import graph, code that stands twice.

python -m tests.campaigns.house
"""

from __future__ import annotations

import ast
import io
import statistics
import tokenize
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import grimp

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = ("optimizer", "tests", "studies")
ALIKE_LINES = 8
"""A run of so many lines of code, alike but for names of layout, counts as standing twice."""

PASSED_OVER = {tokenize.COMMENT, tokenize.NL, tokenize.INDENT, tokenize.DEDENT, tokenize.ENCODING}


def files_of(folder: str) -> list[Path]:
    """Return the Python files under a top folder."""
    return sorted((ROOT / folder).rglob("*.py"))


def line_count(path: Path) -> int:
    """Return how many lines a file has."""
    return path.read_text(encoding="utf-8").count("\n")


def functions_of(path: Path) -> Iterator[tuple[str, int]]:
    """Yield each function of a file with its length in lines, docstring included."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node.name, (node.end_lineno or node.lineno) - node.lineno + 1


def code_lines(path: Path) -> list[tuple[int, str]]:
    """Return the lines of code of a file, without comments, docstrings, imports and blanks."""
    text = path.read_text(encoding="utf-8")
    lines: dict[int, list[str]] = defaultdict(list)
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type not in PASSED_OVER and token.string.strip():
            lines[token.start[0]].append(token.string)
    skipped = _docstring_and_import_lines(ast.parse(text))
    return [(number, " ".join(words)) for number, words in lines.items() if number not in skipped]


def _docstring_and_import_lines(tree: ast.Module) -> set[int]:
    found: set[int] = set()
    for node in ast.walk(tree):
        is_words = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
        if is_words or isinstance(node, ast.Import | ast.ImportFrom):
            found.update(range(node.lineno, (node.end_lineno or node.lineno) + 1))
    return found


def standing_twice(paths: list[Path]) -> list[tuple[str, str]]:
    """Return pairs of places whose next lines of code are alike; a longer run is one pair."""
    seen: dict[tuple[str, ...], tuple[Path, int, int]] = {}
    found = []
    last: tuple[Path, int, Path, int] | None = None
    for path in paths:
        lines = code_lines(path)
        for i in range(len(lines) - ALIKE_LINES + 1):
            window = tuple(words for _, words in lines[i : i + ALIKE_LINES])
            if sum(map(len, window)) < 20 * ALIKE_LINES:
                continue
            if window not in seen:
                seen[window] = (path, lines[i][0], i)
                continue
            there, number, j = seen[window]
            if last != (path, i - 1, there, j - 1):
                found.append((_place(there, number), _place(path, lines[i][0])))
            last = (path, i, there, j)
    return found


def _place(path: Path, line: int) -> str:
    return f"{path.relative_to(ROOT)}:{line}"


def main() -> None:
    """Print the figures."""
    for folder in FOLDERS:
        paths = files_of(folder)
        lengths = {path: line_count(path) for path in paths if line_count(path)}
        longest = max(lengths, key=lambda path: lengths[path])
        functions = [(n, name, path) for path in paths for name, n in functions_of(path)]
        n, name, where = max(functions)
        print(
            f"{folder}: {len(lengths)} files, {sum(lengths.values())} lines, median "
            f"{statistics.median(lengths.values()):.0f}, longest {lengths[longest]} "
            f"({longest.relative_to(ROOT)}); longest function {n} ({name}, {where.name})"
        )
    graph = grimp.build_graph("optimizer")
    used = {m: len(graph.find_modules_that_directly_import(m)) for m in graph.modules}
    most = sorted(used, key=lambda m: -used[m])[:5]
    print(f"imports: {len(graph.modules)} modules, {sum(used.values())} imports between them")
    print("imported most: " + ", ".join(f"{m} ({used[m]})" for m in most))
    for folder in FOLDERS:
        pairs = standing_twice(files_of(folder))
        print(f"{folder}: {len(pairs)} runs of {ALIKE_LINES} or more lines of code stand twice")
        print("".join(f"  {a}  {b}\n" for a, b in pairs), end="")


if __name__ == "__main__":
    main()
