"""Rules on what a charging socket's resistors tell a phone."""

import pytest
from tests.advice.cases import BASE, findings, only, with_


def socket(rail="buck-3a-synchronous", **circuit):
    port = {"lead": "0.75 mm², 0.2 m", "circuit": circuit}
    return with_(BASE, {"rail": {"part": rail}, "usb": port})


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def test_joined_pins_on_a_stout_rail_are_no_finding():
    text = socket(kind="joined")
    for rule in ("usb-not-understood", "usb-promises-too-much", "usb-data-pins"):
        assert findings(rule, text) == []
        assert findings(rule, BASE) == []


@pytest.mark.parametrize(
    ("circuit", "fragment", "do"),
    [
        ({"kind": "joined", "link_resistance": "1 kΩ"}, "1 kΩ lies between", "bridge of wire"),
        ({"kind": "type-c", "pull_up": "4.7 kΩ"}, "2.6 V on its CC pin", "22 kΩ"),
        (
            {
                "kind": "divider",
                "plus_top": "10 kΩ",
                "plus_bottom": "10 kΩ",
                "minus_top": "10 kΩ",
                "minus_bottom": "10 kΩ",
            },
            "D+ has 2.5 V and D- 2.5 V",
            "2.7 V",
        ),
    ],
)
def test_resistors_that_no_phone_understands(circuit, fragment, do):
    found = only("usb-not-understood", socket(**circuit))
    assert (found.level, found.where) == ("mind", "usb")
    assert fragment in found.says
    assert do in found.do
    assert findings("usb-data-pins", socket(**circuit)) == []


def test_a_socket_that_promises_more_than_its_rail_gives():
    text = socket("buck-1a-small", kind="type-c", pull_up="10 kΩ")
    found = only("usb-promises-too-much", text)
    assert (found.level, found.where) == ("mind", "usb")
    assert figures(found)["told to the phone"] == 3.0
    assert 0.03 < figures(found)["drawn by others on the rail"] < 0.1
    assert figures(found)["the rail gives for hours"] < 1.5
    less = socket("buck-3a-synchronous", kind="type-c", pull_up="56 kΩ")
    assert findings("usb-promises-too-much", less) == []


def test_a_socket_that_only_its_neighbours_make_too_much():
    text = with_(socket(kind="joined"), {"receiver": {"current": "0.7 A (measured)"}})
    found = only("usb-promises-too-much", text)
    assert figures(found)["told to the phone"] < figures(found)["the rail gives for hours"]
