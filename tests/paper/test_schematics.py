"""A drawing must show the circuit that was solved, and nothing else: read back from its SVG."""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest

from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, CutoffValues, cutoff_netlist
from boomwright.circuit.blocks.ladder import LadderValues, ladder_netlist
from boomwright.circuit.blocks.mute import MuteValues, mute_netlist
from boomwright.circuit.blocks.polarity import (
    PolarityValues,
    fitted_diode,
    fitted_mosfet,
    polarity_netlist,
)
from boomwright.circuit.blocks.regulator import RegulatorValues, regulator_netlist
from boomwright.circuit.blocks.summing import PadValues, SumValues, pad_netlist, sum_netlist
from boomwright.circuit.blocks.usb import UsbValues, usb_netlist
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Comparator,
    Diode,
    Inductor,
    Mosfet,
    Part,
    Regulator,
    Relay,
    Resistor,
    ShuntReference,
    VoltageSource,
    Zener,
)
from boomwright.errors import InputError
from boomwright.paper.look import DARK, LIGHT, LOOKS
from boomwright.paper.schematic import SCHEMATIC_KINDS, Label, schematic_svg
from boomwright.paper.schematics.checks import (
    drawn_nets,
    drawn_pins,
    drawn_wires,
    line_faults,
    text_boxes,
    text_faults,
)
from boomwright.paper.schematics.nets import netlist_nets

SVG = "{http://www.w3.org/2000/svg}"

NPN = Bipolar(name="Q", collector="", base="", emitter="")
DIODE = Diode(name="D", anode="", cathode="")
REFERENCE = ShuntReference(name="U", cathode="", reference="", anode="")
COMPARATOR = Comparator(name="U", plus="", minus="", output="", ground="")
RELAY = Relay(name="K", coil_a="", coil_b="", coil_resistance=270.0, operate=0.03, release=0.0098)

CUTOFF = CutoffValues(
    relay=RELAY,
    zener=Zener(name="D", anode="", cathode="", voltage=9.1, test_current=0.028),
    transistor=NPN,
    mosfet=Mosfet(name="Q", drain="", gate="", source="", polarity="p"),
    reference=REFERENCE,
    comparator=COMPARATOR,
    flyback=DIODE,
    series_resistor=4700.0,
    base_resistor=10.1e3,
    emitter_resistor=33.0,
    feedback_resistor=220e3,
    divider_top=33.2e3,
    divider_bottom=10.2e3,
    gate_resistor=100e3,
    drive_resistor=1500.0,
    reference_resistor=3300.0,
    filter_capacitor=100e-6,
)


def _cutoff(family: str) -> Netlist:
    emitter = CUTOFF.emitter_resistor if family == "zener-relay-emitter" else None
    return cutoff_netlist(family, replace(CUTOFF, emitter_resistor=emitter))


def _ladder(steps: int, trimmer: float | None = None) -> Netlist:
    values = LadderValues(
        reference=REFERENCE,
        comparator=COMPARATOR,
        leds=(replace(DIODE, kind="led"),) * steps,
        led_resistors=(3.3e3,) * steps,
        chain=(10e3,) * (steps + 1),
        divider_top=90e3,
        divider_bottom=11e3,
        trimmer=trimmer,
        filter_capacitor=47e-6,
        reference_resistor=2.2e3,
    )
    return ladder_netlist(values)


def _polarity(kind: str) -> Netlist:
    values = PolarityValues(
        diode=fitted_diode(0.48, current=3.0, kind="schottky"),
        mosfet=fitted_mosfet(0.05, threshold=3.0, drive=10.0),
        body_diode=DIODE,
        gate_resistor=100e3,
        gate_zener=Zener(name="D", anode="", cathode="", voltage=12.0, test_current=5e-3),
    )
    return polarity_netlist(kind, values)


def _mute(kind: str) -> Netlist:
    values = MuteValues(
        charge_resistor=10e3,
        capacitor=100e-6,
        divider_top=82e3,
        divider_bottom=12e3,
        transistor=NPN,
        second=replace(NPN, polarity="pnp") if kind == "relay" else NPN,
        discharge=DIODE,
        drive_resistor=4.7e3,
        keeper_resistor=47e3,
        relay=RELAY,
        flyback=DIODE,
    )
    return mute_netlist(kind, values)


USB = UsbValues(
    load_current=0.5,
    link_resistance=100.0,
    plus_top=75e3,
    plus_bottom=49.9e3,
    minus_top=43.2e3,
    minus_bottom=51.1e3,
    pull_up=22e3,
)
REGULATOR = RegulatorValues(
    regulator=Regulator(name="U", input="", output="", ground="", voltage=5.0)
)


def _split(*rows: tuple[str, ...], turned: bool = False) -> Netlist:
    """A filter of one row or two: each step a kind of part, across where a ``/`` stands ahead."""
    parts: list[Part] = [VoltageSource(name="V1", a="amp", b="0", voltage=1.0, ac=1.0)]
    counts = Counter()
    for row, steps in enumerate(rows):
        driver, here = ("woofer", "tweeter")[row], "amp"
        last = max((at for at, step in enumerate(steps) if "/" not in step), default=-1)
        driver = driver if last >= 0 else here
        for at, step in enumerate(steps):
            end = "0" if "/" in step else driver if at == last else f"{driver}_{at + 1}"
            a, chain = here, step.removeprefix("/")
            for place, kind in enumerate(chain):
                counts[kind] += 1
                b = end if place == len(chain) - 1 else f"{driver}_{at}_{place}"
                parts.append(PASSIVE[kind](f"{kind}{counts[kind]}", a, b))
                a = b
            here = here if "/" in step else end
        swapped = turned and row == len(rows) - 1
        ends = ("0", driver) if swapped else (driver, "0")
        parts.append(Resistor(name=f"LS{row + 1}", a=ends[0], b=ends[1], resistance=8.0))
    return Netlist("split", tuple(parts))


PASSIVE = {
    "R": lambda name, a, b: Resistor(name=name, a=a, b=b, resistance=6.8),
    "L": lambda name, a, b: Inductor(name=name, a=a, b=b, inductance=0.47e-3, resistance=0.3),
    "C": lambda name, a, b: Capacitor(name=name, a=a, b=b, capacitance=8.2e-6),
}

CIRCUITS: dict[str, Netlist] = {
    **{family: _cutoff(family) for family in CUTOFF_FAMILIES},
    "regulator": regulator_netlist(REGULATOR),
    **{
        f"polarity-{kind}": _polarity(kind)
        for kind in ("shunt-diode", "series-schottky", "series-silicon", "p-mosfet")
    },
    **{f"usb-{kind}": usb_netlist(kind, USB) for kind in ("joined", "divider", "type-c")},
    "sum": sum_netlist(SumValues(left_resistor=1e3, right_resistor=1.1e3)),
    "pad": pad_netlist(PadValues(series_resistor=9.1e3, shunt_resistor=1e3)),
    "mute-low": _mute("mute-low"),
    "mute-high": _mute("mute-high"),
    "mute-relay": _mute("relay"),
    "ladder": _ladder(4, trimmer=5e3),
    "split": _split(("L", "/C", "/RC"), ("C", "/L", "R", "/R"), turned=True),
}

VARIANTS: list[tuple[str, Netlist]] = [
    *CIRCUITS.items(),
    *(
        (family, cutoff_netlist(family, replace(CUTOFF, filter_capacitor=None, emitter_resistor=r)))
        for family, r in (
            ("zener-relay", None),
            ("zener-relay-emitter", 47.0),
            ("reference-relay", None),
            ("comparator-mosfet", None),
        )
    ),
    ("regulator", regulator_netlist(replace(REGULATOR, input_diode=DIODE, load_bypass=1e-7))),
    (
        "regulator",
        regulator_netlist(
            replace(REGULATOR, output_capacitor=None, input_bypass=None, input_capacitor=None)
        ),
    ),
    (
        "sum",
        sum_netlist(
            SumValues(left_resistor=1e3, right_resistor=1e3, coupling_capacitor=1e-6, channels=4)
        ),
    ),
    ("polarity-p-mosfet", Netlist("no zener", tuple(
        part for part in CIRCUITS["polarity-p-mosfet"].parts if part.name != "D1"
    ))),
    *(("ladder", _ladder(steps)) for steps in (1, 2, 8)),
    *(
        ("split", _split(*rows, turned=turned))
        for turned, rows in (
            (False, (("L",), ("C",))),
            (True, (("C",),)),
            (False, (("L", "/C", "L", "/C", "/RC", "/RLC"), ("C", "/L", "C", "/L", "R", "/R"))),
            (True, (("L", "/C", "L"), ("C", "/L", "C", "/RLC"))),
            (False, ((), ("C", "R", "/RC"))),
            (False, (("LC", "/L", "/C"),)),
        )
    ),
]  # fmt: skip

variant = pytest.mark.parametrize(
    ("kind", "netlist"), VARIANTS, ids=[f"{n}-{kind}" for n, (kind, _) in enumerate(VARIANTS)]
)


def _tree(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def _group(svg: str, name: str) -> ElementTree.Element:
    (found,) = [group for group in _tree(svg).iter(f"{SVG}g") if group.get("data-part") == name]
    return found


def _places(text: str) -> list[tuple[float, float]]:
    numbers = [float(value) for value in text.replace(",", " ").split()]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def test_every_layout_is_tested():
    assert set(SCHEMATIC_KINDS) == set(CIRCUITS)
    assert set(CUTOFF_FAMILIES) <= set(SCHEMATIC_KINDS)


@variant
def test_drawn_lines_join_what_the_netlist_joins(kind, netlist):
    svg = schematic_svg(netlist, kind)
    assert drawn_nets(svg) == netlist_nets(netlist)


@variant
def test_every_part_is_drawn_once_with_all_its_leads(kind, netlist):
    svg = schematic_svg(netlist, kind)
    drawn = Counter(
        group.get("data-part") for group in _tree(svg).iter(f"{SVG}g") if group.get("data-part")
    )
    # The comparators' own supply is shown as the supply lead of the first of them.
    wanted = {part.name for part in netlist.parts} - {"RU1", "RU2"}
    assert drawn == Counter(wanted)
    leads = {
        (part.name, field) for part in netlist.parts for field in part.NODES if getattr(part, field)
    }
    assert set(drawn_pins(svg)) == leads


@variant
def test_words_lie_on_nothing_and_lines_on_no_part(kind, netlist):
    svg = schematic_svg(netlist, kind)
    assert text_faults(svg) == []
    assert line_faults(svg) == []
    names = {text for text, _ in text_boxes(svg)}
    assert {part.name for part in netlist.parts} - {"RU1", "RU2"} <= names


@variant
def test_a_dot_stands_where_three_meet_and_nowhere_else(kind, netlist):
    svg = schematic_svg(netlist, kind)
    arms: Counter[tuple[int, int]] = Counter()
    wires = drawn_wires(svg)
    pins = set(drawn_pins(svg).values())
    grounds = [
        _places(group.get("data-at"))[0]
        for group in _tree(svg).iter(f"{SVG}g")
        if group.get("class") == "ground"
    ]
    # Two parts may end at one place: each lead counts, but one lead never twice.
    ends = [
        place
        for group in _tree(svg).iter(f"{SVG}g")
        if group.get("data-pins")
        for place in {
            _places(entry.partition(" ")[2])[0] for entry in group.get("data-pins").split(";")
        }
    ]
    places = pins | {end for wire in wires for end in wire} | set(grounds)
    for x, y in places:
        key = (round(x), round(y))
        if key in arms:
            continue
        arms[key] = sum(math.dist((x, y), end) < 1 for end in [*ends, *grounds])
        for (ax, ay), (bx, by) in wires:
            if math.dist((x, y), (ax, ay)) < 1 or math.dist((x, y), (bx, by)) < 1:
                arms[key] += 1
            elif (
                min(ax, bx) - 0.5 < x < max(ax, bx) + 0.5
                and min(ay, by) - 0.5 < y < max(ay, by) + 0.5
            ):
                arms[key] += 2
    dots = {
        (round(float(dot.get("cx"))), round(float(dot.get("cy"))))
        for dot in _tree(svg).iter(f"{SVG}circle")
        if dot.get("class") == "joint"
    }
    assert dots == {key for key, count in arms.items() if count > 2}


@pytest.mark.parametrize("kind", SCHEMATIC_KINDS)
def test_wires_run_straight_across_or_down(kind):
    for (ax, ay), (bx, by) in drawn_wires(schematic_svg(CIRCUITS[kind], kind)):
        assert ax == bx or ay == by
        assert (ax, ay) != (bx, by)


@pytest.mark.parametrize("kind", SCHEMATIC_KINDS)
def test_a_missing_wire_is_noticed(kind):
    """Each wire matters: without it the drawing shows another circuit."""
    svg = schematic_svg(CIRCUITS[kind], kind)
    wires = re.findall(r'<polyline points="[^"]*" class="wire"/>', svg)
    assert wires
    told = {wire: drawn_nets(svg.replace(wire, "")) for wire in wires}
    bare = [wire for wire, nets in told.items() if nets == netlist_nets(CIRCUITS[kind])]
    # Only a stub to an open end joins nothing.
    assert len(bare) == {"usb-divider": 2, "usb-type-c": 1}.get(kind, 0)


def test_a_circuit_wired_otherwise_is_refused():
    netlist = _cutoff("zener-relay")
    zener = netlist.part("D1")
    reversed_zener = netlist.with_values("D1", anode=zener.cathode, cathode=zener.anode)
    with pytest.raises(InputError, match="'zener-relay' does not fit this circuit"):
        schematic_svg(reversed_zener, "zener-relay")


def test_a_part_too_many_is_refused():
    netlist = _cutoff("zener-relay")
    more = Netlist("more", (*netlist.parts, Resistor(name="R9", a="batt", b="0", resistance=1e3)))
    with pytest.raises(InputError, match="R9"):
        schematic_svg(more, "zener-relay")


@pytest.mark.parametrize("kind", SCHEMATIC_KINDS)
def test_no_layout_draws_another_circuit(kind):
    alike = {"polarity-series-schottky", "polarity-series-silicon"}
    plain = {"zener-relay", "zener-relay-emitter", "zener-relay-feedback"}
    for other, netlist in CIRCUITS.items():
        if other == kind or {kind, other} <= alike or (kind == "zener-relay" and other in plain):
            continue
        with pytest.raises(InputError, match=f"'{kind}' does not fit"):
            schematic_svg(netlist, kind)


def test_unknown_kind_names_the_nearest():
    with pytest.raises(InputError, match=r"read 'zener-rely'.*Did you mean 'zener-relay'"):
        schematic_svg(CIRCUITS["zener-relay"], "zener-rely")


def test_label_for_no_part_is_refused():
    with pytest.raises(InputError, match="'Q7'"):
        schematic_svg(CIRCUITS["pad"], "pad", labels={"Q7": Label("lost")})


@pytest.mark.parametrize(
    ("kind", "name"),
    [("zener-relay", "D1"), ("zener-relay", "D2"), ("mute-low", "D1"), ("mute-relay", "D2"),
     ("polarity-shunt-diode", "D1"), ("polarity-p-mosfet", "DQ1"), ("polarity-p-mosfet", "D1"),
     ("ladder", "D2"), ("regulator", "D1")],
)  # fmt: skip
def test_diodes_point_from_anode_to_cathode(kind, name):
    netlist = CIRCUITS[kind]
    if kind == "regulator":
        netlist = regulator_netlist(replace(REGULATOR, input_diode=DIODE))
    svg = schematic_svg(netlist, kind)
    pins = drawn_pins(svg)
    triangle = next(
        shape for shape in _group(svg, name).iter(f"{SVG}polygon") if not shape.get("fill")
    )
    points = _places(triangle.get("points"))
    cathode = pins[name, "cathode"]
    tip = min(points, key=lambda point: math.dist(point, cathode))
    assert tip != pytest.approx(min(points, key=lambda p: math.dist(p, pins[name, "anode"])))
    line = (pins[name, "anode"], cathode)
    on_axis = [p for p in points if abs(_beside(p, *line)) < 1]
    assert on_axis == [tip]


def _beside(point, start, end) -> float:
    """Distance of a point from the line through two others."""
    (ax, ay), (bx, by) = start, end
    return ((bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)) / math.dist(start, end)


@pytest.mark.parametrize("kind", ["reference-mosfet", "comparator-mosfet"])
def test_body_diode_points_from_drain_to_source(kind):
    svg = schematic_svg(CIRCUITS[kind], kind)
    pins = drawn_pins(svg)
    drain, source = pins["Q1", "drain"][0], pins["Q1", "source"][0]
    assert source < drain
    triangles = [
        _places(shape.get("points"))
        for shape in _group(svg, "Q1").iter(f"{SVG}polygon")
        if not shape.get("fill")
    ]
    (points,) = [points for points in triangles if len(points) == 3]
    xs = sorted(x for x, _ in points)
    # The lone corner is the tip, and it points at the source on the left.
    assert xs[1] == pytest.approx(xs[2])
    assert xs[0] < xs[1] - 1


def test_polarity_transistor_is_drawn_with_its_drain_at_the_battery():
    pins = drawn_pins(schematic_svg(CIRCUITS["polarity-p-mosfet"], "polarity-p-mosfet"))
    assert pins["Q1", "drain"][0] < pins["Q1", "source"][0]
    assert pins["Q1", "gate"][1] > pins["Q1", "drain"][1]


@pytest.mark.parametrize(
    ("kind", "name", "plus"),
    [("zener-relay", "BT1", "a"), ("zener-relay", "C1", "a"), ("mute-low", "V2", "a"),
     ("mute-low", "C2", "a"), ("ladder", "C1", "a"), ("regulator", "C2", "a")],
)  # fmt: skip
def test_plus_stands_at_the_plus_lead(kind, name, plus):
    svg = schematic_svg(CIRCUITS[kind], kind)
    pins = drawn_pins(svg)
    short = [
        _places(shape.get("points"))
        for shape in _group(svg, name).iter(f"{SVG}polyline")
        if math.dist(*_places(shape.get("points"))[:2]) < 9
    ]
    assert len(short) == 2
    middle = np.mean([point for piece in short for point in piece], axis=0)
    other = "b" if plus == "a" else "a"
    assert math.dist(middle, pins[name, plus]) < math.dist(middle, pins[name, other])


def test_battery_has_its_long_plate_at_plus():
    svg = schematic_svg(CIRCUITS["zener-relay"], "zener-relay")
    plates = []
    for path in _group(svg, "BT1").iter(f"{SVG}path"):
        points = _places(re.sub("[ML]", " ", path.get("d")))
        plates += [(y, abs(x - u)) for (x, y), (u, v) in pairwise(points) if y == v and x != u]
    (_, highest), (_, lowest) = min(plates), max(plates)
    assert highest > lowest


def test_plain_capacitor_has_no_plus():
    svg = schematic_svg(CIRCUITS["regulator"], "regulator")
    assert isinstance(CIRCUITS["regulator"].part("C3"), Capacitor)
    assert not list(_group(svg, "C3").iter(f"{SVG}polyline"))


@pytest.mark.parametrize("name", ["Q1", "Q2"])
def test_emitter_arrow_points_out_of_npn_and_into_pnp(name):
    svg = schematic_svg(CIRCUITS["mute-relay"], "mute-relay")
    pins = drawn_pins(svg)
    emitter, base = pins[name, "emitter"], pins[name, "base"]
    shapes = list(_group(svg, name))
    (arrow,) = [shape for shape in shapes if shape.get("fill")]
    points = _places(re.sub("[MLZ]", " ", arrow.get("d") or arrow.get("points")))[:3]
    tip = points[0]
    back = np.mean(points[1:], axis=0)
    assert math.dist(tip, emitter) < math.dist(tip, pins[name, "collector"])
    outwards = math.dist(tip, base) > math.dist(back, base)
    assert outwards is (CIRCUITS["mute-relay"].part(name).polarity == "npn")


@pytest.mark.parametrize("kind", [kind for kind in SCHEMATIC_KINDS if "relay" in kind])
def test_contact_is_drawn_open_and_joined_to_its_coil_by_a_broken_line(kind):
    svg = schematic_svg(CIRCUITS[kind], kind)
    (link,) = [shape for shape in _group(svg, "K1") if shape.get("class") == "link"]
    assert link.get("stroke-dasharray")
    pins = drawn_pins(svg)
    end = _places(link.get("points"))[-1]
    assert pins["K1", "common"][0] < end[0] < pins["K1", "made"][0]
    groups = drawn_nets(svg)
    assert not any({("K1", "common"), ("K1", "made")} <= group for group in groups)


@pytest.mark.parametrize("kind", SCHEMATIC_KINDS)
def test_power_is_on_top_and_load_at_the_right(kind):
    svg = schematic_svg(CIRCUITS[kind], kind)
    pins = drawn_pins(svg)
    grounded = [pin for group in netlist_nets(CIRCUITS[kind]) for pin in group]
    lowest = max(pins[pin][1] for pin in grounded)
    source = "BT1" if ("BT1", "a") in pins else "V1"
    # A split has its common lead in the middle, for it is no ground: the tweeter hangs below it.
    common = pins["LS1", "b"][1] if kind == "split" else lowest
    assert pins[source, "a"][1] < pins[source, "b"][1] == common
    if kind == "split":
        assert pins["LS2", "a"][0] == max(x for x, _ in pins.values())
    if ("RL", "a") in pins and not kind.startswith("mute"):
        assert pins["RL", "a"][0] == max(x for x, _ in pins.values())


@pytest.mark.parametrize("kind", SCHEMATIC_KINDS)
@pytest.mark.parametrize("name", list(LOOKS))
def test_looks_differ_in_colour_only(kind, name):
    svg = schematic_svg(CIRCUITS[kind], kind, look=LOOKS[name])
    light = schematic_svg(CIRCUITS[kind], kind, look=LIGHT)
    blank = re.compile(r"#[0-9a-f]{6}")
    assert blank.sub("", svg) == blank.sub("", light)
    assert f'fill="{LOOKS[name].sheet}"' in svg
    allowed = {value for value in vars(LOOKS[name]).values() if str(value).startswith("#")}
    assert set(blank.findall(svg)) <= allowed


@pytest.mark.parametrize("kind", SCHEMATIC_KINDS)
def test_picture_stands_alone_and_is_told_in_words(kind):
    netlist = CIRCUITS[kind]
    svg = schematic_svg(netlist, kind, title="A & <b>")
    root = _tree(svg)
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert root[0].text == "A & <b>"
    assert not re.search(r"href|url\(|@import|<style|<image|<script", svg)
    told = root[1].text
    for part in netlist.parts:
        assert f"{part.name}, " in told
    assert len(told.splitlines()[0]) > 40


def test_values_are_written_as_the_trade_writes_them():
    words = {text for text, _ in text_boxes(schematic_svg(_cutoff("zener-relay"), "zener-relay"))}
    assert {"4.7 kΩ", "10.1 kΩ", "100 µF", "9.1 V", "12 V", "coil 270 Ω", "load 24 Ω"} <= words


def test_labels_give_type_pins_and_heat():
    labels = {
        "Q1": Label("2N2222A", pins="E B C, flat side towards you", heat=True),
        "D1": Label("1N4739A"),
    }
    svg = schematic_svg(_cutoff("zener-relay"), "zener-relay", labels=labels)
    words = [text for text, _ in text_boxes(svg)]
    assert "2N2222A" in words
    assert "1N4739A" in words
    assert "Q1 pins: E B C, flat side towards you" in words
    assert "heat sink on Q1" in words
    assert svg.count('class="heat"') == 2
    assert "Q1 needs a heat sink." in _tree(svg)[1].text
    assert text_faults(svg) == []
    assert 'class="heat"' not in schematic_svg(_cutoff("zener-relay"), "zener-relay")


@pytest.mark.parametrize("kind", SCHEMATIC_KINDS)
@pytest.mark.parametrize("text", ["2N2222A", "a type of 16 ch", "long words " * 12, "W" * 90])
def test_labels_of_any_length_lie_on_nothing(kind, text):
    netlist = CIRCUITS[kind]
    hidden = {"RU1", "RU2"}
    labels = {
        part.name: Label(text, pins="1 2 3, seen from above", heat=True)
        for part in netlist.parts
        if part.name not in hidden
    }
    svg = schematic_svg(netlist, kind, labels=labels, look=DARK)
    assert text_faults(svg) == []
    shown = " ".join(words for words, _ in text_boxes(svg))
    assert text.split()[-1] in shown
    assert all(f"{name} pins" in shown for name in labels)


@pytest.mark.parametrize("kind", SCHEMATIC_KINDS)
def test_ranges_lie_on_nothing(kind):
    netlist = CIRCUITS[kind]
    spread = np.array([0.9512, 1.0, 1.0488])
    for part in netlist.parts:
        for field in ("resistance", "capacitance", "voltage", "coil_resistance"):
            if hasattr(part, field):
                value = np.asarray(getattr(part, field)) * spread
                netlist = netlist.with_values(part.name, **{field: value})
    svg = schematic_svg(netlist, kind)
    assert text_faults(svg) == []
    assert any(" to " in text for text, _ in text_boxes(svg))


def test_parts_of_one_type_share_a_line_below():
    long = "wound on a ceramic body, 5 W"
    labels = {"R1": Label(long), "R2": Label(long), "RL1": Label("input, 20 kΩ")}
    words = [text for text, _ in text_boxes(schematic_svg(CIRCUITS["pad"], "pad", labels=labels))]
    assert f"R1, R2: {long}" in words
    assert words.count("input, 20 kΩ") == 1


def test_characters_that_no_picture_may_hold_are_left_out():
    svg = schematic_svg(
        CIRCUITS["pad"], "pad", labels={"R1": Label("a\x00b\x1b\n<&>")}, title="x\x07y"
    )
    assert _tree(svg)[0].text == "x y"
    assert "a b <&>" in {text for text, _ in text_boxes(svg)}


def test_words_on_words_lines_and_edges_are_found():
    svg = schematic_svg(CIRCUITS["pad"], "pad")
    (left, _, right, bottom) = next(box for text, box in text_boxes(svg) if text == "R1")
    x, y = (left + right) / 2, bottom - 3
    text = '<text x="{}" y="{}" font-size="12" text-anchor="middle">here</text></svg>'
    planted = svg.replace("</svg>", text.format(x, y))
    assert "'R1' lies on 'here'" in text_faults(planted)
    wire = drawn_wires(svg)[-1][0]
    planted = svg.replace("</svg>", text.format(wire[0] + 30, wire[1] + 4))
    assert "'here' lies on a wire" in text_faults(planted)
    assert "'here' leaves the page" in text_faults(svg.replace("</svg>", text.format(-900, 0)))


def test_wires_over_parts_and_over_wires_are_found():
    svg = schematic_svg(CIRCUITS["pad"], "pad")
    pins = drawn_pins(svg)
    x, y = (sum(values) / 2 for values in zip(pins["R2", "a"], pins["R2", "b"], strict=True))
    wire = '<polyline points="{},{} {},{}" class="wire"/>'
    over = wire.format(x - 40, y, x + 40, y)
    first = re.search(r'<polyline points="[^"]*" class="wire"/>', svg)[0]
    assert "a wire runs over R2" in line_faults(svg.replace(first, first + over, 1))
    assert any("along" in fault for fault in line_faults(svg.replace(first, first * 2, 1)))
    moved = svg.replace(f"R2.a {pins['R2', 'a'][0]:g},", f"R2.a {pins['R2', 'a'][0] + 9:g},")
    assert "a lead of R2 ends beside its strokes" in line_faults(moved)


def test_lead_that_is_drawn_twice_is_found():
    svg = schematic_svg(CIRCUITS["pad"], "pad")
    with pytest.raises(ValueError, match=r"R1\.b is drawn twice"):
        drawn_pins(svg.replace("R2.b ", "R1.b "))
