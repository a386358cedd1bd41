"""Rules on the box."""

import pytest
from tests.advice.cases import BASE, example, findings, only, with_

FIRST = example("first-attempt")


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def cabinet(**values):
    return with_(BASE, {"cabinet": values})


SMALL = with_(
    BASE,
    {"driver": {"volume_taken": "0.4 L (standard)"}},
    ["cabinet"],
) + ('\n[cabinet]\nvolume = "3 L (standard)"\nelectronics_apart = true\nleaks = "tight"\n')


def test_box_too_small():
    found = only("box-too-small", SMALL)
    assert (found.level, found.where) == ("mind", "driver")
    # qts 0.632; 1.1 L each against vas 8 L: 0.632 sqrt(1 + 8/1.1) = 1.82
    assert figures(found)["Q in the box"] == pytest.approx(1.82, rel=0.01)
    assert "Q of 1.8" in found.says
    assert "2.2 L" in found.says


def test_air_asked_for_tames_the_box():
    wanted = figures(only("box-too-small", SMALL))["air wanted"]
    # Two drivers of 0.4 L come on top of the air.
    larger = SMALL.replace("3 L (standard)", f"{wanted * 1e3 + 0.8:.1f} L (standard)")
    assert findings("box-too-small", larger) == []


def test_driver_that_no_box_tames():
    text = with_(BASE, {"driver": {"qes": "2.2 (measured)"}})
    found = only("box-too-small", text)
    assert "No closed box" in found.do
    assert "1.4" in found.do


def test_first_attempt_is_boomy():
    assert "Q of 2.1" in only("box-too-small", FIRST).says


def test_box_of_good_size():
    assert findings("box-too-small", BASE) == []
    assert findings("box-too-small", cabinet(type="vented")) == []


def test_no_cabinet():
    found = only("cabinet-missing", with_(BASE, remove=["cabinet"]))
    assert (found.level, found.where) == ("mind", "cabinet")
    assert "2 drivers" in found.says
    assert findings("cabinet-missing", BASE) == []


def test_leaky_box():
    found = only("box-leaks", cabinet(leaks="leaky"))
    assert (found.level, found.where) == ("mind", "cabinet")
    assert "13 L" in found.says


@pytest.mark.parametrize("leaks", ["tight", "unknown"])
def test_box_not_known_to_leak_is_not_scolded(leaks):
    assert findings("box-leaks", cabinet(leaks=leaks)) == []


def test_leaks_of_a_vented_box_are_not_judged():
    assert findings("box-leaks", cabinet(type="vented", leaks="leaky")) == []


@pytest.mark.parametrize(
    ("taken", "level", "words"), [("10 L", "mind", "78 %"), ("20 L", "stop", "all of the")]
)
def test_things_do_not_fit(taken, level, words):
    found = only("things-do-not-fit", cabinet(taken=f"{taken} (standard)"))
    assert (found.level, found.where) == (level, "cabinet")
    assert words in found.says


def test_things_fit():
    assert findings("things-do-not-fit", BASE) == []
    assert findings("things-do-not-fit", cabinet(taken="7 L (standard)")) == []
    assert findings("things-do-not-fit", with_(BASE, remove=["cabinet"])) == []


@pytest.mark.parametrize("kind", ["vented", "open"])
def test_bass_of_other_boxes_is_not_worked_out(kind):
    found = only("bass-not-worked-out", cabinet(type=kind))
    assert (found.level, found.where) == ("mind", "driver")
    assert "100 Hz" in found.says
    assert ("an open box" if kind == "open" else "a vented box") in found.says


def test_bass_end_that_the_builder_gave():
    text = with_(cabinet(type="vented"), {"driver": {"low_end": "55 Hz (measured)"}})
    assert findings("bass-not-worked-out", text) == []
    assert findings("bass-not-worked-out", BASE) == []
