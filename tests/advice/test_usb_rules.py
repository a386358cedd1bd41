"""Rules on the charging port."""

import pytest
from tests.advice.cases import BASE, example, findings, only, with_

FIRST = example("first-attempt")
PORT = with_(
    BASE,
    {
        "usb": {
            "part": "usb-a-shorted",
            "current": "1 A (standard)",
            "lead": "0.75 mm², 0.2 m",
        },
        "rail": {"part": "buck-3a-synchronous"},
    },
)


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def port(**values):
    return with_(PORT, {"usb": values})


def test_too_many_volts_at_the_plug():
    found = only("usb-voltage", with_(port(fed_by="rail"), {"rail": {"voltage": "6 V (standard)"}}))
    assert (found.level, found.where) == ("stop", "usb")
    assert "6 V" in found.says
    assert found.fix.changes[0].value == "5.1 V"


def test_port_straight_on_the_battery():
    found = only("usb-voltage", port(fed_by="cutoff"))
    assert found.level == "stop"
    assert "12.9 V" in found.says


@pytest.mark.parametrize(("lead", "level"), [("AWG 26, 1.5 m", "mind"), ("AWG 28, 2 m", "stop")])
def test_thin_lead_starves_the_phone(lead, level):
    found = only("usb-voltage", port(lead=lead))
    assert (found.level, found.where) == (level, "usb")
    assert "At 1 A the plug has 4." in found.says
    mended = port(lead=found.fix.changes[0].value)
    assert findings("usb-voltage", mended) == []


def test_good_volts_at_the_plug():
    assert findings("usb-voltage", PORT) == []
    assert findings("usb-voltage", BASE) == []


def test_open_data_pins():
    found = only("usb-data-pins", FIRST)
    assert (found.level, found.where) == ("mind", "usb")
    assert "500 mA" in found.says
    assert "1 A is counted on" in found.says
    assert findings("usb-data-pins", port(data_pins=found.fix.changes[0].value)) == []


def test_more_promised_than_joined_pins_offer():
    found = only("usb-current-promise", port(current="2 A (standard)"))
    assert (found.level, found.where) == ("mind", "usb")
    assert "2 A is counted on" in found.says
    assert findings("usb-current-promise", port(current="1.5 A (standard)")) == []
    text = port(current="2 A (standard)", data_pins="negotiated")
    assert findings("usb-current-promise", text) == []


def test_phone_eats_hours_that_are_wanted():
    text = with_(PORT, {"want": {"hours": "14 h", "phone": True}})
    found = only("usb-eats-hours", text)
    assert (found.level, found.where) == ("mind", "usb")
    assert "14 h are wanted" in found.says
    values = figures(found)
    assert values["hours with a phone"] < 14 * 3600 < values["hours without a phone"]
    assert values["share of the run lost"] > 0.35


def test_phone_that_leaves_hours_enough():
    assert findings("usb-eats-hours", with_(PORT, {"want": {"hours": "4 h"}})) == []
    assert findings("usb-eats-hours", example("rowing-launch")) == []
    assert findings("usb-eats-hours", BASE) == []


def test_small_loss_nobody_planned_for_is_not_scolded():
    text = with_(
        PORT, {"want": {"hours": "18 h", "phone": False}, "usb": {"current": "30 mA (standard)"}}
    )
    assert findings("usb-eats-hours", text) == []


def test_build_that_never_starts_or_runs_for_ever_has_no_hours_to_lose():
    never = with_(PORT, {"want": {"phone": True}, "amplifier": {"supply_min": "20 V (standard)"}})
    assert findings("usb-eats-hours", never) == []
    mains = with_(
        PORT,
        {"want": {"phone": True}, "supply": {"voltage": "12 V", "current_limit": "5 A"}},
        ["battery", "charger", "cutoff"],
    )
    assert findings("usb-eats-hours", mains) == []
    assert findings("usb-not-behind-cutoff", mains) == []


BYPASS = with_(
    PORT,
    {
        "rail": [
            {"name": "quiet", "part": "buck-1a-small"},
            {"name": "phone", "part": "buck-3a-synchronous", "fed_by": "switch"},
        ],
        "receiver": {"fed_by": "quiet"},
        "usb": {"fed_by": "phone"},
    },
)


def test_port_ahead_of_the_cutoff():
    found = only("usb-not-behind-cutoff", BYPASS)
    assert (found.level, found.where) == ("stop", "usb")
    # The floor of six lead cells.
    assert "9.9 V" in found.says
    (change,) = found.fix.changes
    assert (change.part, change.key, change.value) == ("phone", "fed_by", "cutoff")


def test_port_ahead_of_the_cutoff_with_a_protection_board():
    text = with_(BYPASS, {"battery": {"protection_voltage": "10.4 V"}})
    assert only("usb-not-behind-cutoff", text).level == "mind"


def test_port_behind_the_cutoff():
    assert findings("usb-not-behind-cutoff", PORT) == []
    assert findings("usb-not-behind-cutoff", FIRST) == []
