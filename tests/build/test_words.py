"""A battery in a few words: every usual spelling is read, and all that is wrong is told at once."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boomwright.build.power import Battery
from boomwright.build.words import battery_of_words
from boomwright.errors import InputError


@pytest.mark.parametrize(
    ("text", "chemistry", "cells", "hours"),
    [
        ("12 V 9 Ah AGM", "lead-agm", 6, 9.0),
        ("12V 9Ah AGM", "lead-agm", 6, 9.0),
        ("AGM 9 Ah 12 V", "lead-agm", 6, 9.0),
        ("agm, 12 V, 9 Ah", "lead-agm", 6, 9.0),
        ("12 V 7.2 Ah sealed lead acid", "lead-agm", 6, 7.2),
        ("12 V 7.2 Ah lead-acid battery", "lead-agm", 6, 7.2),
        ("12V 7Ah SLA", "lead-agm", 6, 7.0),
        ("6 V 4.5 Ah gel", "lead-agm", 3, 4.5),
        ("24 V 18 Ah VRLA", "lead-agm", 12, 18.0),
        ("12 V 45 Ah flooded lead", "lead-flooded", 6, 45.0),
        ("12 V 45 Ah lead flooded", "lead-flooded", 6, 45.0),
        ("4S 10 Ah LiFePO4", "lifepo4", 4, 10.0),
        ("4s 10 Ah LFP", "lifepo4", 4, 10.0),
        ("12.8 V 10 Ah LiFePO4", "lifepo4", 4, 10.0),
        ("12 V 10 Ah LiFePO4", "lifepo4", 4, 10.0),
        ("3.2V 6Ah lifepo4 pack", "lifepo4", 1, 6.0),
        ("LiFePO4 battery 12.8 V 6 Ah", "lifepo4", 4, 6.0),
        ("11.1 V 2600 mAh Li-ion", "li-ion-nmc", 3, 2.6),
        ("3S2P 5.2 Ah li-ion", "li-ion-nmc", 3, 5.2),
        ("14.8 V 5 Ah lithium-ion", "li-ion-nmc", 4, 5.0),
        ("7.4 V 2.2 Ah NMC", "li-ion-nmc", 2, 2.2),
        ("12 V 2 Ah NiMH", "nimh", 10, 2.0),
        ("9 V 0.5 Ah alkaline", "alkaline", 6, 0.5),
        ("12\u00a0V 9\u00a0Ah AGM", "lead-agm", 6, 9.0),
        ("  12 V   9 Ah   AGM ", "lead-agm", 6, 9.0),
    ],
)
def test_spellings(text, chemistry, cells, hours):
    battery = battery_of_words(text)
    assert (battery.chemistry, battery.cells) == (chemistry, cells)
    assert battery.capacity.likely == pytest.approx(hours * 3600.0)
    assert battery.name == "battery"


def _problems(text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        battery_of_words(text)
    return [str(problem) for problem in caught.value.problems]


def test_first_problem_shows_what_was_read_and_what_would_do():
    head = _problems("12 V AGM")[0]
    assert "'12 V AGM'" in head
    assert "12 V 9 Ah AGM" in head


def test_every_problem_is_told_at_once():
    found = _problems("twelve 0 Ah LiFePo")
    assert len(found) == 6
    told = "\n".join(found[1:])
    for piece in ("'twelve'", "'LiFePo'", "'0Ah'", "chemistry is missing", "amp-hours are missing"):
        assert piece in told


@pytest.mark.parametrize(
    ("text", "piece"),
    [
        ("9 Ah 12 V", "chemistry is missing"),
        ("12 V AGM", "amp-hours are missing"),
        ("9 Ah AGM", "volts or cells are missing"),
        ("", "amp-hours are missing"),
        ("12 V 9 Wh AGM", "'9Wh'"),
        ("12 V 9 Ah lead-acd", "'lead-acid'"),
        ("-12 V 9 Ah AGM", "'-12V'"),
        ("12 V 0 Ah AGM", "'0Ah'"),
        ("12 V 9 Ah lifpo4", "'lifepo4'"),
    ],
)
def test_what_is_wrong_is_named(text, piece):
    assert any(piece in problem for problem in _problems(text)[1:])


def test_volts_that_no_number_of_cells_makes():
    found = "\n".join(_problems("5 V 9 Ah LiFePO4"))
    assert re.search(r"no whole number of lifepo4 cells makes 5 V\. 2 cells make 6\.4 V", found)


@pytest.mark.parametrize(
    ("text", "piece"),
    [
        ("0S 10 Ah LiFePO4", "0"),
        ("99S 10 Ah LiFePO4", "99"),
        ("1000 V 9 Ah AGM", "500"),
        ("12 V 9 mAh AGM", "9"),
        ("12 V 1e9 Ah AGM", "1e9"),
    ],
)
def test_values_beyond_sense_are_told_as_problems(text, piece):
    assert any(piece in problem for problem in _problems(text)[1:])


@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("12 V 4S LiFePO4 AGM 9 Ah", ("agm", "lifepo4")),
        ("12 V 7S li-ion 5 Ah", ("12", "7")),
        ("12 V 24 V 9 Ah AGM", ("12", "24")),
        ("12 V 5 Ah 9 Ah AGM", ("5", "9")),
    ],
)
def test_words_that_contradict_each_other_are_told(text, pieces):
    told = "\n".join(_problems(text)[1:]).lower()
    for piece in pieces:
        assert piece in told


def test_cells_and_volts_that_agree_are_fine():
    assert battery_of_words("12.8 V 4S 10 Ah LiFePO4").cells == 4
    assert battery_of_words("12 V 4S 10 Ah LiFePO4").cells == 4


WORDS = st.one_of(
    st.sampled_from(
        ["12", "V", "Ah", "9", "AGM", "4S", "mAh", "S", "P", "lead", "acid", "e9", "-", "."]
    ),
    st.text(max_size=6),
    st.from_regex(r"\A[0-9.eE+-]{1,6}(V|Ah|mAh|S|v|ah|kV)\Z"),
)


@settings(max_examples=400, deadline=None)
@given(st.lists(WORDS, max_size=6), st.sampled_from(["", " AGM 12 V", " LiFePO4 9 Ah"]))
def test_nothing_but_a_battery_or_an_input_error_comes_of_any_text(words, ending):
    try:
        battery = battery_of_words(" ".join(words) + ending)
    except InputError:
        return
    assert isinstance(battery, Battery)
    assert battery.capacity.likely > 0.0
