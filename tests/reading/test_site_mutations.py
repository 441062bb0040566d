"""Five hundred spoilt site files: each gives a Site or BadInput, quickly, and nothing else."""

import random

import pytest

from optimizer.errors import BadInput
from optimizer.reading.catalog import read_catalog
from optimizer.reading.review import review_file
from optimizer.reading.site import SiteFile, read_site
from tests.reading.site_texts import EVERY_KEY, SMALLEST

MUTANTS = 500

NUMBERS = ["0", "-1", "1e12", "1e-300", "1e999", "nan", "-inf", "9" * 400, "0x" + "f" * 300, "007"]
WORDS = [
    "true", '""', '" "', "'''\n'''", '"<script>alert(1)</script>"', '"\\u0000"', '"\\U0001F4A7"',
    '"' + "x" * 900 + '"', '"1e12 m"', '"0 m"', '"-5 gal"', '"NaN m"', '"3 furlongs"', '"½ in"',
    '"1/0 in"', "1979-05-27", "[]", "{}", "[[[]]]", '[["0 m", "0 m"], 3]', "{ a = { b = 1 } }",
    '["0 m", "0 m"]', "[" * 300 + "]" * 300, '"all"', '"\u202emoor"', '"100000 km"',
]  # fmt: skip


def change_value(lines, rng):
    where = [i for i, line in enumerate(lines) if " = " in line]
    i = rng.choice(where)
    lines[i] = lines[i].split(" = ")[0] + " = " + rng.choice(NUMBERS + WORDS)


def change_unit(lines, rng):
    units = [" m", " ft", " in", " h", " %", " per hour", " sq ft", " C", " gal", ""]
    old, new = rng.choice(units[:-2]), rng.choice(units)
    for i, line in enumerate(lines):
        lines[i] = line.replace(old + '"', new + '"')


def change_size(lines, rng):
    i = rng.choice([i for i, line in enumerate(lines) if any(c.isdigit() for c in line)])
    digits = [j for j, c in enumerate(lines[i]) if c.isdigit()]
    j = rng.choice(digits)
    size = rng.choice(["0", "1" + "0" * rng.randint(1, 12), "-1", "0.000000001"])
    lines[i] = lines[i][:j] + size + lines[i][j + 1 :]


def repeat_lines(lines, rng):
    i = rng.randrange(len(lines))
    lines[i:i] = lines[i : i + rng.randint(1, 20)] * rng.randint(1, 3)


def cut_file(lines, rng):
    del lines[rng.randrange(1, len(lines)) :]
    lines[-1] = lines[-1][: rng.randint(0, len(lines[-1]))]


def drop_line(lines, rng):
    del lines[rng.randrange(len(lines))]


def shuffle_lines(lines, rng):
    i, j = rng.randrange(len(lines)), rng.randrange(len(lines))
    lines[i], lines[j] = lines[j], lines[i]


def rename_key(lines, rng):
    i = rng.choice([i for i, line in enumerate(lines) if " = " in line])
    lines[i] = rng.choice(["x", '"<b>"', '""', "a.b.c", "\u00fc"]) + lines[i]


def splice_letter(lines, rng):
    i = rng.randrange(len(lines))
    j = rng.randint(0, len(lines[i]))
    letters = ["\x00", "\ufeff", '"', "[", "{", "#", "\u2028", "\x1b", "=", "\\", "\U0010ffff"]
    lines[i] = lines[i][:j] + rng.choice(letters) + lines[i][j:]


CHANGES = [
    change_value, change_value, change_unit, change_size, change_size, repeat_lines, cut_file,
    drop_line, shuffle_lines, rename_key, splice_letter,
]  # fmt: skip
ENCODINGS = ["utf-8"] * 8 + ["utf-16", "utf-32", "cp037"]


def mutant(seed):
    rng = random.Random(seed)
    lines = rng.choice([EVERY_KEY, EVERY_KEY, SMALLEST]).split("\n")
    for _ in range(rng.choice([1, 1, 1, 2, 4])):
        if len(lines) > 3 and any(" = " in line and any(map(str.isdigit, line)) for line in lines):
            rng.choice(CHANGES)(lines, rng)
    raw = "\n".join(lines).encode(rng.choice(ENCODINGS), errors="replace")
    return raw[: rng.randrange(len(raw) + 1)] if rng.random() < 0.05 else raw


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    """What became of each mutant: a SiteFile or the problems."""
    path = tmp_path_factory.mktemp("mutants") / "site.toml"
    catalog = read_catalog()
    results = []
    for seed in range(MUTANTS):
        path.write_bytes(mutant(seed))
        try:
            result = read_site(path)
            review_file(result, catalog)
        except BadInput as error:
            result = error.problems
        results.append(result)
    return results


def test_every_refusal_says_where_what_and_how_to_mend_it(outcomes):
    refusals = [result for result in outcomes if not isinstance(result, SiteFile)]
    assert refusals
    for problems in refusals:
        assert problems
        for problem in problems:
            assert problem.where.startswith("site.toml")
            assert problem.what and problem.fix
            assert len(str(problem)) < 1000


def test_the_mutants_are_neither_all_refused_nor_all_read(outcomes):
    read = sum(isinstance(result, SiteFile) for result in outcomes)
    assert 0.05 * MUTANTS < read < 0.6 * MUTANTS
