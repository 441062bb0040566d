"""Every key's line and column, against the standard reader on the same text."""

import random
import tomllib

import pytest

from optimizer.reading.toml_positions import Position, find_positions
from tests.reading.site_texts import EVERY_KEY, SMALLEST

AWKWARD = r"""# comment [not] = a table
name = "x" # c = 1
a.b = 1
"q\u0041 .]" = 2
'lit # eral' . c = 3
[goal]
floods = '''
x'' ] # " '''
more = "\" # [ \\" # really
[[row]]
  name = 'a'
pts = [ ["0","1"], # c ] "
  ["2", "}"] ,
]
[row.sub]
k = { a = 1, b.c = [1,{z=3}], "d e" = {} }
[[row]]
name = "b"
d = 1979-05-27 07:32:00Z
[[row.kid]]
z=1
[[row.kid]]
z=[]
"""


def paths_of(value, path=()):
    items = enumerate(value) if isinstance(value, list) else value.items()
    for key, inner in items:
        yield (*path, key)
        if isinstance(inner, dict | list):
            yield from paths_of(inner, (*path, key))


@pytest.mark.parametrize("text", [AWKWARD, SMALLEST, EVERY_KEY, "", "# only\n", "a=1"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_every_key_and_element_is_found_and_nothing_else(text, newline):
    text = text.replace("\n", newline)
    assert set(find_positions(text)) == set(paths_of(tomllib.loads(text)))


@pytest.mark.parametrize(
    ("path", "line", "column"),
    [
        (("name",), 2, 1),
        (("a", "b"), 3, 1),
        (("qA .]",), 4, 1),
        (("lit # eral", "c"), 5, 1),
        (("goal",), 6, 1),
        (("goal", "more"), 9, 1),
        (("row",), 10, 1),
        (("row", 0, "name"), 11, 3),
        (("row", 0, "pts", 0), 12, 9),
        (("row", 0, "pts", 1, 1), 13, 9),
        (("row", 0, "sub"), 15, 1),
        (("row", 0, "sub", "k", "b", "c", 1, "z"), 16, 24),
        (("row", 0, "sub", "k", "d e"), 16, 31),
        (("row", 1), 17, 1),
        (("row", 1, "d"), 19, 1),
        (("row", 1, "kid", 1, "z"), 23, 1),
    ],
)
def test_line_and_column_are_exact(path, line, column):
    # counted by hand in the text above
    assert find_positions(AWKWARD)[path] == Position(line, column)


def random_text(rng):
    """One statement a line, in every style of key and value."""
    values = [
        '"a # b"',
        "1",
        "true",
        "'x'",
        "[1, [2, '3']]",
        "{ a = 1, b.c = [ { d = 2 } ] }",
        "1.5",
    ]
    keys = ["k{}", '"q {}"', "'l.{}'", "d{0}.e", 'd{0} . "f.g"']
    lines, counter = [], 0
    for table in range(rng.randint(1, 6)):
        name = rng.choice(["t", "u.v", '"w x".y'])
        lines.append(rng.choice([f"[[{name}]]", f"[[ {name} ]]  # c", f"[one{table}.two]"]))
        for _ in range(rng.randint(0, 5)):
            counter += 1
            key = rng.choice(keys).format(counter)
            lines.append(rng.choice(["", "  ", "\t"]) + f"{key} = {rng.choice(values)}")
        lines += [""] * rng.randint(0, 2)
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("seed", range(60))
def test_a_key_is_in_the_text_up_to_its_line_and_not_before(seed):
    # with one statement a line, the standard reader itself tells on which line a key appears
    text = random_text(random.Random(seed))
    lines = text.split("\n")
    heads = [set(paths_of(tomllib.loads("\n".join(lines[:n])))) for n in range(len(lines) + 1)]
    found = find_positions(text)
    assert set(found) == heads[-1]
    for path, position in found.items():
        assert path in heads[position.line] - heads[position.line - 1], path


def test_lines_stay_exact_to_the_end_of_a_long_file():
    text = SMALLEST + "".join(
        f'[[position]]\nname = "p{i}"\nat = ["{i} m", "9 m"]\n' for i in range(5000)
    )
    found = find_positions(text)
    assert found[("position", 4999, "at", 1)].line == 20 + 3 * 5000


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = [1", "never closes"),
        ("a = [1, ", "never closes"),
        ("a = { b = 1", "never closes"),
        ("ok = 1\n= 2", "line=2"),
        ("a = 'x", "not TOML"),
    ],
)
def test_text_that_the_standard_reader_would_refuse_is_refused_and_not_walked_for_ever(text, said):
    with pytest.raises(tomllib.TOMLDecodeError):
        tomllib.loads(text)
    with pytest.raises(ValueError, match=said):
        find_positions(text)
