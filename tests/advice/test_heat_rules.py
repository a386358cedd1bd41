"""Rules on heat: chip, box, touch, plastic."""

import pytest
from tests.advice.cases import BASE, example, findings, only, with_

FIRST = example("first-attempt")
LITHIUM = example("allotment-day")


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def board(**values):
    return with_(BASE, {"amplifier": values})


def outside(text, temperature):
    return with_(text, {"want": {"outside": f"{temperature} (standard)"}})


def test_chip_over_its_limit():
    found = only("amplifier-cooks", board(sink="40 K/W (standard)"))
    assert (found.level, found.where) == ("stop", "amplifier")
    assert "150 °C" in found.says
    # The chip makes 5 W: 20 °C and 5 W over 42.5 K/W.
    assert figures(found)["junction, likely"] - 273.15 == pytest.approx(235.0, rel=0.03)
    mended = board(sink=found.fix.changes[0].value)
    assert findings("amplifier-cooks", mended) == []


def test_chip_close_to_its_limit():
    found = only("amplifier-cooks", board(sink="21.5 K/W (standard)"))
    assert found.level == "mind"
    assert 408.0 < figures(found)["junction, likely"] < 423.15


def test_chip_over_its_limit_in_the_worst_case_only():
    found = only("amplifier-cooks", board(sink="16 K/W [10 to 40]"))
    assert found.level == "mind"
    assert "worst case" in found.says


def test_chip_that_no_sink_saves():
    text = board(junction_case="55 K/W (standard)", junction_max="100 °C (standard)")
    found = only("amplifier-cooks", text)
    assert found.fix is None
    assert "No sink is enough" in found.do


def test_cool_chip():
    assert findings("amplifier-cooks", BASE) == []


def test_warm_box():
    found = only("box-hot", FIRST)
    assert (found.level, found.where) == ("mind", "cabinet")
    assert "60 °C" in found.says
    assert "Begin with rail" in found.do


def test_lithium_in_a_hot_box():
    found = only("box-hot", outside(LITHIUM, "60 °C"))
    assert (found.level, found.where) == ("stop", "cabinet")
    assert "fire" in found.why
    assert figures(found)["air in the box"] > 333.15


@pytest.mark.parametrize(("temperature", "count"), [("46 °C", 0), ("51 °C", 1)])
def test_box_at_the_edge_of_warm(temperature, count):
    found = findings("box-hot", outside(BASE, temperature))
    assert len(found) == count
    assert all(item.level == "mind" for item in found)


def test_lead_in_a_hot_box_is_no_fire():
    assert only("box-hot", outside(BASE, "60 °C")).level == "mind"


def test_box_without_a_battery_may_be_warmer():
    text = with_(
        BASE,
        {"supply": {"voltage": "12 V", "current_limit": "5 A"}},
        ["battery", "charger", "cutoff"],
    )
    assert findings("box-hot", outside(text, "51 °C")) == []
    assert only("box-hot", outside(text, "60 °C")).level == "mind"


@pytest.mark.parametrize(
    ("sink", "level"), [("9 K/W", "mind"), ("12 K/W", "mind"), ("15 K/W", "stop")]
)
def test_sink_too_hot_to_touch(sink, level):
    found = only("touch-hot", board(sink=f"{sink} (standard)"))
    assert (found.level, found.where) == (level, "amplifier")
    assert "60 °C" in found.says
    mended = board(sink=found.fix.changes[0].value)
    assert findings("touch-hot", mended) == []


def test_sink_cool_enough_or_out_of_reach():
    assert findings("touch-hot", BASE) == []
    assert findings("touch-hot", board(sink="12 K/W (standard)", sink_outside=False)) == []


def test_plastic_box_that_softens():
    found = only("plastic-soft", FIRST)
    assert (found.level, found.where) == ("mind", "cabinet")
    assert "60 °C on" in found.says


def test_cool_plastic_and_hot_wood():
    plastic = with_(BASE, {"cabinet": {"material": "plastic"}})
    assert findings("plastic-soft", plastic) == []
    assert only("plastic-soft", outside(plastic, "60 °C")).level == "mind"
    assert findings("plastic-soft", outside(BASE, "60 °C")) == []
