"""What comes out of the shed, in words."""

from __future__ import annotations

from optimizer.records.design import Design
from optimizer.report.scales import Reader


def stock_sentence(design: Design) -> str:
    """Return the pipe that is laid from stock; empty where none is.

    Args:
        design: the design; its cost lines of the group ``stock`` name what lies ready.
    """
    reader = Reader(design.units)
    lines = [line for line in design.costs if line.group == "stock"]
    if not lines:
        return ""
    told = "; ".join(
        f"{line.what.removesuffix(' from stock')}, {reader.quantity(line.quantity, line.unit)}"
        for line in lines
    )
    return f"From what lies ready: {told}."
