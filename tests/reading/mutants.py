"""Site files spoilt in the ways people, editors and programs spoil them, by a seed."""

import random

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


def mutant(seed, bases):
    """Return the bytes of one of the texts, spoilt one to four times."""
    rng = random.Random(seed)
    lines = rng.choice(bases).split("\n")
    for _ in range(rng.choice([1, 1, 1, 2, 4])):
        if len(lines) > 3 and any(" = " in line and any(map(str.isdigit, line)) for line in lines):
            rng.choice(CHANGES)(lines, rng)
    raw = "\n".join(lines).encode(rng.choice(ENCODINGS), errors="replace")
    return raw[: rng.randrange(len(raw) + 1)] if rng.random() < 0.05 else raw


# slips of the pen: what is written still reads, or nearly, and may mean nonsense

WORDS_THAT_FIT = [
    ["nominal", "most", "whole"],
    ["metric", "us"],
    ["east", "north", "west", "south"],
    ["bed_240x120", "tray_125x080", "tub_100x060", "bed_200x100", "box_120x120"],
    ["timber_heavy", "timber_light", "blocks_low", "steel_heavy"],
    ["expanded_clay", "lava_stone_8_16", "crushed_stone_20_50"],
    ["pvc_sch40", "pvc_sch80", "pvcu_pn10", "pe100_sdr17"],
    ["binomial", "all"],
    ["quantile", "worst"],
    ["leafy", "fruiting"],
    ["true", "false"],
    ["ball", "gate", "diaphragm"],
    ["sump_0200", "sump_0500", "sump_1000", "sump_2000"],
    ["pump_015w_low", "pump_040w_mid", "pump_065w_mid", "pump_150w_high"],
]


def change_digit(lines, rng):
    i = rng.choice([i for i, line in enumerate(lines) if any(c.isdigit() for c in line)])
    j = rng.choice([j for j, c in enumerate(lines[i]) if c.isdigit()])
    lines[i] = lines[i][:j] + rng.choice("0123456789") + lines[i][j + 1 :]


def change_word(lines, rng):
    hits = [
        (i, word, words)
        for i, line in enumerate(lines)
        for words in WORDS_THAT_FIT
        for word in words
        if word in line
    ]
    if hits:
        i, word, words = rng.choice(hits)
        lines[i] = lines[i].replace(word, rng.choice(words), 1)


def move_point(lines, rng):
    i = rng.choice([i for i, line in enumerate(lines) if " = " in line])
    lines[i] = lines[i].replace("0.", rng.choice([".", "1.", "-0.", "10."]), 1)


def leave_out_line(lines, rng):
    i = rng.choice([i for i, line in enumerate(lines) if " = " in line])
    lines[i] = "# " + lines[i]


SLIPS = [change_digit, change_digit, change_digit, change_word, change_word, move_point,
         leave_out_line]  # fmt: skip


def slip(seed, bases):
    """Return the bytes of one of the texts with one to three slips of the pen."""
    rng = random.Random(seed)
    lines = rng.choice(bases).split("\n")
    for _ in range(rng.choice([1, 1, 2, 3])):
        rng.choice(SLIPS)(lines, rng)
    return "\n".join(lines).encode()
