"""Lengths as a saw and a tape measure read them: whole millimetres, or inches in sixteenths."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from optimizer.report.scales import rounded

INCH_M = 0.0254
SIXTEENTHS = 16
_HAIR = 1e-6
"""Share of a step that rounding of arithmetic may cost; nothing a saw could show."""


@dataclass(frozen=True)
class Rule:
    """The rule a builder measures with.

    Attributes:
        units: ``metric`` or ``us``.
    """

    units: str

    @property
    def step_m(self) -> float:
        """One step of the rule: a millimetre or a sixteenth of an inch."""
        return INCH_M / SIXTEENTHS if self.units == "us" else 0.001

    def steps_up(self, length_m: float) -> int:
        """Return a length in whole steps, rounded up, so that a piece is never short."""
        return math.ceil(length_m / self.step_m - _HAIR)

    def steps_down(self, length_m: float) -> int:
        """Return a length in whole steps, rounded down."""
        return math.floor(length_m / self.step_m + _HAIR)

    def nearest(self, length_m: float) -> str:
        """Return a length to the nearest step, with its unit.

        >>> Rule("metric").nearest(0.2503), Rule("us").nearest(0.2503)
        ('250 mm', '9-7/8 in')
        """
        return self.text(round(length_m / self.step_m))

    def text(self, steps: int) -> str:
        """Return whole steps as a builder writes them.

        >>> Rule("us").text(402), Rule("us").text(-8), Rule("metric").text(1250)
        ('25-1/8 in', '-1/2 in', '1250 mm')
        """
        if self.units != "us":
            return f"{steps} mm"
        return f"{'-' if steps < 0 else ''}{_inches(abs(steps))} in"

    def long(self, length_m: float) -> str:
        """Return a length of pipe to buy, in metres or feet.

        >>> Rule("metric").long(3.0), Rule("us").long(3.048), Rule("metric").long(1530.4)
        ('3 m', '10 ft', '1530 m')
        """
        if self.units == "us":
            return f"{rounded(length_m / (12.0 * INCH_M))} ft"
        return f"{rounded(length_m)} m"


def _inches(sixteenths: int) -> str:
    whole, rest = divmod(sixteenths, SIXTEENTHS)
    if not rest:
        return str(whole)
    part = Fraction(rest, SIXTEENTHS)
    return f"{whole}-{part}" if whole else str(part)
