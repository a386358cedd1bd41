"""Values as people write them: every way of writing, every mistake, and back to text."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boomwright.build.quantities import BASES, Quantity, format_quantity, parse_quantity
from boomwright.build.units import KINDS
from boomwright.errors import QuantityError
from boomwright.physics.nature import ZERO_CELSIUS


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("12 V", "voltage", 12.0),
        ("  12V ", "voltage", 12.0),
        ("-3.5 V", "voltage", -3.5),
        ("+.25 V", "voltage", 0.25),
        ("6. V", "voltage", 6.0),
        ("1.3e3 mV", "voltage", 1.3),
        ("1.4E-3 kV", "voltage", 1.4),
        ("9 volts", "voltage", 9.0),
        ("350 mA", "current", 0.35),
        ("45 µA", "current", 45e-6),
        ("46 μA", "current", 46e-6),
        ("47 uA", "current", 47e-6),
        ("8 Ω", "resistance", 8.0),
        ("8.1 \u2126", "resistance", 8.1),
        ("8.2 ohm", "resistance", 8.2),
        ("8.3 Ohm", "resistance", 8.3),
        ("8.4 ohms", "resistance", 8.4),
        ("8.5 R", "resistance", 8.5),
        ("4.7 kΩ", "resistance", 4700.0),
        ("4.8k", "resistance", 4800.0),
        ("4k7", "resistance", 4700.0),
        ("2R2", "resistance", 2.2),
        ("0R15", "resistance", 0.15),
        ("1M5", "resistance", 1.5e6),
        ("3m3", "resistance", 3.3e-3),
        ("4u7", "capacitance", 4.7e-6),
        ("2µ2", "capacitance", 2.2e-6),
        ("3μ3", "capacitance", 3.3e-6),
        ("6n8", "capacitance", 6.8e-9),
        ("1p5", "capacitance", 1.5e-12),
        ("1m8", "inductance", 1.8e-3),
        ("1000 µF", "capacitance", 1e-3),
        ("7 Ah", "charge", 25200.0),
        ("2200 mAh", "charge", 7920.0),
        ("15 Wh", "energy", 54000.0),
        ("60 cm", "length", 0.6),
        ("2 ft", "length", 0.6096),
        ("0.75 mm²", "area", 0.75e-6),
        ("0.5 mm2", "area", 0.5e-6),
        ("133 cm²", "cone", 0.0133),
        ("14 L", "volume", 0.014),
        ("2 weeks", "time", 1209600.0),
        ("90 min", "time", 5400.0),
        ("25 °C", "temperature", ZERO_CELSIUS + 25.0),
        ("-7 C", "temperature", ZERO_CELSIUS - 7.0),
        ("80 %", "share", 0.8),
        ("26 dB", "decibel", 26.0),
        ("82 dB(A)", "decibel", 82.0),
        ("83 dBA", "decibel", 83.0),
        ("8 °C/W", "thermal", 8.0),
        ("5.2 T m", "motor", 5.2),
        ("5.3 T·m", "motor", 5.3),
        ("5.4 N/A", "motor", 5.4),
        ("0.62", "ratio", 0.62),
        ("12.50", "price", 12.5),
    ],
)
def test_value_with_its_unit(text, kind, value):
    quantity = parse_quantity(text, kind)
    assert quantity.likely == pytest.approx(value, rel=1e-12)
    assert quantity.low <= quantity.likely <= quantity.high
    assert (quantity.kind, quantity.basis, quantity.text) == (kind, "label", text)
    assert str(quantity) == text


# Nominal areas [mm²] of solid round copper, ASTM B258 (from memory).
AWG_TABLE = {
    "4/0": 107.2,
    "3/0": 85.0,
    "2/0": 67.4,
    "1/0": 53.5,
    "2": 33.6,
    "4": 21.2,
    "6": 13.3,
    "8": 8.37,
    "10": 5.26,
    "12": 3.31,
    "14": 2.08,
    "16": 1.31,
    "18": 0.823,
    "20": 0.518,
    "22": 0.326,
    "24": 0.205,
    "26": 0.129,
    "28": 0.0810,
    "30": 0.0509,
    "36": 0.0127,
    "40": 0.00501,
}


@pytest.mark.parametrize(("gauge", "area"), AWG_TABLE.items())
def test_gauge_has_the_published_area(gauge, area):
    quantity = parse_quantity(f"AWG {gauge}", "area")
    assert quantity.likely * 1e6 == pytest.approx(area, rel=0.005)


def test_gauge_spelled_in_other_ways():
    area = parse_quantity("AWG 2/0", "area").likely
    assert [parse_quantity(text, "area").likely for text in ("awg 00", "AWG2/0")] == [area, area]
    assert parse_quantity("AWG 18 (measured)", "area").basis == "measured"


@pytest.mark.parametrize("text", ["AWG 41", "AWG 5/0", "AWG 1.5", "AWG x"])
def test_gauge_that_does_not_exist(text):
    with pytest.raises(QuantityError, match=rf"no wire gauge '{text[4:]}'.*4/0 to 40"):
        parse_quantity(text, "area")


def test_gauge_is_no_length():
    with pytest.raises(QuantityError, match="'AWG 17'"):
        parse_quantity("AWG 17", "length")


@pytest.mark.parametrize(
    ("text", "kind", "low", "likely", "high"),
    [
        ("7 V ±10 %", "voltage", 6.3, 7.0, 7.7),
        ("8 V ± 0.5 V", "voltage", 7.5, 8.0, 8.5),
        ("9 V ±200 mV", "voltage", 8.8, 9.0, 9.2),
        ("11 V ±2", "voltage", 9.0, 11.0, 13.0),
        ("-10 V ±10 %", "voltage", -11.0, -10.0, -9.0),
        ("6 to 8.4 V", "voltage", 6.0, 7.2, 8.4),
        ("800 mV to 1.4 V", "voltage", 0.8, 1.1, 1.4),
        ("-3 to -1 V", "voltage", -3.0, -2.0, -1.0),
        ("25 mΩ [15 to 40]", "resistance", 0.015, 0.025, 0.040),
        ("30 mΩ [18 mΩ to 0.05 Ω]", "resistance", 0.018, 0.030, 0.050),
        ("80 % ±5 %", "share", 0.75, 0.80, 0.85),
        ("70 % [60 to 90]", "share", 0.6, 0.7, 0.9),
        ("0.5 [0.4 to 0.7]", "ratio", 0.4, 0.5, 0.7),
        ("27 dB ±3 dB", "decibel", 24.0, 27.0, 30.0),
        ("28 dB(A) ±2", "decibel", 26.0, 28.0, 30.0),
    ],
)
def test_spread_and_range(text, kind, low, likely, high):
    quantity = parse_quantity(text, kind)
    assert (quantity.low, quantity.likely, quantity.high) == pytest.approx((low, likely, high))


def test_spread_of_a_temperature_is_a_difference():
    absolute = parse_quantity("20 °C ±6 °C", "temperature")
    assert (absolute.low, absolute.high) == pytest.approx((ZERO_CELSIUS + 14, ZERO_CELSIUS + 26))
    share = parse_quantity("20 °C ±10 %", "temperature")
    assert (share.low, share.high) == pytest.approx((ZERO_CELSIUS + 18, ZERO_CELSIUS + 22))
    bracket = parse_quantity("12 °C [2 to 21]", "temperature")
    assert (bracket.low, bracket.high) == pytest.approx((ZERO_CELSIUS + 2, ZERO_CELSIUS + 21))


@pytest.mark.parametrize(
    ("basis", "below", "above"),
    [
        ("measured", 0.98, 1.02),
        ("label", 0.90, 1.05),
        ("claim", 0.60, 1.00),
        ("guess", 0.70, 1.30),
        ("typical", 0.85, 1.15),
        ("standard", 1.0, 1.0),
        ("invented", 1.0, 1.0),
    ],
)
def test_basis_sets_the_width(basis, below, above):
    quantity = parse_quantity(f"40 W ({basis})", "power")
    assert quantity.basis == basis
    assert (quantity.low, quantity.high) == pytest.approx((40 * below, 40 * above))
    assert quantity.certain is (below == above)
    negative = parse_quantity(f"-40 W ({basis})", "power")
    assert negative.low <= -40 <= negative.high
    assert set(BASES) >= {basis}


@pytest.mark.parametrize(
    ("basis", "below", "above"),
    [("measured", 0.5, 0.5), ("label", 1, 1), ("claim", 3, 0), ("typical", 2, 2), ("guess", 4, 4)],
)
@pytest.mark.parametrize(("kind", "unit"), [("decibel", "dB"), ("temperature", "°C")])
def test_level_and_temperature_widen_by_steps(kind, unit, basis, below, above):
    quantity = parse_quantity(f"31 {unit} ({basis})", kind)
    assert quantity.likely - quantity.low == pytest.approx(below, abs=1e-9)  # rounding of kelvin
    assert quantity.high - quantity.likely == pytest.approx(above, abs=1e-9)


def test_basis_word_in_any_case_and_beside_a_range():
    quantity = parse_quantity("6 to 8 Ah ( Guess )", "charge")
    assert (quantity.low, quantity.high, quantity.basis) == (21600.0, 28800.0, "guess")
    assert parse_quantity("82 dB(A) (measured)", "decibel").basis == "measured"
    assert parse_quantity("25 mΩ [15 to 40] (typical)", "resistance").low == pytest.approx(0.015)


MISTAKES = [
    ("", "voltage", "not a number with a unit"),
    ("   ", "voltage", "not a number with a unit"),
    ("V", "voltage", "not a number with a unit"),
    ("nan V", "voltage", "not a number with a unit"),
    ("inf V", "voltage", "not a number with a unit"),
    ("twelve V", "voltage", "not a number with a unit"),
    ("1 2 V", "voltage", "not a number with a unit"),
    ("1.2.3 V", "voltage", "not a number with a unit"),
    ("12", "voltage", "a number without its unit.*Write the unit: '12 V'"),
    ("1,5 V", "voltage", "a comma inside a number.*as a dot"),
    ("12 parsecs", "voltage", "unknown unit 'parsecs'"),
    ("12.5 v", "voltage", "unknown unit 'v'.*Did you mean 'V'"),
    ("66 hz", "frequency", "unknown unit 'hz'.*Did you mean 'Hz'"),
    ("7.5 ah", "charge", "unknown unit 'ah'.*Did you mean 'Ah'"),
    ("13 A", "voltage", "'A' is a unit of current, not of voltage"),
    ("7 Wh", "charge", "'Wh' is a unit of energy, not of charge"),
    ("1e999 V", "voltage", "too large to be real"),
    ("1e308 kV", "voltage", "too large to be real"),
    ("1e308 V ±900 %", "voltage", "too large to be real"),
    ("9e307 to 9.5e307 kV", "voltage", "too large to be real"),
    ("7.1 V ±", "voltage", "not a number with a unit"),
    ("7.2 V ±x", "voltage", "not a number with a unit"),
    ("7.3 V ±-1 V", "voltage", "a spread below zero.*±10 %"),
    ("7.4 V ±1 A", "voltage", "'A' is a unit of current"),
    ("7.5 V ±1 % ±2 %", "voltage", "not a number with a unit"),
    ("7.6 V ±1 % [1 to 9]", "voltage", "both a range in brackets and a ± spread"),
    ("7.7 V []", "voltage", "a bracket that is no range"),
    ("7.8 V [9]", "voltage", "a bracket that is no range"),
    ("7.9 V [8 to 9]", "voltage", "a range that does not hold its value"),
    ("9 to 8.9 V", "voltage", "a range that does not hold its value"),
    ("8 to 9 V ±1 %", "voltage", "a range inside a range"),
    ("8 to 9 V [7 to 10]", "voltage", "a range inside a range"),
    ("8 to 9", "voltage", "a number without its unit"),
    ("6 V (mesured)", "voltage", r"unknown basis '\(mesured\)'.*Did you mean '\(measured\)'"),
    ("6 V (xyzzy)", "voltage", r"unknown basis '\(xyzzy\)'.*One of: measured"),
    ("6 V (measured) x", "voltage", "not a number with a unit"),
    ("84 db(A)", "decibel", r"unknown unit 'db\(A\)'.*Did you mean 'dB\(A\)'"),
    ("85 dB (A)", "decibel", r"unknown unit 'dB \(A\)'.*Did you mean 'dB\(A\)'"),
    ("4R7", "capacitance", "unknown unit"),
    ("4n7", "resistance", "unknown unit"),
    ("0.9", "share", "a number without its unit"),
    ("5 €", "price", "unknown unit '€'"),
    ("5.5 %", "ratio", "'%' is a unit of share"),
    ("1" * 121 + " V", "voltage", "far too long for a value"),
]


@pytest.mark.parametrize(("text", "kind", "says"), MISTAKES)
def test_mistake_is_named_with_what_was_read(text, kind, says):
    with pytest.raises(QuantityError, match=says) as caught:
        parse_quantity(text, kind)
    (problem,) = caught.value.problems
    assert text[:100] in problem.got
    assert KINDS[kind].example in problem.expected
    assert KINDS[kind].name in problem.expected
    assert re.match(r"an? ", problem.expected)
    assert not re.search(r"\{\w*\}", str(problem))


def test_mistake_uses_the_right_article():
    with pytest.raises(QuantityError, match="expected an energy such as"):
        parse_quantity("x", "energy")
    with pytest.raises(QuantityError, match="expected a power such as"):
        parse_quantity("x", "power")


def test_long_text_is_cut_in_the_message():
    with pytest.raises(QuantityError) as caught:
        parse_quantity("5 V " * 100_000, "voltage")
    assert len(str(caught.value)) < 400


# What a build file or its outcome may hold [SI], kind by kind; format_quantity promises the way
# back only for values that a person meets.
SPANS = {
    "voltage": (1e-6, 999e3),
    "current": (1e-9, 999.0),
    "resistance": (1e-6, 999e6),
    "power": (1e-6, 999e3),
    "capacitance": (1e-12, 999.0),
    "inductance": (1e-9, 999.0),
    "frequency": (1e-3, 999e6),
}


def _values(kind: str) -> st.SearchStrategy[float]:
    low, high = SPANS.get(kind, (1e-7, 1e9))
    size = st.floats(math.log(low), math.log(high)).map(math.exp)
    if kind == "temperature":
        return st.floats(200.0, 600.0)
    if kind == "decibel":
        return st.floats(-120.0, 140.0)
    return st.one_of(st.just(0.0), size, size.map(lambda value: -value))


@pytest.mark.parametrize("kind", KINDS)
def test_printed_value_reads_back(kind):
    # Half of the last digit shown: whole degrees, tenths of a decibel, three digits elsewhere.
    allowed = {"temperature": {"abs": 0.5001}, "decibel": {"abs": 0.0501}}
    tolerance = allowed.get(kind, {"rel": 0.00501})

    @settings(max_examples=60, deadline=None)
    @given(_values(kind))
    def reads_back(value):
        text = format_quantity(value, kind)
        again = parse_quantity(text, kind).likely
        assert again == pytest.approx(value, **tolerance)
        assert parse_quantity(format_quantity(again, kind), kind).likely == pytest.approx(
            again, **tolerance
        )

    reads_back()


@pytest.mark.parametrize(
    ("value", "kind", "text"),
    [
        (0.0, "voltage", "0 V"),
        (12.64, "voltage", "12.6 V"),
        (0.35, "current", "350 mA"),
        (4.7e-6, "capacitance", "4.7 µF"),
        (999.96, "resistance", "1 kΩ"),
        (23400.0, "charge", "6.5 Ah"),
        (0.77e-6, "area", "0.77 mm²"),
        (0.0143, "volume", "14.3 L"),
        (59.0, "time", "59 s"),
        (150.0, "time", "2.5 min"),
        (172800.0, "time", "48 h"),
        (345600.0, "time", "4 d"),
        (ZERO_CELSIUS - 0.2, "temperature", "0 °C"),
        (-0.04, "decibel", "0.0 dB"),
        (-3.26, "decibel", "-3.3 dB"),
        (0.853, "share", "85.3 %"),
        (7.25, "thermal", "7.25 K/W"),
        (0.707, "ratio", "0.707"),
        (math.inf, "time", "no limit"),
        (-math.inf, "voltage", "less than any"),
        (math.nan, "power", "unknown"),
    ],
)
def test_value_is_printed_for_people(value, kind, text):
    assert format_quantity(value, kind) == text


def test_digits_are_asked_for():
    assert format_quantity(1234.5, "resistance", digits=2) == "1.2 kΩ"
    assert format_quantity(1234.5, "length", digits=2) == "1200 m"
    assert str(Quantity(2.5, 2.0, 3.0, "voltage")) == "2.5 V"


PIECES = st.sampled_from(
    [
        *("5", "1.5", "e9", "V", "Ah", " ", "±", "%", "[", "]", "(", ")", " to ", "AWG ", "/0"),
        *("(guess)", "dB", "(A)", "k", "4k7", "µ", "Ω", "-", "1e308", "inf", "nan", "\n", "²"),
        *(",", "٣", "x"),
    ]
)


@settings(max_examples=400, deadline=None)
@given(
    st.one_of(st.text(max_size=40), st.lists(PIECES, max_size=9).map("".join)),
    st.sampled_from(list(KINDS)),
)
def test_any_text_is_a_quantity_or_an_error(text, kind):
    try:
        quantity = parse_quantity(text, kind)
    except QuantityError as error:
        (problem,) = error.problems
        assert problem.says
        assert problem.got
        assert "\n" not in str(problem)
    else:
        assert quantity.low <= quantity.likely <= quantity.high
        assert all(map(math.isfinite, (quantity.low, quantity.likely, quantity.high)))
        assert quantity.basis in BASES
