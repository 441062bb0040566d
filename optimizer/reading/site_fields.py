"""The kinds of value a site file holds, each with its own sentence when it is wrong."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import Annotated, Any, TypeGuard, TypeVar

from pydantic import BaseModel, ConfigDict, Field, PlainValidator, ValidationInfo

from optimizer.reading.nearest import choose_from, shown
from optimizer.units import DIMENSIONS, UnitError, parse_quantity
from optimizer.units_format import format_number, format_quantity

_NAME_MOST = 100
_FORMULA_SIGNS = "=+-@"
"""What a cell of a spreadsheet begins with that is worked out, also where a table is read in."""
TABLES_MOST = 5000
BEDS_MOST = 10_000
DAY_S = 86400.0


class Table(BaseModel):
    """A table of a site file: unknown keys are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class FieldError(ValueError):
    """A value that does not fit its key.

    Attributes:
        what: what was read and what was expected.
        fix: how to mend it.
    """

    def __init__(self, what: str, fix: str) -> None:
        self.what = what
        self.fix = fix
        super().__init__(what)


def given(**values: Any) -> dict[str, Any]:  # noqa: ANN401  # keys of several records
    """Return the values that a file gives, so that the record's defaults fill the rest."""
    return {name: value for name, value in values.items() if value is not None}


def measure(
    dimension: str, low: float = -math.inf, high: float = math.inf, above: float = -math.inf
) -> PlainValidator:
    """Return a reader of a quantity from ``low`` to ``high`` and more than ``above``, in SI."""

    def read(value: object, info: ValidationInfo) -> float:
        gallon = (info.context or {}).get("gallon")
        return read_measure(value, dimension, gallon, low=low, high=high, above=above)

    return PlainValidator(read)


def read_measure(
    value: object,
    dimension: str,
    gallon: str | None,
    *,
    low: float = -math.inf,
    high: float = math.inf,
    above: float = -math.inf,
) -> float:
    """Return a quantity in SI.

    Raises:
        FieldError: if it is no quantity of the dimension or lies outside the limits.
    """
    quantity = _quantity(value, dimension, gallon)
    if low <= quantity <= high and quantity > above:
        return quantity
    raise FieldError(
        f"read {shown(value)}, expected {_limits(dimension, low, high, above)}.",
        f"Write {DIMENSIONS[dimension].word} within these limits.",
    )


def _quantity(value: object, dimension: str, gallon: str | None) -> float:
    wanted = DIMENSIONS[dimension]
    if not isinstance(value, str):
        kind = "a bare number" if _is_number(value) else "not text"
        raise FieldError(
            f"read {shown(value)}, {kind}; expected {wanted.word}.",
            f'Write it in quotes with its unit, as "{wanted.example}"; '
            f"units that fit: {wanted.suggested}.",
        )
    try:
        return parse_quantity(value, dimension, gallon)
    except UnitError as error:
        raise FieldError(error.what, error.fix) from None


def _limits(dimension: str, low: float, high: float, above: float) -> str:
    words = [f"more than {_written(above, dimension)}"] if above > -math.inf else []
    words += [f"at least {_written(low, dimension)}"] if low > -math.inf else []
    words += [f"at most {_written(high, dimension)}"] if high < math.inf else []
    return " and ".join(words)


def _written(value: float, dimension: str) -> str:
    return format_quantity(value, dimension, "metric")


def _is_number(value: object) -> TypeGuard[int | float]:
    return isinstance(value, int | float) and not isinstance(value, bool)


def number(low: float, high: float) -> PlainValidator:
    """Return a reader of a plain number from ``low`` to ``high``."""

    def read(value: object) -> float:
        if _is_number(value) and low <= value <= high:
            return float(value)
        expected = f"a number from {format_number(low)} to {format_number(high)}"
        raise FieldError(f"read {shown(value)}, expected {expected}.", _no_quotes(value))

    return PlainValidator(read)


def whole(low: int, high: int) -> PlainValidator:
    """Return a reader of a whole number from ``low`` to ``high``."""

    def read(value: object) -> int:
        if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
            return value
        expected = f"a whole number from {low} to {high}"
        raise FieldError(f"read {shown(value)}, expected {expected}.", _no_quotes(value))

    return PlainValidator(read)


def _no_quotes(value: object) -> str:
    return "Write it without quotes or unit." if isinstance(value, str) else "Change the number."


def word(*choices: str) -> PlainValidator:
    """Return a reader of one of a few words."""

    def read(value: object) -> str:
        if isinstance(value, str) and value in choices:
            return value
        listed = " or ".join(f'"{choice}"' for choice in choices)
        raise FieldError(f"read {shown(value)}, expected {listed}.", _choose(value, choices))

    return PlainValidator(read)


def _choose(value: object, choices: Iterable[str]) -> str:
    return choose_from(value, choices) if isinstance(value, str) else "Write one of these words."


def _text(value: object) -> str:
    if isinstance(value, str) and value.strip() and len(value) <= _NAME_MOST:
        name = value.strip()
        if not value.isprintable():
            what = f"read {shown(value)}, with letters that cannot be seen."
            raise FieldError(what, "Retype it.")
        if name[0] in _FORMULA_SIGNS:
            what = f"read {shown(value)}, which a spreadsheet would take for a formula."
            raise FieldError(what, "Begin it with a letter or a number.")
        return name
    expected = f"text of 1 to {_NAME_MOST} letters"
    raise FieldError(f"read {shown(value)}, expected {expected}.", "Write a name in quotes.")


def _currency(value: object) -> str:
    if isinstance(value, str) and re.fullmatch("[A-Z]{3}", value):
        return value
    fix = 'Write it as "EUR" or "USD".'
    raise FieldError(f"read {shown(value)}, expected a currency of three capitals.", fix)


def _yes_or_no(value: object) -> bool:
    if isinstance(value, bool):
        return value
    raise FieldError(f"read {shown(value)}, expected true or false.", "Write it without quotes.")


Name = Annotated[str, PlainValidator(_text)]
Currency = Annotated[str, PlainValidator(_currency)]
YesOrNo = Annotated[bool, PlainValidator(_yes_or_no)]
Coordinate = Annotated[float, measure("length", -10_000.0, 10_000.0)]
Level = Annotated[float, measure("length", -1000.0, 9000.0)]
Spacing = Annotated[float, measure("length", 0.1, 1000.0)]
Place = tuple[Coordinate, Coordinate]

Each = TypeVar("Each")
Many = Annotated[list[Each], Field(max_length=TABLES_MOST)]
