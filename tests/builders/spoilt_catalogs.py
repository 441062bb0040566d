"""Tables as CSV spoilt by a seed: a grower's own catalog folder, a sheet of readings."""

import random
from pathlib import Path

SCRAPS = [
    "nan", "inf", "-1", "0", "1e12", "1e308", "-1e-308", "", " ", '"', '""', ",", "\n", "\r", "\0",
    "\u2028", "\ufeff", "0x10", "1,5", "9" * 50, "id", "ball", "sch40_1", "=1+1", "None", "½",
    "<script>alert(1)</script>", "'><img src=x onerror=alert(1)>", "../../etc", "x" * 3000, "💧",
]  # fmt: skip
ENCODINGS = ["utf-8"] * 9 + ["utf-16", "cp037"]


def spoil_catalog(seed: int, shipped: Path, folder: Path) -> None:
    """Write one or two spoilt copies of shipped tables into an empty folder."""
    rng = random.Random(seed)
    names = sorted(path.name for path in shipped.glob("*.csv"))
    for name in rng.sample(names, rng.choice([1, 1, 2])):
        text = (shipped / name).read_text(encoding="utf-8")
        (folder / name).write_bytes(spoilt_table(text, rng))


def spoilt_table(text: str, rng: random.Random) -> bytes:
    """Return the bytes of a table with one to four faults."""
    rows = [line.split(",") for line in text.splitlines()]
    for _ in range(rng.randint(1, 4)):
        rng.choice(CHANGES)(rows, rng)
    raw = "\n".join(",".join(row) for row in rows).encode(rng.choice(ENCODINGS), errors="replace")
    return raw[: rng.randrange(len(raw) + 1)] if rng.random() < 0.05 else raw


def _change_cell(rows: list[list[str]], rng: random.Random) -> None:
    row = rng.choice(rows)
    row[rng.randrange(len(row))] = rng.choice(SCRAPS)


def _change_digit(rows: list[list[str]], rng: random.Random) -> None:
    """Change one digit: the table mostly still reads, and may mean nonsense."""
    row = rng.choice(rows)
    spots = [i for i, cell in enumerate(row) if any(c.isdigit() for c in cell)]
    if spots:
        i = rng.choice(spots)
        j = rng.choice([j for j, c in enumerate(row[i]) if c.isdigit()])
        row[i] = row[i][:j] + rng.choice([*"0123456789", "00000", "-", "."]) + row[i][j + 1 :]


def _drop_cell(rows: list[list[str]], rng: random.Random) -> None:
    row = rng.choice(rows)
    del row[rng.randrange(len(row))]
    row or row.append("")


def _move_row(rows: list[list[str]], rng: random.Random) -> None:
    rows.insert(rng.randrange(len(rows)), rows.pop(rng.randrange(len(rows))))


def _repeat_row(rows: list[list[str]], rng: random.Random) -> None:
    rows.append(list(rng.choice(rows)))


CHANGES = [_change_cell, _change_cell, _change_digit, _change_digit, _change_digit, _drop_cell,
           _move_row, _repeat_row]  # fmt: skip
