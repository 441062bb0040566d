"""Where text with a unit becomes SI. The vocabulary is closed and the caller names the dimension.

Metric and US customary units both work. A gallon must say which: ``120 US gal/h``, or the caller
passes ``gallon``. Nominal pipe sizes ("1-1/2 in") are names of parts and are never read here.

Factors: the inch is 25.4 mm, the pound 0.45359237 kg, the US gallon 231 cubic inches and the
imperial gallon 4.54609 L, all exact (NIST Special Publication 811, 2008, appendix B; from memory,
tested against an independent library).
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass

_INCH = 0.0254
_FOOT = 12 * _INCH
_MILE = 5280 * _FOOT
_POUND = 0.45359237
_LITRE = 1e-3
_US_GALLON = 231 * _INCH**3
_IMPERIAL_GALLON = 4.54609e-3
_DAY = 86400.0

_TEXT_MOST = 100  # longest text worth reading as a quantity


class UnitError(ValueError):
    """A text that is not a quantity of the wanted dimension.

    Attributes:
        what: what was read and what was expected.
        fix: how to mend it, as an instruction.
    """

    def __init__(self, what: str, fix: str) -> None:
        self.what = what
        self.fix = fix
        super().__init__(f"{what} {fix}")


@dataclass(frozen=True)
class Dimension:
    """One kind of quantity.

    Attributes:
        word: what it is called in messages.
        factors: folded unit name to the SI value of one unit.
        suggested: units to name in messages, as a person writes them.
        example: a text that reads.
        signed: whether a negative value can make sense.
        bare: whether a number without a unit reads (a share only).
    """

    word: str
    factors: Mapping[str, float]
    suggested: str
    example: str
    signed: bool = False
    bare: bool = False


def _named(*groups: tuple[str, float]) -> dict[str, float]:
    return {name: factor for names, factor in groups for name in names.split("|")}


_LENGTHS = _named(
    ("mm|millimetre|millimetres|millimeter|millimeters", 1e-3),
    ("cm|centimetre|centimetres|centimeter|centimeters", 1e-2),
    ("m|metre|metres|meter|meters", 1.0),
    ("km|kilometre|kilometres|kilometer|kilometers", 1e3),
    ('in|inch|inches|"', _INCH),
    ("ft|foot|feet|'", _FOOT),
    ("yd|yard|yards", 3 * _FOOT),
)
_AREAS = _named(
    ("mm2|sq mm", 1e-6),
    ("cm2|sq cm", 1e-4),
    ("m2|sq m|square metre|square metres|square meter|square meters", 1.0),
    ("ha|hectare|hectares", 1e4),
    ("in2|sq in|square inch|square inches", _INCH**2),
    ("ft2|sq ft|square foot|square feet", _FOOT**2),
    ("yd2|sq yd|square yard|square yards", (3 * _FOOT) ** 2),
    ("acre|acres", 4840 * (3 * _FOOT) ** 2),
)
_GALLONS = _named(
    ("us gal|us gallon|us gallons", _US_GALLON),
    ("imperial gal|imperial gallon|imperial gallons", _IMPERIAL_GALLON),
)
_VOLUMES = _GALLONS | _named(
    ("ml|millilitre|millilitres|milliliter|milliliters", 1e-3 * _LITRE),
    ("cl", 1e-2 * _LITRE),
    ("dl", 1e-1 * _LITRE),
    ("l|litre|litres|liter|liters", _LITRE),
    ("cm3|cc", 1e-6),
    ("m3|cubic metre|cubic metres|cubic meter|cubic meters", 1.0),
    ("in3|cu in|cubic inch|cubic inches", _INCH**3),
    ("ft3|cu ft|cubic foot|cubic feet", _FOOT**3),
    ("yd3|cu yd|cubic yard|cubic yards", (3 * _FOOT) ** 3),
)
_TIMES = _named(
    ("s|sec|second|seconds", 1.0),
    ("min|minute|minutes", 60.0),
    ("h|hr|hrs|hour|hours", 3600.0),
    ("d|day|days", _DAY),
)
_MASSES = _named(
    ("g|gram|grams", 1e-3),
    ("kg|kilogram|kilograms", 1.0),
    ("t|tonne|tonnes", 1e3),
    ("lb|lbs|pound|pounds", _POUND),
    ("oz|ounce|ounces", _POUND / 16),
)


def _rates(tops: Mapping[str, float]) -> dict[str, float]:
    return {f"{top}/{time}": a / b for top, a in tops.items() for time, b in _TIMES.items()}


_FLOWS = _rates(_VOLUMES) | _named(
    ("lps", _LITRE),
    ("lpm", _LITRE / 60),
    ("lph", _LITRE / 3600),
    ("us gpm", _US_GALLON / 60),
    ("us gph", _US_GALLON / 3600),
    ("us gpd", _US_GALLON / _DAY),
    ("imperial gpm", _IMPERIAL_GALLON / 60),
    ("imperial gph", _IMPERIAL_GALLON / 3600),
    ("imperial gpd", _IMPERIAL_GALLON / _DAY),
    ("cfs", _FOOT**3),
    ("cfm", _FOOT**3 / 60),
)
_VELOCITIES = _rates(_LENGTHS) | _named(("fps", _FOOT), ("mph", _MILE / 3600))
_TEMPERATURES = _named(
    ("c|celsius|degc|deg c", 1.0),
    ("f|fahrenheit|degf|deg f", 5 / 9),
    ("k|kelvin", 1.0),
)
_ZEROS_C = _named(  # what 0 F and 0 K are on the Celsius scale
    ("f|fahrenheit|degf|deg f", -160 / 9),
    ("k|kelvin", -273.15),
)

DIMENSIONS: Mapping[str, Dimension] = {
    "length": Dimension("a length", _LENGTHS, "mm, cm, m, in, ft, yd", "1.2 m", signed=True),
    "area": Dimension("an area", _AREAS, "cm2, m2, ha, sq in, sq ft, acre", "30 m2"),
    "volume": Dimension(
        "a volume", _VOLUMES, "mL, L, m3, cu ft, cu yd, US gal, imperial gal", "300 L"
    ),
    "flow": Dimension(
        "a flow", _FLOWS, "L/s, L/min, L/h, m3/h, US gal/min, US gal/h, imperial gal/h", "40 L/min"
    ),
    "time": Dimension("a time", _TIMES, "s, min, h, days", "24 h"),
    "mass": Dimension("a mass", _MASSES, "g, kg, t, oz, lb", "12 kg"),
    "temperature_c": Dimension("a temperature", _TEMPERATURES, "C, F, K", "20 C", signed=True),
    "share": Dimension(
        "a share", _named(("%|percent|per cent", 0.01)), "%", "5 %", signed=True, bare=True
    ),
    "energy_price": Dimension(
        "a price of energy",
        _named(("/kwh", 1.0), ("/mwh", 1e-3)),
        "per kWh, per MWh",
        "0.30 per kWh",
    ),
    "rate_per_hour": Dimension(
        "a rate",
        {f"/{time}": 3600.0 / seconds for time, seconds in _TIMES.items()},
        "per hour, per day",
        "2 per hour",
    ),
    "velocity": Dimension("a velocity", _VELOCITIES, "m/s, cm/s, ft/s", "1.5 m/s"),
    "sound_level_db": Dimension(
        "a sound level", _named(("db|dba|db(a)|decibel|decibels", 1.0)), "dB", "45 dB"
    ),
}

_DECIMAL = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_FRACTION = r"(?:(?P<whole>[0-9]+)(?: ?- ?| ))?(?P<top>[0-9]+) ?/ ?(?P<bottom>[0-9]+)"
_NUMBER = re.compile(rf"(?P<sign>[+-]?) ?(?:{_FRACTION}|(?P<decimal>{_DECIMAL})) ?")
_FEET_AND_INCHES = re.compile(r"(?P<feet>[+-]?[^a-z']+(?:ft|'|foot|feet)) ?(?P<inches>[0-9].*)")
_MEGA = re.compile(r"M[lLgG]\b")  # ML or Mg folded to ml or mg would be wrong by 10^9


def parse_quantity(text: str, dimension: str, gallon: str | None = None) -> float:
    """Return the quantity that ``text`` states, in SI.

    Args:
        text: a number and a unit, as ``1.2 m``, ``1-1/4 in``, ``5 ft 6 in``, ``120 US gal/h``.
        dimension: a key of :data:`DIMENSIONS`.
        gallon: ``US`` or ``imperial``, meant by a gallon that does not say.

    Returns:
        SI value; degrees Celsius for ``temperature_c``, a fraction for ``share``, money per kWh
        for ``energy_price``, events per hour for ``rate_per_hour`` and dB for
        ``sound_level_db``.

    Raises:
        UnitError: if the text is not a finite quantity of the dimension, is negative where that
            has no meaning, or leaves the gallon open.
        KeyError: if there is no such dimension.
    """
    wanted = DIMENSIONS[dimension]
    if len(text) > _TEXT_MOST:
        raise UnitError(f"read a text of {len(text)} letters.", _write(wanted))
    folded = _folded(text)
    pair = _FEET_AND_INCHES.fullmatch(folded.lower()) if dimension == "length" else None
    if pair is not None:
        feet = _plain(pair["feet"], text, wanted, gallon)
        inches = _plain(pair["inches"], text, wanted, gallon)
        return _sound(feet + math.copysign(inches, feet), text, wanted)
    return _sound(_plain(folded, text, wanted, gallon), text, wanted)


def _write(wanted: Dimension) -> str:
    return f'Write {wanted.word} in quotes with its unit, as "{wanted.example}"; ' + (
        f"units that fit: {wanted.suggested}."
    )


def _folded(text: str) -> str:
    """Return ``text`` in plain letters: fractions as ``1/2``, one space between words."""
    spaced = re.sub(r"(?<=[0-9])(?=[\u00bc-\u00be\u2150-\u215e])", " ", text)
    plain = unicodedata.normalize("NFKC", spaced.replace("\u2212", "-").replace("\u00b0", " "))
    plain = plain.replace("\u2044", "/").replace("\u2032", "'").replace("\u2033", '"')
    return " ".join(plain.split())


def _plain(folded: str, text: str, wanted: Dimension, gallon: str | None) -> float:
    """Return the value of one number with one unit."""
    match = _NUMBER.match(folded)
    if match is None:
        raise UnitError(f"read {text!r}, expected {wanted.word}.", _write(wanted))
    number = _number(match, text, wanted)
    written = folded[match.end() :]
    if written.startswith(","):
        raise UnitError(f"read {text!r} with a comma in the number.", "Write a decimal point.")
    unit = _unit(written)
    if not unit and wanted.bare and abs(number) <= 1.0:
        return number
    factor = _factor(unit, written, text, wanted, gallon)
    zero = _ZEROS_C.get(unit, 0.0) if wanted.factors is _TEMPERATURES else 0.0
    return number * factor + zero


def _number(match: re.Match[str], text: str, wanted: Dimension) -> float:
    sign = -1.0 if match["sign"] == "-" else 1.0
    if match["decimal"] is not None:
        return sign * float(match["decimal"])
    bottom = float(match["bottom"])
    if bottom == 0.0:
        raise UnitError(f"read {text!r}, a fraction over nothing.", _write(wanted))
    return sign * (float(match["whole"] or 0) + float(match["top"]) / bottom)


def _unit(written: str) -> str:
    """Return a unit as the tables spell it."""
    unit = written.strip().rstrip(".").lower().replace("^", "")
    unit = re.sub(r"\bu\. ?s\. ?", "us ", unit)
    unit = re.sub(r"\b(?:imp\.?|uk)(?= )", "imperial", unit)
    unit = re.sub(r"(?:^| ) ?(?:per|an?) |^per(?= )", "/", unit)
    return re.sub(r" ?/ ?", "/", unit)


def _factor(unit: str, written: str, text: str, wanted: Dimension, gallon: str | None) -> float:
    if not unit:
        raise UnitError(f"read {text!r}, a bare number.", _write(wanted))
    if unit in wanted.factors and not _MEGA.match(written):
        return wanted.factors[unit]
    if f"us {unit}" in wanted.factors:
        if gallon is None:
            fix = f'Write "US {written}" or "imperial {written}", or set gallon = "US" at the top.'
            raise UnitError(f"read {text!r}, a gallon that may be US or imperial.", fix)
        return wanted.factors[f"{gallon.lower()} {unit}"]
    raise UnitError(
        f"read {text!r}, where {written!r} is no unit of {wanted.word}.", _write(wanted)
    )


def _sound(value: float, text: str, wanted: Dimension) -> float:
    if not math.isfinite(value):
        raise UnitError(f"read {text!r}, a number too large to use.", _write(wanted))
    if value < 0 and not wanted.signed:
        raise UnitError(f"read {text!r}, but {wanted.word} cannot be negative.", _write(wanted))
    return value + 0.0
