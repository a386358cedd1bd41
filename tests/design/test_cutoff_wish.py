"""Wishes for a cutoff: what is usual, what cannot be, and the nearest that can."""

import re

import pytest

from boomwright.build.words import battery_of_words
from boomwright.design.cutoff.wish import cutoff_wish
from boomwright.errors import InputError
from boomwright.physics.chemistry import load_chemistries

AGM = battery_of_words("12 V 9 Ah AGM")


def refused(**wanted):
    with pytest.raises(InputError) as caught:
        cutoff_wish(AGM, **wanted)
    return {problem.key: problem for problem in caught.value.problems}


def volts_in(text):
    return float(re.search(r"([\d.]+) V", text)[1])


@pytest.mark.parametrize(
    ("words", "off", "on"),
    [
        ("12 V 9 Ah AGM", 11.4, 12.6),
        ("24 V 12 Ah AGM", 22.8, 25.2),
        ("4S 10 Ah LiFePO4", 12.0, 13.0),
        ("3S 5 Ah Li-ion", 9.6, 11.1),
    ],
)
def test_without_a_wish_the_usual_for_the_chemistry(words, off, on):
    wish = cutoff_wish(battery_of_words(words))
    assert (wish.off, wish.on) == (pytest.approx(off), pytest.approx(on))


def test_wish_knows_its_battery():
    wish = cutoff_wish(AGM, load_current=0.7)
    facts = load_chemistries()["lead-agm"]
    assert wish.rested_full == pytest.approx(6 * facts.ocv_table[-1])
    assert wish.floor == pytest.approx(6 * facts.voltage_floor)
    assert wish.highest == pytest.approx(6 * facts.voltage_full_charge)
    assert wish.peak_current == pytest.approx(2.1)
    assert wish.floor < wish.off < wish.on < wish.rested_full < wish.highest


def test_off_alone_keeps_the_usual_gap_as_far_as_there_is_room():
    assert cutoff_wish(AGM, off=11.0).on == pytest.approx(12.2)
    wish = cutoff_wish(AGM, off=12.3)
    assert 12.3 < wish.on < wish.rested_full


def test_on_below_off():
    problem = refused(off=11.5, on=11.2)["on"]
    assert "above where it lets go" in problem.says
    assert "11.2 V" in problem.got
    assert "11.5 V" in problem.got
    nearest = volts_in(problem.hint)
    assert cutoff_wish(AGM, off=11.5, on=nearest).on == nearest


def test_on_above_the_full_battery():
    problem = refused(off=11.5, on=13.4)["on"]
    assert "stay open for ever" in problem.says
    assert problem.got == "13.4 V"
    nearest = volts_in(problem.hint)
    assert cutoff_wish(AGM, off=11.5, on=nearest).on == nearest


def test_off_above_the_full_battery():
    problem = refused(off=13.2, on=13.5)["off"]
    assert "would never stay on" in problem.says
    assert problem.got == "13.2 V"
    assert volts_in(problem.expected) == pytest.approx(12.87, abs=0.01)  # V, as it is shown
    assert volts_in(problem.hint) == pytest.approx(11.4)


def test_off_below_ruin():
    problem = refused(off=8.7)["off"]
    assert "ruined" in problem.says
    least = volts_in(problem.expected)
    assert least == pytest.approx(9.9)
    assert cutoff_wish(AGM, off=least).off == least


@pytest.mark.parametrize("amps", [0.0, -0.4, float("nan")])
def test_load_must_flow(amps):
    assert refused(load_current=amps)["load"].expected == "above 0"


def test_everything_wrong_is_said_at_once():
    assert set(refused(off=8.7, on=14.1, load_current=0.0)) == {"off", "on", "load"}
