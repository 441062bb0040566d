"""One idea a file, and functions short enough to read at a glance, held to numbers."""

import statistics

import pytest

from tests.campaigns.house import files_of, functions_of, line_count, standing_twice

LONGEST_FILE, LONGEST_FUNCTION = 300, 60
MEDIAN_BETWEEN = (80, 140)

OPTIMIZER = files_of("optimizer")


def test_no_file_of_the_optimizer_is_over_300_lines():
    found = [str(path) for path in OPTIMIZER if line_count(path) > LONGEST_FILE]
    assert found == [], "Move one of its ideas into a file of its own."


def test_no_function_of_the_optimizer_is_over_60_lines():
    found = [(path.name, name, n) for path in OPTIMIZER for name, n in functions_of(path)]
    long = [each for each in found if each[-1] > LONGEST_FUNCTION]
    assert long == [], "Give a part of it a name and a function of its own."


def test_the_median_file_has_one_idea_and_room_for_it():
    lengths = [line_count(path) for path in OPTIMIZER if line_count(path)]
    low, high = MEDIAN_BETWEEN
    assert low <= statistics.median(lengths) <= high


# A twin: the same dozen lines in two files are seen, and other lines are not.
@pytest.mark.parametrize(("second", "pairs"), [("x", 1), ("y", 0)])
def test_code_that_stands_twice_is_seen(tmp_path, monkeypatch, second, pairs):
    monkeypatch.setattr("tests.campaigns.house.ROOT", tmp_path)
    paths = [tmp_path / "one.py", tmp_path / "two.py"]
    for path, name in zip(paths, ("x", second), strict=True):
        rows = [f"{name}_{i} = first_function(argument_{i}, other_{i})" for i in range(12)]
        path.write_text("\n".join(rows) + "\n")
    assert len(standing_twice(paths)) == pairs
