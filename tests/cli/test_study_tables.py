"""A table of a study in a terminal loses no letter, however narrow the terminal is."""

import io

import pandas as pd
import pytest
from rich.console import Console

from optimizer.cli_study import _rich_table

FRONT = pd.DataFrame(
    {
        "floods an hour": ["1.25", "5"],
        "CAD": ["7,202.51", "10,513.81"],
        "pump": ["1 x pump_150w_mid", "1 x pump_400w_low"],
        "sump": ["2 x sump_2500", "2 x sump_2500"],
        "beds": ["9 x long trough", "9 x long trough"],
    }
)


def printed(width: int) -> str:
    out = io.StringIO()
    Console(file=out, width=width).print(_rich_table(FRONT, width))
    return out.getvalue()


@pytest.mark.parametrize("width", [60, 72, 80, 82, 100])
def test_every_letter_of_every_cell_is_printed(width):
    cells = "".join("".join(map(str, row)) for row in FRONT.itertuples(index=False))
    told = "".join(printed(width).split("─")[-1].split())
    assert sorted(told) == sorted(cells.replace(" ", ""))


def test_at_the_width_of_a_plain_terminal_ids_and_prices_stand_in_one_line():
    for cell in ("7,202.51", "pump_150w_mid", "2 x sump_2500", "9 x long trough"):
        assert cell in printed(80)
