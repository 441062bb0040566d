"""The reader's units: one fixed unit for each quantity, so that figures in a column compare.

Factors and number style come from :mod:`optimizer.units_format`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from optimizer.units_format import UNITS, Unit, format_number

_POUND_FORCE_N = 0.45359237 * 9.80665

_METRIC = {
    "flow": ("flow", "L/min"),
    "length": ("length", "m"),
    "size": ("length", "mm"),
    "area": ("area", "m2"),
    "section": ("area", "cm2"),
    "volume": ("volume", "L"),
    "mass": ("mass", "kg"),
    "pressure": ("pressure", "kPa"),
    "speed": ("velocity", "m/s"),
    "temperature": ("temperature_c", "C"),
}
_US = {
    "flow": ("flow", "US gpm"),
    "length": ("length", "ft"),
    "size": ("length", "in"),
    "area": ("area", "sq ft"),
    "section": ("area", "sq in"),
    "volume": ("volume", "US gal"),
    "mass": ("mass", "lb"),
    "pressure": ("pressure", "psi"),
    "speed": ("velocity", "ft/s"),
    "temperature": ("temperature_c", "F"),
}
_BOTH = {
    "power": Unit("W", 1.0),
    "energy": Unit("kWh", 1.0),
    "time": Unit("s", 1.0),
    "minutes": Unit("min", 60.0),
    "frequency": Unit("floods/h", 1.0),
    "share": Unit("%", 0.01),
}
_ODD = {
    "metric": {"force": Unit("N", 1.0), "slope": Unit("%", 0.01)},
    "us": {"force": Unit("lbf", _POUND_FORCE_N), "slope": Unit("in/ft", 1.0 / 12.0)},
}
_RECORDED_BUCKET_M3 = 0.010
_SI_UNITS = {
    "m": "length",
    "m3/s": "flow",
    "m3": "volume",
    "m2": "area",
    "m/s": "speed",
    "Pa": "pressure",
    "W": "power",
    "s": "time",
    "C": "temperature",
    "kg": "mass",
    "N": "force",
    "1/h": "frequency",
    "per hour": "frequency",
    "floods/h": "frequency",
    "kWh": "energy",
    "share": "share",
    "m/m": "slope",
}


@dataclass(frozen=True)
class Reader:
    """Writes figures in the units a reader asked for.

    Quantities: flow, length, size (a small length), area, section (a small area), volume, mass,
    force, pressure, speed, temperature (from Celsius), power, energy (from kWh), time, minutes
    (from seconds), frequency (floods an hour), share (from a fraction), slope (from fall over
    length). All others from SI.

    Attributes:
        units: ``metric`` or ``us``.
    """

    units: str = "metric"

    def unit(self, quantity: str) -> Unit:
        """Return the unit that a quantity is written in.

        Raises:
            KeyError: for a quantity not listed above.
        """
        odd = _ODD[self.units] | _BOTH
        if quantity in odd:
            return odd[quantity]
        dimension, name = (_US if self.units == "us" else _METRIC)[quantity]
        return next(unit for unit in UNITS[self.units][dimension] if unit.name == name)

    def name(self, quantity: str) -> str:
        """Return the name of a quantity's unit."""
        return self.unit(quantity).name

    def number(self, quantity: str, value_si: float) -> float:
        """Return a figure in the reader's unit."""
        unit = self.unit(quantity)
        return (value_si - unit.zero) / unit.size

    def text(self, quantity: str, value_si: float, digits: int = 3) -> str:
        """Return a figure with its unit, to so many significant digits."""
        return f"{rounded(self.number(quantity, value_si), digits)} {self.name(quantity)}"

    def span(self, quantity: str, low_si: float, high_si: float, digits: int = 3) -> str:
        """Return two figures with one unit, as ``7.2 to 9.6 L/min``."""
        low, high = (rounded(self.number(quantity, v), digits) for v in (low_si, high_si))
        return f"{low} to {high} {self.name(quantity)}"

    def level(self, level_m: float) -> str:
        """Return a level with its unit, to the hundredth of a metre or foot."""
        return f"{self.number('length', level_m):.2f} {self.name('length')}"

    def opening(self, share: float) -> str:
        """Return how far a valve is open, to two digits: no hand sets it finer.

        >>> Reader().opening(0.4372), Reader().opening(0.0341)
        ('44 %', '3.4 %')
        """
        return self.text("share", share, 2)

    @property
    def bucket(self) -> str:
        """The bucket to set valves by, as ``10 L`` or ``2.5 US gal``."""
        return "2.5 US gal" if self.units == "us" else "10 L"

    @property
    def bucket_m3(self) -> float:
        """Volume of that bucket."""
        return 2.5 * self.unit("volume").size if self.units == "us" else _RECORDED_BUCKET_M3

    def bucket_time(self, seconds_of_10_l: float) -> str:
        """Return how long the bucket takes to fill, from the time of 10 litres."""
        return f"{seconds_of_10_l * self.bucket_m3 / _RECORDED_BUCKET_M3:.1f} s"

    def bucket_at(self, flow_m3_s: float) -> str:
        """Return how long the bucket takes to fill at a flow."""
        return self.bucket_time(_RECORDED_BUCKET_M3 / flow_m3_s)

    def quantity(self, number: float, unit: str) -> str:
        """Return a counted or measured quantity of a bill, as ``12 piece`` or ``9.84 ft``."""
        return self.si_text(unit, number)

    def si_text(self, si_unit: str, value: float, digits: int = 4) -> str:
        """Return a figure given with the name of its SI unit; unknown units stay as they are.

        ``K`` stands for a loss coefficient, which has no unit, and ``1`` for a count.
        """
        if si_unit in _SI_UNITS:
            return self.text(_SI_UNITS[si_unit], value, digits)
        if si_unit == "1":
            return rounded(value, digits)
        if si_unit == "K":
            return f"K {rounded(value, digits)}"
        return f"{rounded(value, digits)} {si_unit}".strip()


def rounded(value: float, digits: int = 3) -> str:
    """Return a number to so many significant digits; ``no limit`` for one that is not finite.

    >>> rounded(0.012345), rounded(0.0), rounded(float("inf"))
    ('0.0123', '0', 'no limit')
    """
    return format_number(value, digits) if math.isfinite(value) else "no limit"


def percent(share: float, decimals: int = 0) -> str:
    """Return a share in hundredths.

    >>> percent(0.985, 1)
    '98.5 %'
    """
    return f"{100.0 * share:.{decimals}f} %"


def sure_percent(share: float) -> str:
    """Return a share to a tenth of a hundredth; all or none of it only where that is so.

    >>> sure_percent(0.9884), sure_percent(1.0), sure_percent(0.99999), sure_percent(0.0002)
    ('98.8 %', '100 %', 'over 99.9 %', 'under 0.1 %')
    """
    shown = percent(share, 1)
    if shown == "0.0 %" and share > 0.0:
        return "under 0.1 %"
    return "over 99.9 %" if shown == "100.0 %" and share < 1.0 else shown.replace("100.0", "100")


def counted(number: int, what: str) -> str:
    """Return a number of things that take an s.

    >>> counted(1, "bed"), counted(24, "bed")
    ('1 bed', '24 beds')
    """
    return f"{number} {what}{'' if number == 1 else 's'}"


def money(cents: float, currency: str) -> str:
    """Return whole cents as money.

    >>> money(123450, "EUR")
    'EUR 1,234.50'
    """
    return f"{currency} {'-' if cents < 0 else ''}{abs(cents) / 100.0:,.2f}"
