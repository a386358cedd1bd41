"""The table of units: every spelling has its size, and no spelling means two things."""

from __future__ import annotations

import pytest

from boomwright.build.quantities import parse_quantity
from boomwright.build.units import KINDS, awg_number


@pytest.mark.parametrize("name", KINDS)
def test_example_of_each_kind_is_a_value_of_that_kind(name):
    quantity = parse_quantity(KINDS[name].example, name)
    assert quantity.kind == name
    assert quantity.likely > 0.0


@pytest.mark.parametrize(
    ("kind", "unit", "size"),
    [
        ("charge", "Ah", 3600.0),
        ("charge", "mAh", 3.6),
        ("energy", "Wh", 3600.0),
        ("energy", "kWh", 3.6e6),
        ("length", "in", 0.0254),
        ("length", "ft", 0.3048),
        ("area", "mm²", 1e-6),
        ("cone", "cm2", 1e-4),
        ("volume", "L", 1e-3),
        ("volume", "ft³", 0.028316846592),
        ("mass", "lb", 0.45359237),
        ("time", "week", 604800.0),
        ("time", "months", 2629800.0),
        ("capacitance", "pF", 1e-12),
        ("resistance", "Mohm", 1e6),
        ("share", "%", 0.01),
        ("frequency", "kHz", 1e3),
        ("inductance", "uH", 1e-6),
    ],
)
def test_size_of_a_unit(kind, unit, size):
    assert KINDS[kind].units[unit] == pytest.approx(size, rel=1e-12)


def test_unit_that_is_printed_can_be_read():
    for kind in KINDS.values():
        assert not kind.shown or kind.shown in kind.units


def test_table_cannot_be_changed():
    with pytest.raises(TypeError):
        KINDS["voltage"].units["Volt"] = 2.0  # type: ignore[index]


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("18", 18),
        (" 7 ", 7),
        ("40", 40),
        ("0", 0),
        ("00", -1),
        ("0000", -3),
        ("1/0", 0),
        ("2/0", -1),
        ("4/0", -3),
    ],
)
def test_gauge_number(text, number):
    assert awg_number(text) == number


@pytest.mark.parametrize(
    "text", ["", "41", "5/0", "00000", "-1", "1.5", "x", "/0", "²", "²/0", "018", "1/1", "9" * 100]
)
def test_no_gauge(text):
    assert awg_number(text) is None
