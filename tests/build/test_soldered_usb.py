"""A charging socket's terminations, read from a build file and worked out."""

import pytest
from tests.build.readings import SHORT, problems_of

from boomwright.build.circuits import UsbCircuit
from boomwright.build.drawer import load_drawer
from boomwright.build.read import parse_build
from boomwright.build.soldered_usb import what_it_tells
from boomwright.design.usb.design import design_usb

DRAWER = load_drawer()
DIVIDER = {
    "kind": "divider",
    "plus_top": "75 kΩ",
    "plus_bottom": "51 kΩ",
    "minus_top": "43 kΩ",
    "minus_bottom": "51 kΩ",
}


def text_of(circuit: dict[str, str], more: str = "") -> str:
    lines = "".join(f'{key} = "{value}"\n' for key, value in circuit.items())
    return f"{SHORT}[usb]\n{more}[usb.circuit]\n{lines}"


def port(circuit: dict[str, str], more: str = ""):
    return parse_build(text_of(circuit, more)).usb[0]


@pytest.mark.parametrize(
    ("circuit", "pins", "told", "drawn"),
    [
        ({"kind": "joined"}, "shorted", 1.5, 1.0),
        ({"kind": "joined", "link_resistance": "180 Ω"}, "shorted", 1.5, 1.0),
        ({"kind": "joined", "link_resistance": "220 Ω"}, "open", 0.0, 0.4),
        (DIVIDER, "divider", 1.0, 0.95),
        ({**DIVIDER, "plus_top": "43 kΩ", "minus_top": "75 kΩ"}, "divider", 2.1, 1.6),
        ({**DIVIDER, "plus_top": "43 kΩ"}, "divider", 2.4, 1.7),
        ({**DIVIDER, "plus_top": "10 kΩ"}, "open", 0.0, 0.4),
        ({"kind": "type-c", "pull_up": "56 kΩ"}, "negotiated", 0.5, 0.4),
        ({"kind": "type-c", "pull_up": "22 kΩ"}, "negotiated", 1.5, 1.3),
        ({"kind": "type-c", "pull_up": "10 kΩ"}, "negotiated", 3.0, 2.0),
        ({"kind": "type-c", "pull_up": "4.7 kΩ"}, "open", 0.0, 0.4),
        ({"kind": "type-c", "pull_up": "180 kΩ"}, "open", 0.0, 0.4),
    ],
)
def test_what_a_phone_understands(circuit, pins, told, drawn):
    assert what_it_tells(UsbCircuit.model_validate(circuit)).current == told
    found = port(circuit)
    assert found.data_pins == pins
    assert found.current.likely == drawn
    assert found.current.high <= max(told, 0.5)


@pytest.mark.parametrize(
    ("kind", "current"),
    [("divider", 1.0), ("divider", 2.1), ("type-c", 0.5), ("type-c", 1.5), ("type-c", 3.0)],
)
def test_what_a_design_solders_is_understood(kind, current):
    netlist = design_usb(kind=kind, current=current, rail_current=4.0).netlist
    names = ("plus_top", "plus_bottom", "minus_top", "minus_bottom")
    if kind == "type-c":
        names = ("pull_up",)
    circuit = {"kind": kind}
    for index, name in enumerate(names):
        circuit[name] = f"{netlist.part(f'R{index + 1}').resistance:g} Ω"
    assert what_it_tells(UsbCircuit.model_validate(circuit)).current == current


def test_what_the_file_says_wins_and_a_drawer_part_gives_way():
    found = port(
        {"kind": "type-c", "pull_up": "10 kΩ"},
        'part = "usb-a-open"\ncurrent = "0.8 A (measured)"\n',
    )
    assert found.current.likely == 0.8
    assert found.data_pins == "negotiated"


@pytest.mark.parametrize(
    ("circuit", "line", "key", "fragment"),
    [
        ({"kind": "joint"}, 16, "kind", "Did you mean 'joined'?"),
        ({"link_resistance": "1 Ω"}, 15, "kind", "missing"),
        ({"kind": "type-c"}, 15, "pull_up", "CC pin"),
        ({k: v for k, v in DIVIDER.items() if k != "plus_bottom"}, 15, "plus_bottom", "D+"),
        ({"kind": "joined", "link_resistance": "1 V"}, 17, "link_resistance", "voltage"),
    ],
)
def test_every_mistake_has_its_line_and_key(circuit, line, key, fragment):
    (found,) = problems_of(text_of(circuit), DRAWER)
    assert (found.line, found.key) == (line, f"usb.circuit.{key}")
    assert fragment in str(found)
