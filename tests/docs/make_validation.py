"""Write docs/validation.md: every figure from outside with its source, and ours beside it.

Run it from the clone after a change of the physics or of a check::

    python -m tests.docs.make_validation
"""

# ruff: noqa: E501 - a row of a table is one line

from __future__ import annotations

import math
from pathlib import Path

from optimizer.files import write_text_whole
from tests.validation.outside import Outside
from tests.validation.register import SUBJECTS

PAGE = Path(__file__).resolve().parents[2] / "docs" / "validation.md"

HEAD = """# Validation: our figures beside published ones

Written by `python -m tests.docs.make_validation`; a test works every figure out again and holds it
to the print within the band named, and this page to the register in `tests/validation/`.

How a figure is known: **read** in the source's text or a copy of it; **second hand**, as another
text quotes it; **recalled** from memory and reproduced by our own arithmetic; **ran**, computed by a
reference library. Where the band is wider than the rounding of the print, the reason stands with it.

No source known to us measures when a bell siphon starts and stops: that part of the model rests on
assumptions A1 to A3 of [assumptions.md](assumptions.md), with wide bands, and on your own readings.
"""

TAIL = """
## Checked against something else than print

| what | against | where |
|---|---|---|
| every pipe of the catalog: outside, wall, bore, rating | ASTM D1785, DIN 8062, ISO 4427-2 tables, and the library fluids | `tests/catalog/test_pipe_tables.py` |
| friction factor over the whole range | the library fluids, and Colebrook's own equation | `tests/physics/test_friction.py` |
| part-full flow at any depth | area and velocity of the library fluids | `tests/physics/test_part_full.py` |
| how many of many beds drain at once | scipy's binomial; a million random phases | `tests/physics/test_simultaneity.py` |
| a bed's cycle in closed form | integration by quadrature and by a Runge-Kutta method of order 8 | `tests/physics/test_bed.py`, `tests/simulate/day` |
| flows of a network | a second solver, scipy's root finder on the node equations | `tests/simulate/test_operating_point.py` |
| least cost | every design of tiny sites priced one by one; two programs that share only their tables | `tests/whole/test_enumeration.py`, `tests/whole/test_agreement.py` |
| cutting plans | published optima, and every plan of small cases | `tests/milp/test_cutting_stock.py` |
| the parts list | counted again from the network by other code | `tests/pack/test_closure.py` |
"""


def validation_page() -> str:
    """Return the page."""
    return HEAD + "".join(_subject(name, checks) for name, checks in SUBJECTS.items()) + TAIL


def _subject(name: str, checks: list[Outside]) -> str:
    lines = [
        f"\n## {name}\n",
        "| case | published | ours | band | source |",
        "|---|---|---|---|---|",
    ]
    return "\n".join([*lines, *map(_row, checks)]) + "\n"


def _row(check: Outside) -> str:
    digits = max(_decimals(check.published), 1 if check.within else 0)
    ours = f"{check.ours():.{digits + 1}f}"
    band = check.why or ("exact" if check.within == 0.0 else f"{check.within:.1g}")
    unit = f" {check.unit}" if check.unit else ""
    cells = (check.what, f"{check.published:,.{_decimals(check.published)}f}{unit}", ours + unit)
    return f"| {' | '.join(cells)} | {band} | {check.source} ({check.known}) |"


def _decimals(number: float) -> int:
    """Return how many decimals a number is printed with."""
    text = repr(float(number))
    if "e" in text:
        return math.ceil(-math.log10(abs(number))) + 1
    return len(text.partition(".")[2].rstrip("0"))


if __name__ == "__main__":
    write_text_whole(PAGE, validation_page())
