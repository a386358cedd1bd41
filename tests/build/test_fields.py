"""Field types: quantities within limits, leads, levels."""

from __future__ import annotations

import time
from typing import Annotated

import pytest
from pydantic import TypeAdapter, ValidationError

from boomwright.build.fields import (
    Lead,
    LeadField,
    LevelField,
    ListeningLevel,
    Q,
    Table,
    typical,
    value_error,
)
from boomwright.build.quantities import Quantity
from boomwright.errors import Problem

VOLTS = TypeAdapter(Annotated[Quantity, Q("voltage", "1 V", "30 V")])
RATIO = TypeAdapter(Annotated[Quantity, Q("ratio", "0.05", "10")])
LEAD: TypeAdapter[Lead] = TypeAdapter(LeadField)
LEVEL: TypeAdapter[ListeningLevel] = TypeAdapter(LevelField)


def _context(adapter: TypeAdapter, value: object) -> dict[str, str]:
    with pytest.raises(ValidationError) as caught:
        adapter.validate_python(value)
    (detail,) = caught.value.errors()
    assert detail["type"] == "boomwright"
    assert detail["msg"] == detail["ctx"]["says"]
    return detail["ctx"]


@pytest.mark.parametrize(("text", "volts"), [("1 V", 1.0), ("30 V", 30.0), ("4700 mV", 4.7)])
def test_value_within_its_limits(text, volts):
    assert VOLTS.validate_python(text).likely == pytest.approx(volts)


@pytest.mark.parametrize("text", ["0.99 V", "30.1 V", "-5 V", "12 kV"])
def test_value_outside_its_limits(text):
    context = _context(VOLTS, text)
    assert "cannot be right here" in context["says"]
    assert context["got"] == repr(text)
    assert context["expected"] == "from 1 V to 30 V"


def test_wide_guess_stops_at_the_limits():
    quantity = VOLTS.validate_python("29 V ±90 % (guess)")
    assert (quantity.low, quantity.likely, quantity.high) == pytest.approx((2.9, 29.0, 30.0))
    assert quantity.basis == "guess"
    low = VOLTS.validate_python("1.2 V [0.4 to 2]")
    assert (low.low, low.high) == pytest.approx((1.0, 2.0))


@pytest.mark.parametrize("value", [12, 12.5, True, None, [], {}, ["12 V"], {"V": 12}, "x" * 500])
def test_value_of_another_type(value):
    context = _context(VOLTS, value)
    assert "12 V" in context["expected"]
    assert len(context["got"]) < 200
    assert ("in quotes" in context["hint"]) is (type(value) in (int, float))


def test_plain_number_needs_no_quotes():
    assert RATIO.validate_python(0.707).likely == 0.707
    assert RATIO.validate_python(3).likely == 3.0
    assert RATIO.validate_python("0.62 (measured)").basis == "measured"


@pytest.mark.parametrize("value", [True, float("nan"), float("inf"), 11, 10**300])
def test_plain_number_that_cannot_be(value):
    assert str(value)[:20] in _context(RATIO, value)["got"]


def test_quantity_passes_through_and_is_written_as_it_was():
    quantity = VOLTS.validate_python("12.6 V ±1 % (measured)")
    assert VOLTS.validate_python(quantity) is quantity
    assert VOLTS.dump_python(quantity) == "12.6 V ±1 % (measured)"
    schema = VOLTS.json_schema(mode="validation")
    assert schema["type"] == "string"
    assert "1 V to 30 V" in schema["description"]


@pytest.mark.parametrize(
    ("text", "area", "length", "connector"),
    [
        ("0.75 mm², 0.4 m", 0.75e-6, 0.4, ""),
        ("AWG 18,30 cm , barrel-jack-5521", 0.823e-6, 0.3, "barrel-jack-5521"),
        ("1.5 mm² (measured), 2 m ±10 %", 1.5e-6, 2.0, ""),
    ],
)
def test_lead(text, area, length, connector):
    lead = LEAD.validate_python(text)
    assert lead.area.likely == pytest.approx(area, rel=1e-3)
    assert lead.length.likely == pytest.approx(length)
    assert (lead.connector, lead.stated) == (connector, True)
    assert LEAD.validate_python(str(lead)) == lead
    assert LEAD.validate_python(lead) is lead


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("0.75 mm²", "not a lead"),
        ("", "not a lead"),
        ("0.75 mm², 0.41 m,", "not a lead"),
        ("0.75 mm², 0.42 m, plug, more", "not a lead"),
        ("0.75, 0.43 m", "a number without its unit"),
        ("0.44 m, 0.75 mm²", "'m' is a unit of length"),
        ("99 mm², 0.45 m", "cannot be right here"),
        ("AWG 77, 0.46 m", "no wire gauge '77'"),
        (0.47, "not a value with a unit"),
        (["0.75 mm²"], "not a value with a unit"),
    ],
)
def test_lead_that_cannot_be_read(value, says):
    context = _context(LEAD, value)
    assert says in context["says"]
    assert context["expected"]


def test_lead_that_nobody_stated():
    assert not Lead().stated
    assert str(Lead()) == "0.5 mm² [0.35 to 0.75] (typical), 0.4 m [0.2 to 0.8] (typical)"


def test_level():
    level = LEVEL.validate_python(" 82 dB(A)  at 2.5 m ")
    assert (level.level.likely, level.distance.likely) == (82.0, 2.5)
    assert str(level) == "82 dB(A) at 2.5 m"
    assert LEVEL.validate_python(str(level)).level.likely == 82.0
    assert LEVEL.validate_python(level) is level


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("82 dB(A)", "a level without its distance"),
        ("82 dB(A) at", "a level without its distance"),
        ("", "a level without its distance"),
        ("83 dB at 2", "a number without its unit"),
        ("84 V at 2 m", "'V' is a unit of voltage"),
        ("200 dB at 2 m", "cannot be right here"),
        ("85 dB at 0 m", "cannot be right here"),
        (86, "not a value with a unit"),
        (None, "not a value with a unit"),
    ],
)
def test_level_that_cannot_be_read(value, says):
    assert says in _context(LEVEL, value)["says"]


def test_level_of_a_million_blanks_takes_no_time():
    start = time.perf_counter()
    assert "without its distance" in _context(LEVEL, "1" + " " * 1_000_000 + "x")["says"]
    assert time.perf_counter() - start < 1.0


def test_error_carries_the_parts_of_a_problem():
    error = value_error(Problem("a {brace} here", got="{got}", expected="{e}", hint="{h}"))
    assert error.message() == "a {brace} here"
    assert error.context == {
        "says": "a {brace} here",
        "got": "{got}",
        "expected": "{e}",
        "hint": "{h}",
    }


def test_table_is_closed_and_frozen():
    class Row(Table):
        word: str = ""

    with pytest.raises(ValidationError, match="extra_forbidden"):
        Row.model_validate({"other": 1})
    with pytest.raises(ValidationError, match="frozen"):
        Row(word="a").word = "b"
    assert Row(word="  a ").word == "a"


def test_typical_says_so():
    quantity = typical("1.5 V [0.8 to 2.5]", "voltage")
    assert (quantity.basis, quantity.low, quantity.high) == ("typical", 0.8, 2.5)
