"""Texts become SI and SI becomes text; the oracle is a units library that shares no code."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.units import DIMENSIONS, UnitError, parse_quantity
from optimizer.units_format import UNITS, format_number, format_quantity, unit_for
from tests.tolerances import EXACT, FORMULA

ORACLE = pint.UnitRegistry()

# our folded spelling -> the oracle's; the oracle knows neither "sq ft" nor "US gal"
ORACLE_NAMES = {
    '"': "inch", "in": "inch", "inches": "inch", "'": "foot", "ft": "foot", "feet": "foot",
    "yd": "yard", "yards": "yard", "sq mm": "mm**2", "sq cm": "cm**2", "sq m": "m**2",
    "mm2": "mm**2", "cm2": "cm**2", "m2": "m**2", "in2": "inch**2", "ft2": "foot**2",
    "yd2": "yard**2", "sq in": "inch**2", "sq ft": "foot**2", "sq yd": "yard**2", "ha": "hectare",
    "hectares": "hectare", "acre": "international_yard**2 * 4840", "cc": "cm**3",
    "acres": "international_yard**2 * 4840", "cm3": "cm**3", "m3": "m**3", "in3": "inch**3",
    "ft3": "foot**3", "yd3": "yard**3", "cu in": "inch**3", "cu ft": "foot**3",
    "cu yd": "yard**3", "l": "liter", "ml": "milliliter", "cl": "centiliter", "dl": "deciliter",
    "h": "hour", "hr": "hour", "hrs": "hour", "d": "day", "min": "minute", "s": "second",
    "sec": "second", "t": "metric_ton", "tonne": "metric_ton", "tonnes": "metric_ton",
    "lbs": "pound", "lb": "pound", "oz": "ounce", "us gal": "gallon", "us gallon": "gallon",
    "us gallons": "gallon", "imperial gal": "imperial_gallon",
    "imperial gallon": "imperial_gallon", "imperial gallons": "imperial_gallon",
    "lps": "liter/second", "lpm": "liter/minute", "lph": "liter/hour",
    "us gpm": "gallon/minute", "us gph": "gallon/hour", "us gpd": "gallon/day",
    "imperial gpm": "imperial_gallon/minute", "imperial gph": "imperial_gallon/hour",
    "imperial gpd": "imperial_gallon/day", "cfs": "foot**3/second", "cfm": "foot**3/minute",
    "fps": "foot/second", "mph": "mile/hour",
}  # fmt: skip
SI = {
    "length": "m", "area": "m**2", "volume": "m**3", "flow": "m**3/s", "time": "s", "mass": "kg",
    "velocity": "m/s",
}  # fmt: skip


NO_QUANTITY = ["", " ", "nan", "inf", "-inf", "NaN m", "1e999 m", "m", "1,5 m", "\u0663 m", "1 1 m"]
NO_QUANTITY += ["1/0 m", "7 furlongs", "--1 m", "1" * 200, "1\x00m", "0x10 m"]


def oracle_expression(name):
    if name in ORACLE_NAMES:
        return ORACLE_NAMES[name]
    if "/" in name:
        return "/".join(f"({oracle_expression(part)})" for part in name.split("/"))
    for words, power in (("square ", 2), ("cubic ", 3)):
        if name.startswith(words):
            return f"({oracle_expression(name.removeprefix(words))})**{power}"
    return name


@pytest.mark.parametrize("dimension", sorted(SI))
def test_every_unit_we_know_agrees_with_the_oracle(dimension):
    for name, factor in DIMENSIONS[dimension].factors.items():
        expected = ORACLE.parse_expression(oracle_expression(name)).to(SI[dimension]).magnitude
        assert factor == pytest.approx(expected, rel=FORMULA), name
        assert parse_quantity(f"2.5 {name}", dimension) == pytest.approx(2.5 * factor, rel=FORMULA)


@pytest.mark.parametrize(
    ("text", "unit"), [("68 F", "degF"), ("20 °C", "degC"), ("300 kelvin", "kelvin")]
)
def test_temperatures_agree_with_the_oracle(text, unit):
    number = float(text.split()[0])
    expected = ORACLE.Quantity(number, unit).to("degC").magnitude
    assert parse_quantity(text, "temperature_c") == pytest.approx(expected, rel=FORMULA)


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("1 1/2 in", 1.5),
        ("1-1/2 in", 1.5),
        ("1-1/4 in", 1.25),
        ("1 - 1/4 in", 1.25),
        ("1½ in", 1.5),
        ("1 ½ in", 1.5),
        ('½"', 0.5),
        ("⅞ in", 0.875),
        ("3/4in", 0.75),
        ("3\u20444 in", 0.75),
        ("-1 1/2 in", -1.5),
        ("\u22122 in", -2.0),
        ("5 ft 6 in", 66.0),
        ("5' 6 1/2\"", 66.5),
        ("-5 ft 6 in", -66.0),
        ("1e2 inches", 100.0),
        ("  .5   in. ", 0.5),
    ],
)
def test_fractions_and_feet_with_inches_read_as_written(text, inches):
    # the oracle reads "1 1/2 in" as 0.5 in, so the expected value is the text's own arithmetic
    assert parse_quantity(text, "length") == pytest.approx(inches * 0.0254, rel=FORMULA)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("5 %", "share", 0.05),
        ("5%", "share", 0.05),
        ("0.05", "share", 0.05),
        ("-2 percent", "share", -0.02),
        ("0.30 per kWh", "energy_price", 0.30),
        ("0.30/kWh", "energy_price", 0.30),
        ("300 per MWh", "energy_price", 0.30),
        ("2 per hour", "rate_per_hour", 2.0),
        ("2 /h", "rate_per_hour", 2.0),
        ("2/h", "rate_per_hour", 2.0),
        ("2 an hour", "rate_per_hour", 2.0),
        ("48 per day", "rate_per_hour", 2.0),
        ("1/2 per hour", "rate_per_hour", 0.5),
        ("40 litres per minute", "flow", 40e-3 / 60),
        ("3 m³/h", "flow", 3 / 3600),
        ("2 m^3/h", "flow", 2 / 3600),
        ("30 m²", "area", 30.0),
    ],
)
def test_the_ways_people_write_rates_shares_and_prices_are_read(text, dimension, value):
    assert parse_quantity(text, dimension) == pytest.approx(value, rel=FORMULA)


@pytest.mark.parametrize(
    ("text", "gallon", "litres_per_hour"),
    [
        # US gallon 231 in3 = 3.785411784 L, imperial gallon 4.54609 L: exact by definition
        ("120 US gal/h", None, 120 * 3.785411784),
        ("120 U.S. gal/h", None, 120 * 3.785411784),
        ("120 gal/h", "US", 120 * 3.785411784),
        ("2 gpm", "US", 120 * 3.785411784),
        ("120 gph", "imperial", 120 * 4.54609),
        ("120 imp gal per hour", "US", 120 * 4.54609),
        ("2 imp. gpm", None, 120 * 4.54609),
    ],
)
def test_a_gallon_is_the_one_that_is_said_or_set(text, gallon, litres_per_hour):
    expected = litres_per_hour * 1e-3 / 3600
    assert parse_quantity(text, "flow", gallon) == pytest.approx(expected, rel=FORMULA)


@pytest.mark.parametrize(
    ("text", "dimension"), [("5 gal", "volume"), ("5 gpm", "flow"), ("5 gal/h", "flow")]
)
def test_a_gallon_that_does_not_say_which_is_refused(text, dimension):
    with pytest.raises(UnitError, match="US or imperial"):
        parse_quantity(text, dimension)


@pytest.mark.parametrize("dimension", sorted(DIMENSIONS))
@pytest.mark.parametrize("text", NO_QUANTITY)
def test_what_is_no_quantity_is_refused_in_every_dimension(text, dimension):
    with pytest.raises(UnitError):
        parse_quantity(text, dimension)


@pytest.mark.parametrize("dimension", sorted(DIMENSIONS))
def test_a_bare_number_is_refused_with_the_units_that_fit(dimension):
    with pytest.raises(UnitError, match="bare number") as caught:
        parse_quantity("12", dimension)
    assert DIMENSIONS[dimension].suggested in caught.value.fix


@pytest.mark.parametrize(
    "dimension", sorted(name for name, d in DIMENSIONS.items() if not d.signed)
)
def test_a_negative_is_refused_where_it_has_no_meaning(dimension):
    with pytest.raises(UnitError, match="negative"):
        parse_quantity("-" + DIMENSIONS[dimension].example, dimension)


@pytest.mark.parametrize("dimension", sorted(DIMENSIONS))
def test_the_example_in_every_message_reads(dimension):
    assert math.isfinite(parse_quantity(DIMENSIONS[dimension].example, dimension))
    for unit in DIMENSIONS[dimension].suggested.split(", "):
        assert math.isfinite(parse_quantity(f"1 {unit}", dimension)), unit


@pytest.mark.parametrize("text", ["3 L/m", "3 ML/h", "3 Mg"])
def test_units_that_would_be_read_wrongly_are_refused(text):
    # L/m is litre per metre, ML megalitre and Mg megagram: each folds to something else
    with pytest.raises(UnitError, match="no unit"):
        parse_quantity(text, "mass" if text.endswith("Mg") else "flow")


@given(
    st.text(max_size=120),
    st.sampled_from(sorted(DIMENSIONS)),
    st.sampled_from([None, "US", "imperial"]),
)
def test_any_text_gives_a_finite_number_or_a_unit_error(text, dimension, gallon):
    try:
        value = parse_quantity(text, dimension, gallon)
    except UnitError:
        return
    assert math.isfinite(value)


READABLE = sorted(set(DIMENSIONS) - {"share"})


@given(st.floats(1e-3, 1e5), st.sampled_from(READABLE), st.sampled_from(["metric", "us"]))
def test_what_is_written_reads_back_to_twelve_digits(value, dimension, units):
    twelve_digits = 1e-11
    text = format_quantity(value, dimension, units, digits=12)
    read = parse_quantity(text.replace("days", "d"), dimension)
    zero = abs(unit_for(value, dimension, units).zero)
    assert read == pytest.approx(value, rel=twelve_digits, abs=twelve_digits * (1 + zero))


@pytest.mark.parametrize(
    ("value", "dimension", "metric", "us"),
    [
        (0.0266446, "length", "26.6 mm", "1.05 in"),
        (12.0, "length", "12 m", "39.4 ft"),
        (0.0, "length", "0 m", "0 ft"),
        (-0.6096, "length", "-610 mm", "-2 ft"),
        (30.0, "area", "30 m2", "323 sq ft"),
        (0.3, "volume", "300 L", "79.3 US gal"),
        (1e-3, "flow", "60 L/min", "15.9 US gpm"),
        (1140.0, "mass", "1140 kg", "2513 lb"),
        (101325.0, "pressure", "101 kPa", "14.7 psi"),
        (20.0, "temperature_c", "20 C", "68 F"),
        (0.0, "temperature_c", "0 C", "32 F"),
        (0.05, "share", "5 %", "5 %"),
        (2.0, "rate_per_hour", "2 per hour", "2 per hour"),
        (65.0, "power", "65 W", "65 W"),
        (1.5, "velocity", "1.5 m/s", "4.92 ft/s"),
    ],
)
def test_values_are_written_as_a_builder_would(value, dimension, metric, us):
    assert format_quantity(value, dimension, "metric") == metric
    assert format_quantity(value, dimension, "us") == us


def test_both_systems_write_the_same_dimensions():
    assert set(UNITS["metric"]) == set(UNITS["us"]) >= set(DIMENSIONS)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (99.96, "100"),
        (0.000123456, "0.000123"),
        (1234.5, "1234"),
        (-2.50, "-2.5"),
        (1e12, "1.00e+12"),
        (9.999e-5, "0.0001"),
    ],
)
def test_numbers_keep_three_digits_and_every_whole_digit(value, text):
    assert format_number(value) == text


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_what_is_not_finite_is_never_written(value):
    with pytest.raises(ValueError, match="cannot write"):
        format_number(value)


def test_minus_zero_reads_as_zero():
    assert math.copysign(1.0, parse_quantity("-0 m", "length")) - 1.0 == EXACT
