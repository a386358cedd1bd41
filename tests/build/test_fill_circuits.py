"""A soldered cutoff in a build file: what follows from it, what the file says, what is wrong."""

from __future__ import annotations

import re
import tomllib

import pytest

from boomwright.build.drawer import Drawer, load_drawer
from boomwright.build.fill_circuits import highest_voltage
from boomwright.build.model import Build
from boomwright.build.power import Cutoff
from boomwright.build.read import parse_build
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES
from boomwright.errors import BuildFileError, Problem
from boomwright.outcome.run import run_build

BATTERY = '[battery]\nchemistry = "lead-agm"\ncells = 6\ncapacity = "7 Ah"\n'
REST = """\
[amplifier]
amplifier_class = "D"
topology = "bridge"
supply_min = "8 V"
supply_max = "24 V"
load_min = "4 Ω"
[driver]
impedance = "8 Ω"
"""
ZENER = """\
relay = "relay-12v-270ohm"
zener = "1N4739A"
series_resistor = "3.3 kΩ"
base_resistor = "10 kΩ"
"""
DIVIDER = """\
divider_top = "30 kΩ"
divider_bottom = "8.87 kΩ"
feedback_resistor = "470 kΩ"
"""
MOSFET = """\
mosfet = "p-mosfet-55v-30a"
gate_resistor = "4.7 kΩ"
drive_resistor = "1 kΩ"
"""
RELAY = 'relay = "relay-12v-270ohm"\n'
FED = 'reference_resistor = "2.2 kΩ"\n'
CIRCUITS = {
    "zener-relay": ZENER,
    "zener-relay-emitter": ZENER.replace("1N4739A", "1N4738A") + 'emitter_resistor = "12 Ω"\n',
    "zener-relay-feedback": ZENER + 'feedback_resistor = "33 kΩ"\n',
    "zener-relay-holding": ZENER + 'filter_capacitor = "100 µF"\n',
    "reference-relay": RELAY + DIVIDER,
    "reference-mosfet": MOSFET + DIVIDER,
    "comparator-relay": RELAY + FED + 'drive_resistor = "4.7 kΩ"\n' + DIVIDER,
    "comparator-mosfet": MOSFET + FED + DIVIDER,
}


def build_text(circuit: str, *, cutoff: str = "", source: str = BATTERY) -> str:
    """A build file with a soldered cutoff."""
    return f'name = "Stall"\n{source}[cutoff]\n{cutoff}[cutoff.circuit]\n{circuit}{REST}'


def _build(circuit: str, *, drawer: Drawer | None = None, **more: str) -> Build:
    return parse_build(build_text(circuit, **more), file="stall.toml", drawer=drawer)


def _cutoff(circuit: str, *, drawer: Drawer | None = None, **more: str) -> Cutoff:
    return _build(circuit, drawer=drawer, **more).cutoff[0]


def _problems(circuit: str, *, drawer: Drawer | None = None, **more: str) -> tuple[Problem, ...]:
    with pytest.raises(BuildFileError) as caught:
        _build(circuit, drawer=drawer, **more)
    text = build_text(circuit, **more)
    for problem in caught.value.problems:
        assert problem.file == "stall.toml"
        assert problem.line is not None
        assert 1 <= problem.line <= text.count("\n")
        assert ".." not in str(problem).replace("...", "")
    return caught.value.problems


def _only(circuit: str, **more: str) -> Problem:
    (problem,) = _problems(circuit, **more)
    return problem


def _line(text: str, start: str) -> int:
    return 1 + next(n for n, line in enumerate(text.splitlines()) if line.startswith(start))


def zener_relay(*changes: tuple[str, str]) -> str:
    """The plain circuit with pieces of its text changed."""
    text = 'family = "zener-relay"\n' + ZENER
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


@pytest.mark.parametrize("family", CIRCUITS)
def test_every_family_is_read_and_run(family):
    build = _build(f'family = "{family}"\n' + CIRCUITS[family])
    cutoff = build.cutoff[0]
    assert cutoff.circuit is not None
    assert cutoff.circuit.family == family
    assert 8.5 < cutoff.off.low <= cutoff.off.likely <= cutoff.off.high < 12.0
    assert cutoff.off.low < cutoff.off.high
    holding = CUTOFF_FAMILIES[family].holding
    assert cutoff.latching is holding
    if holding:
        assert cutoff.on is None
        assert 0.0 <= cutoff.drain_off.likely < 1e-6
    else:
        assert cutoff.on is not None
        assert cutoff.on.likely > cutoff.off.likely
        assert 1e-6 < cutoff.drain_off.likely < cutoff.drain_on.likely
    assert cutoff.off.basis == "typical"
    assert 1e-4 < cutoff.drain_on.likely < 0.1
    assert 1e-3 < cutoff.resistance.likely < 0.2
    assert (cutoff.delay.likely > 0.0) is ("filter" in CIRCUITS[family])
    outcome = run_build(build, versions=0)
    assert outcome is not None


def test_all_families_are_covered():
    assert set(CIRCUITS) == set(CUTOFF_FAMILIES)


@pytest.mark.parametrize("family", ["zener-relay", "comparator-mosfet"])
def test_rating_is_that_of_what_carries_the_current(family):
    cutoff = _cutoff(f'family = "{family}"\n' + CIRCUITS[family])
    drawer = load_drawer()
    expected = (
        drawer.part("relay", "relay-12v-270ohm").contact_current
        if family == "zener-relay"
        else drawer.part("transistor", "p-mosfet-55v-30a").current_max
    )
    assert (cutoff.rating.low, cutoff.rating.likely, cutoff.rating.high) == (
        *(expected.low, expected.likely, expected.high),
    )


def test_values_of_the_file_win_over_what_is_worked_out():
    written = {
        "off": "11.3 V",
        "on": "12.4 V",
        "delay": "3 s",
        "rating": "4 A",
        "resistance": "55 mΩ",
        "drain_on": "41 mA",
        "drain_off": "0.7 mA",
    }
    lines = "".join(f'{key} = "{value}"\n' for key, value in written.items())
    cutoff = _cutoff(zener_relay(), cutoff=lines + "latching = true\n")
    for key, value in written.items():
        assert getattr(cutoff, key).text == value
    assert cutoff.latching


def test_what_the_file_leaves_out_is_still_worked_out():
    alone, measured = _cutoff(zener_relay()), _cutoff(zener_relay(), cutoff='drain_on = "41 mA"\n')
    assert measured.drain_on.text == "41 mA"
    assert measured.off == alone.off
    assert measured.on == alone.on


def test_file_is_read_the_same_twice():
    assert _cutoff(zener_relay()) == _cutoff(zener_relay())


def test_a_tighter_resistor_narrows_nothing_else_and_a_zener_of_one_per_cent_does():
    wide = _cutoff(zener_relay()).off
    drawer = load_drawer().with_overlay(
        {"zener": {"tight": {**load_drawer().filling("zener", "1N4739A"), "voltage": "9.1 V ±1 %"}}}
    )
    tight = _cutoff(zener_relay(("1N4739A", "tight")), drawer=drawer).off
    assert tight.likely == pytest.approx(wide.likely, rel=1e-6)
    assert tight.high - tight.low < 0.7 * (wide.high - wide.low)


@pytest.mark.parametrize("key", ["relay", "zener", "series_resistor", "base_resistor"])
def test_missing_value_names_its_key(key):
    text = "".join(line for line in zener_relay().splitlines(True) if not line.startswith(key))
    problem = _only(text)
    assert problem.key == f"cutoff.circuit.{key}"
    assert "zener-relay" in problem.says
    assert problem.line == _line(build_text(text), "[cutoff.circuit]")


def test_all_missing_values_at_once():
    found = _problems('family = "comparator-mosfet"\n')
    expected = {
        *("mosfet", "gate_resistor", "drive_resistor", "reference_resistor"),
        *("divider_top", "divider_bottom", "feedback_resistor"),
    }
    assert {problem.key.rpartition(".")[2] for problem in found} == expected


@pytest.mark.parametrize(
    ("key", "wrong", "near"),
    [
        ("relay", "relay-12v-27ohm", "relay-12v-270ohm"),
        ("zener", "1N4739B", "1N4739A"),
        ("transistor", "2N2222", "2N2222A"),
        ("flyback", "1n4007", "1N4007"),
    ],
)
def test_unknown_part_with_the_nearest_name(key, wrong, near):
    lines = [line for line in zener_relay().splitlines(True) if not line.startswith(key)]
    text = "".join(lines) + f'{key} = "{wrong}"\n'
    problem = _only(text)
    assert problem.key == f"cutoff.circuit.{key}"
    assert problem.line == _line(build_text(text), f"{key} =")
    assert problem.got == repr(wrong)
    assert repr(near) in problem.hint
    assert "boomwright drawer" in problem.hint


def test_two_unknown_parts_are_told_together():
    found = _problems(zener_relay(("270ohm", "271ohm"), ("1N4739A", "1N4739Z")))
    assert [problem.key for problem in found] == ["cutoff.circuit.relay", "cutoff.circuit.zener"]


def test_part_that_the_family_does_not_use_is_not_asked_for():
    assert _cutoff(zener_relay() + 'reference = "none-of-mine"\n').off.likely > 9.0


@pytest.mark.parametrize(
    ("family", "key", "wrong", "type_", "wanted"),
    [
        ("zener-relay", "transistor", "2N2907A", "pnp", "npn"),
        ("zener-relay", "transistor", "2N7000", "n-mosfet", "npn"),
        ("reference-mosfet", "mosfet", "n-mosfet-55v-49a", "n-mosfet", "p-mosfet"),
        ("reference-mosfet", "mosfet", "2N2222A", "npn", "p-mosfet"),
    ],
)
def test_wrong_type_of_transistor(family, key, wrong, type_, wanted):
    lines = [line for line in CIRCUITS[family].splitlines(True) if not line.startswith(key)]
    text = f'family = "{family}"\n' + "".join(lines) + f'{key} = "{wrong}"\n'
    problem = _only(text)
    assert problem.key == f"cutoff.circuit.{key}"
    assert problem.got == repr(wrong)
    assert f"of type {type_}" in problem.says
    assert f"of type {wanted}, such as " in problem.expected
    assert problem.line == _line(build_text(text), f"{key} =")


def test_latching_relay_does_not_serve_a_cutoff_that_lets_go_by_itself():
    problem = _only(zener_relay(("relay-12v-270ohm", "relay-12v-latching")))
    assert problem.key == "cutoff.circuit.relay"
    assert "latching" in problem.says


def test_led_is_no_flyback_diode():
    drawer = load_drawer()
    parts = {name: drawer.part("diode", name) for name in drawer.names("diode")}
    led = next(name for name, part in parts.items() if getattr(part, "type", "") == "led")
    problem = _only(zener_relay() + f'flyback = "{led}"\n')
    assert problem.key == "cutoff.circuit.flyback"
    assert problem.got == repr(led)


def test_never_switches_on():
    problem = _only(zener_relay(("1N4739A", "1N4747A")))
    assert problem.key == "cutoff.circuit"
    assert "never switches the load on, not even at 14.7 V" in problem.says
    assert "'zener-relay'" in problem.got
    assert "boomwright design cutoff" in problem.hint


def test_relay_of_a_higher_voltage_never_pulls_in_and_that_is_what_is_said():
    problem = _only(zener_relay(("relay-12v-270ohm", "relay-24v-1k1")))
    assert "never switches the load on" in problem.says


@pytest.mark.parametrize(
    ("written", "piece"),
    [
        ('"1 kV"', "'kV' is a unit of voltage"),
        ("3300", "3300"),
        ('"0 Ω"', "0 Ω"),
        ('"lots"', "'lots'"),
    ],
)
def test_bad_quantity(written, piece):
    text = zener_relay(('"3.3 kΩ"', written))
    problem = _only(text)
    assert problem.key == "cutoff.circuit.series_resistor"
    assert problem.line == _line(build_text(text), "series_resistor")
    assert piece in str(problem)


def test_unknown_key_of_the_table():
    text = zener_relay() + 'bass_resistor = "3.3 kΩ"\n'
    problem = _only(text)
    assert problem.key == "cutoff.circuit.bass_resistor"
    assert problem.line == _line(build_text(text), "bass_resistor")
    assert "'base_resistor'" in problem.hint


def test_unknown_family_with_the_nearest():
    problem = _only(zener_relay(('"zener-relay"', '"zener-rely"')))
    assert problem.key == "cutoff.circuit.family"
    assert "'zener-relay'" in problem.hint


@pytest.mark.parametrize("circuit", ["7", '"zener-relay"', "[]", "true"])
def test_circuit_that_is_no_table(circuit):
    text = f'name = "Stall"\n{BATTERY}[cutoff]\noff = "11 V"\ncircuit = {circuit}\n{REST}'
    with pytest.raises(BuildFileError) as caught:
        parse_build(text, file="stall.toml")
    assert {problem.key for problem in caught.value.problems} == {"cutoff.circuit"}


@pytest.mark.parametrize("cells", ["0", "-6", '"six"', "99", "100000000"])
def test_battery_that_cannot_be_is_told_as_the_batterys_fault_alone(cells):
    problem = _only(zener_relay(), source=BATTERY.replace("cells = 6", f"cells = {cells}"))
    assert problem.key == "battery.cells"


@pytest.mark.parametrize("volts", ["0 V", "-12 V", "12", "1000 V", "12 A"])
def test_supply_that_cannot_be_is_told_as_the_supplys_fault_alone(volts):
    source = f'[supply]\nvoltage = "{volts}"\ncurrent_limit = "5 A"\n'
    problem = _only(zener_relay(), source=source)
    assert problem.key == "supply.voltage"


@pytest.mark.parametrize(
    ("own", "circuit"),
    [
        ('[zener.own]\n{1N4739A}slope = "0 Ω"\n', zener_relay(("1N4739A", "own"))),
        (
            '[relay.own]\n{relay-12v-270ohm}contact_resistance = "0 Ω"\n',
            zener_relay(("relay-12v-270ohm", "own")),
        ),
        ('[transistor.own]\n{p-mosfet-55v-30a}threshold = "10 V"\n', "own-mosfet"),
        ('[transistor.own]\n{p-mosfet-55v-30a}threshold = "2.4 V [1 to 6]"\n', "own-mosfet"),
    ],
    ids=["flat-zener", "ideal-contact", "threshold", "wide-threshold"],
)
def test_own_part_at_the_end_of_its_range_is_read_or_told(own, circuit):
    drawer = load_drawer()
    named = re.search(r"\[(\w+)\.own\]\n\{(.+?)\}", own)
    assert named is not None
    kind, name = named.groups()
    override = tomllib.loads(own.replace("{" + name + "}", ""))[kind]["own"]
    overlay = {kind: {"own": {**drawer.filling(kind, name), **override}}}
    if circuit == "own-mosfet":
        circuit = 'family = "comparator-mosfet"\n' + CIRCUITS["comparator-mosfet"].replace(
            "p-mosfet-55v-30a", "own"
        )
    try:
        cutoff = _cutoff(circuit, drawer=drawer.with_overlay(overlay))
    except BuildFileError as error:
        for problem in error.problems:
            assert problem.key.startswith("cutoff.circuit")
            assert problem.line is not None
    else:
        assert cutoff.off.likely > 5.0


@pytest.mark.parametrize(
    ("kind", "name", "drop", "circuit"),
    [
        ("transistor", "2N2222A", "gain", zener_relay() + 'transistor = "own"\n'),
        ("transistor", "p-mosfet-55v-30a", "threshold", "own-mosfet"),
        ("transistor", "p-mosfet-55v-30a", "on_resistance", "own-mosfet"),
    ],
)
def test_own_transistor_that_lacks_what_the_circuit_needs(kind, name, drop, circuit):
    drawer = load_drawer()
    part = {key: value for key, value in drawer.filling(kind, name).items() if key != drop}
    key = "transistor"
    if circuit == "own-mosfet":
        key = "mosfet"
        circuit = 'family = "comparator-mosfet"\n' + CIRCUITS["comparator-mosfet"].replace(
            name, "own"
        )
    (problem,) = _problems(circuit, drawer=drawer.with_overlay({kind: {"own": part}}))
    assert problem.key == f"cutoff.circuit.{key}"
    assert problem.got == "'own'"
    assert drop.replace("_", " ") in problem.says


def test_own_part_that_is_wrong_itself_is_told_and_does_not_crash():
    drawer = load_drawer()
    zener = {**drawer.filling("zener", "1N4739A"), "voltage": "9.1 A"}
    found = _problems(
        zener_relay(("1N4739A", "own")), drawer=drawer.with_overlay({"zener": {"own": zener}})
    )
    assert found[0].key == "cutoff.circuit.zener"


def test_what_is_worked_out_beyond_the_range_of_its_key_is_told_at_the_circuit():
    # A hungry coil: the drain that follows is no text of the file, so no line of it can be wrong.
    drawer = load_drawer()
    relay = {
        **drawer.filling("relay", "relay-12v-270ohm"),
        "coil_voltage": "60 V",
        "coil_resistance": "5 Ω",
        "operate": "20 %",
        "release": "2 %",
    }
    source = BATTERY.replace("cells = 6", "cells = 30")
    found = _problems(
        zener_relay(("relay-12v-270ohm", "own"), ("3.3 kΩ", "330 Ω")),
        drawer=drawer.with_overlay({"relay": {"own": relay}}),
        source=source,
    )
    assert all(problem.key.startswith("cutoff.circuit") for problem in found)


def test_highest_voltage_by_what_the_file_tells():
    assert highest_voltage({"battery": {"chemistry": "lead-agm", "cells": 6}}) == pytest.approx(
        14.7
    )
    assert highest_voltage({"battery": {"chemistry": "lifepo4", "cells": 4}}) == pytest.approx(14.6)
    assert highest_voltage({"battery": {"chemistry": "li-ion-nmc", "cells": 3}}) == pytest.approx(
        12.6
    )
    assert highest_voltage({"supply": {"voltage": "13.8 V [13 to 14.2]"}}) == pytest.approx(14.2)
    assert highest_voltage({"supply": {"voltage": "nonsense"}}) == 15.0
    assert highest_voltage({"battery": {"chemistry": "unknown", "cells": 6}}) == 15.0
    assert highest_voltage({}) == 15.0


def test_two_cutoffs_each_have_their_own_values():
    text = build_text(zener_relay()).replace("[cutoff]", '[[cutoff]]\nname = "first"')
    text = text.replace(REST, "")
    second = zener_relay(("1N4739A", "1N4738A"))
    text += f'[[cutoff]]\nname = "second"\n[cutoff.circuit]\n{second}{REST}'
    first, other = parse_build(text).cutoff
    assert first.off.likely - other.off.likely == pytest.approx(0.9, abs=0.1)  # V, 9.1 against 8.2


def test_circuit_of_the_second_of_two_names_its_own_line():
    text = (
        build_text(zener_relay())
        .replace("[cutoff]", '[[cutoff]]\nname = "first"')
        .replace(REST, "")
    )
    second = zener_relay(("1N4739A", "1N4739Q"))
    text += f'[[cutoff]]\nname = "second"\n[cutoff.circuit]\n{second}{REST}'
    with pytest.raises(BuildFileError) as caught:
        parse_build(text)
    (problem,) = caught.value.problems
    assert problem.line == 1 + text[: text.index("1N4739Q")].count("\n")
