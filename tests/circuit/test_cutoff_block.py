"""The eight soldered cutoffs: their wiring, their thresholds by hand, and their heat."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from boomwright.circuit.blocks.cutoff import (
    CUTOFF_FAMILIES,
    CutoffFamily,
    CutoffValues,
    cutoff_netlist,
)
from boomwright.circuit.equations import COPPER_COEFFICIENT
from boomwright.circuit.operating import operating_point
from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Comparator,
    Diode,
    Mosfet,
    Relay,
    Resistor,
    ShuntReference,
    Switch,
    Zener,
)
from boomwright.circuit.readings import part_readings
from boomwright.circuit.thresholds import Thresholds, find_thresholds
from boomwright.circuit.values import Value, thermal_voltage
from boomwright.errors import NetlistError

OPERATE, RELEASE = 0.0289, 0.0098
VZ, TEST, KNEE, SLOPE = 9.1, 0.028, 0.028, 1.0
GAIN, SATURATION = 150.0, 1e-14
REFERENCE, PIN = 2.495, 2e-6

VALUES = CutoffValues(
    relay=Relay(
        name="", coil_a="", coil_b="", coil_resistance=275.3, operate=OPERATE, release=RELEASE
    ),
    zener=Zener(
        name="",
        anode="",
        cathode="",
        voltage=VZ,
        test_current=TEST,
        knee=KNEE,
        slope=SLOPE,
        temperature_coefficient=5.6e-3,
    ),
    transistor=Bipolar(
        name="", collector="", base="", emitter="", gain=GAIN, saturation_current=SATURATION
    ),
    mosfet=Mosfet(
        name="", drain="", gate="", source="", polarity="p", threshold=3.0, transconductance=7.0
    ),
    reference=ShuntReference(name="", cathode="", reference="", anode=""),
    comparator=Comparator(name="", plus="", minus="", output="", ground=""),
    flyback=Diode(name="", anode="", cathode="", saturation_current=1e-9, emission=1.8),
    series_resistor=4700.0,
    base_resistor=10e3,
    divider_top=30e3,
    divider_bottom=8.87e3,
    feedback_resistor=470e3,
    gate_resistor=4.7e3,
    drive_resistor=1.2e3,
    reference_resistor=2.2e3,
)


def family_values(family: CutoffFamily) -> CutoffValues:
    """Values with which a family works on a twelve-volt battery."""
    if family == "zener-relay-emitter":
        return replace(VALUES, emitter_resistor=15.0, zener=replace(VALUES.zener, voltage=8.2))
    if family == "zener-relay-feedback":
        return replace(VALUES, feedback_resistor=33e3)
    if family == "comparator-relay":
        return replace(VALUES, drive_resistor=3.9e3)
    return VALUES


def family_thresholds(
    family: CutoffFamily, values: CutoffValues | None = None, *, temperature: Value = 298.15
) -> Thresholds:
    """Thresholds between 5 and 14.4 V."""
    net = cutoff_netlist(family, values or family_values(family))
    watch = CUTOFF_FAMILIES[family].watch
    return find_thresholds(net, watch, lowest=5.0, highest=14.4, temperature=temperature)


def _off(family: CutoffFamily, values: CutoffValues | None = None, **heat: Value) -> float:
    return float(family_thresholds(family, values, **heat).off[0])


def _on(family: CutoffFamily, values: CutoffValues | None = None) -> float:
    return float(family_thresholds(family, values).on[0])


def _base_volts(amps: float) -> float:
    return float(thermal_voltage()) * np.log(amps / SATURATION)


def _zener_volts(amps: float, nominal: float = VZ) -> float:
    return nominal + KNEE * np.log(amps / TEST) + SLOPE * (amps - TEST)


def _by_hand(coil: float, *, emitter: float = 0.0, nominal: float = VZ) -> float:
    """Vz(I) + Vbe + I_coil / gain times the resistor, and what the base resistor takes besides."""
    base = coil / GAIN
    volts = _base_volts(coil) + emitter * (coil + base)
    amps = base + volts / 10e3
    return _zener_volts(amps, nominal) + volts + 4700.0 * amps


@pytest.mark.parametrize(("end", "coil"), [("off", RELEASE), ("on", OPERATE)])
def test_zener_relay_by_the_hand_formula(end, coil):
    found = getattr(family_thresholds("zener-relay"), end)
    assert float(found[0]) == pytest.approx(_by_hand(coil), abs=0.02)  # V, tens of millivolts


@pytest.mark.parametrize(("end", "coil"), [("off", RELEASE), ("on", OPERATE)])
def test_zener_relay_with_an_emitter_resistor_by_the_hand_formula(end, coil):
    found = getattr(family_thresholds("zener-relay-emitter"), end)
    hand = _by_hand(coil, emitter=15.0, nominal=8.2)
    assert float(found[0]) == pytest.approx(hand, abs=0.02)  # V, tens of millivolts


def test_emitter_resistor_widens_the_gap_by_its_own_drop():
    # Gap = (I_pull - I_release) (R / gain + R_e): the builders' formula, with the base resistor.
    plain, wide = family_thresholds("zener-relay"), family_thresholds("zener-relay-emitter")
    more = float((wide.on - wide.off)[0] - (plain.on - plain.off)[0])
    assert more == pytest.approx((OPERATE - RELEASE) * 15.0 * (1.0 + 4700.0 / 10e3), rel=0.03)


def test_zener_relay_holding_lets_go_at_the_same_formula_and_never_takes_hold():
    found = family_thresholds("zener-relay-holding")
    assert float(found.off[0]) == pytest.approx(_by_hand(RELEASE), abs=0.02)  # V, as above
    assert np.isnan(found.on[0])


def test_zener_relay_with_feedback_lets_go_lower_and_takes_hold_higher():
    # On: the feedback resistor lies beside the series resistor. Off: it pulls down, to the load.
    amps = RELEASE / GAIN + _base_volts(RELEASE) / 10e3
    off = _zener_volts(amps) + _base_volts(RELEASE) + amps * 4700.0 * 33e3 / (4700.0 + 33e3)
    amps = OPERATE / GAIN + _base_volts(OPERATE) / 10e3
    sense = _zener_volts(amps) + _base_volts(OPERATE)
    on = sense + 4700.0 * (amps + sense / 33e3)
    found = family_thresholds("zener-relay-feedback")
    assert float(found.off[0]) == pytest.approx(off, abs=0.02)  # V, tens of millivolts
    assert float(found.on[0]) == pytest.approx(on, abs=0.02)  # V, tens of millivolts


def _divider_by_hand(reference: float = REFERENCE, pin: float = PIN) -> tuple[float, float]:
    """Off and on of a divider with feedback: the feedback goes to the battery or to ground."""
    top, bottom, back = 30e3, 8.87e3, 470e3
    beside = top * back / (top + back)
    below = bottom * back / (bottom + back)
    return reference * (1 + beside / bottom) + pin * beside, reference * (
        1 + top / below
    ) + pin * top


DIVIDERS: tuple[CutoffFamily, ...] = (
    "reference-relay",
    "reference-mosfet",
    "comparator-relay",
    "comparator-mosfet",
)


@pytest.mark.parametrize("family", DIVIDERS)
def test_divider_families_by_the_hand_formula(family):
    # A comparator's input takes nothing, the reference's pin does.
    off, on = _divider_by_hand(pin=PIN if family.startswith("reference") else 0.0)
    found = family_thresholds(family)
    assert float(found.off[0]) == pytest.approx(off, rel=0.01)
    assert float(found.on[0]) == pytest.approx(on, rel=0.01)


@pytest.mark.parametrize("family", DIVIDERS)
def test_no_feedback_to_speak_of_leaves_no_gap(family):
    values = replace(family_values(family), feedback_resistor=22e6)
    found = family_thresholds(family, values)
    gap = float(found.on[0] - found.off[0])
    # A relay on a reference keeps the little gap that its own two currents make.
    assert -1e-3 < gap < 0.07
    assert family_thresholds(family).on[0] - found.on[0] > 0.1


def test_nine_volt_zener_with_npn_and_relay_does_as_builders_tell():
    # Common practice, no source: lets go at about 10 to 10.5 V and is on at 12 V.
    assert 10.0 <= _off("zener-relay") <= 10.5
    assert _on("zener-relay") < 12.0
    assert operating_point(cutoff_netlist("zener-relay", VALUES, voltage=12.0)).states["K1"][0]


def test_idle_current_of_a_reference_through_a_great_gate_resistor_turns_on_early():
    # A known trap: 0.25 mA through 100 kΩ reaches any gate's threshold while the pin is low still.
    values = replace(VALUES, gate_resistor=100e3)
    assert 0.8 < _on("reference-mosfet", values) / _on("reference-mosfet") < 0.92


@pytest.mark.parametrize(
    "family", [name for name in CUTOFF_FAMILIES if name != "zener-relay-holding"]
)
def test_every_family_lets_go_below_where_it_takes_hold(family):
    found = family_thresholds(family)
    assert 8.5 < float(found.off[0]) < float(found.on[0]) < 12.5


@pytest.mark.parametrize("family", CUTOFF_FAMILIES)
def test_every_family_feeds_its_load_at_full_and_not_at_empty(family):
    watch = CUTOFF_FAMILIES[family].watch
    states = {watch.relay: np.array([True])} if watch.held else None
    full = operating_point(
        cutoff_netlist(family, family_values(family), voltage=13.0), states=states
    )
    assert float(full.voltage("out")[0]) == pytest.approx(13.0, rel=0.02)
    assert watch.on(full)[0]
    empty = operating_point(
        cutoff_netlist(family, family_values(family), voltage=7.0), states=states
    )
    assert abs(float(empty.voltage("out")[0])) < 0.05
    assert not watch.on(empty)[0]


@pytest.mark.parametrize("family", CUTOFF_FAMILIES)
def test_holding_families_take_nothing_once_open(family):
    net = cutoff_netlist(family, family_values(family), voltage=9.0)
    amps = -float(part_readings(operating_point(net))["BT1"].amps[0])
    if CUTOFF_FAMILIES[family].holding:
        assert amps < 1e-7
    else:
        assert 1e-6 < amps < 0.05


def test_button_starts_the_one_that_holds_itself():
    net = cutoff_netlist("zener-relay-holding", VALUES, voltage=12.6)
    assert not operating_point(net).states["K1"][0]
    pressed = operating_point(net.with_values("S1", closed=True))
    assert pressed.states["K1"][0]
    released = operating_point(net, states=pressed.states)
    assert released.states["K1"][0]
    assert float(released.voltage("out")[0]) > 12.5


def test_button_does_not_start_it_on_an_empty_battery_for_good():
    net = cutoff_netlist("zener-relay-holding", VALUES, voltage=9.4)
    pressed = operating_point(net.with_values("S1", closed=True))
    assert not operating_point(net, states=pressed.states).states["K1"][0]


def test_warm_zener_circuit_lets_go_higher_by_what_zener_and_base_do():
    # + (9.1 - 3.5) mV/K of the zener, about -2 mV/K of the base and of what it sends through the
    # base resistor (times 1 + 4700/10e3), and less base current as the gain rises.
    slope = (
        _off("zener-relay", temperature=308.15) - _off("zener-relay", temperature=288.15)
    ) / 20.0
    base = RELEASE / GAIN * 4700.0 * 1.5 / 298.15
    hand = 5.6e-3 - 1.75e-3 * (1.0 + 4700.0 / 10e3) - base
    assert slope == pytest.approx(hand, rel=0.2)


@pytest.mark.parametrize("family", DIVIDERS)
def test_reference_families_hardly_move_with_heat(family):
    assert _off(family, temperature=313.15) == pytest.approx(
        _off(family, temperature=273.15), rel=4e-3
    )


def test_thresholds_do_not_hang_on_the_zeners_drive_when_there_is_none_left():
    # Twice the gain: half the base current, so the release formula loses that much.
    strong = replace(VALUES, transistor=replace(VALUES.transistor, gain=2.0 * GAIN))
    less = 4700.0 * RELEASE / GAIN / 2.0
    assert _off("zener-relay") - _off("zener-relay", strong) == pytest.approx(less, rel=0.1)


@pytest.mark.parametrize("family", CUTOFF_FAMILIES)
def test_a_batch_of_thresholds_equals_them_one_by_one(family):
    loads = np.array([6.8, 24.0, 90.0])
    if family.startswith("zener"):
        fields = {"series_resistor": np.array([3300.0, 4700.0, 5600.0])}
    else:
        fields = {"divider_top": np.array([29e3, 30e3, 31.5e3])}
    many = replace(family_values(family), load_resistance=loads, **fields)
    together = family_thresholds(family, many)
    for index, load in enumerate(loads):
        one = {name: float(value[index]) for name, value in fields.items()}
        alone = family_thresholds(
            family, replace(family_values(family), load_resistance=float(load), **one)
        )
        for end in ("off", "on"):
            np.testing.assert_allclose(
                getattr(together, end)[index], getattr(alone, end)[0], atol=1.2e-3
            )


def test_filter_capacitor_moves_no_threshold_and_is_polarised():
    with_it = replace(VALUES, filter_capacitor=100e-6)
    part = cutoff_netlist("zener-relay", with_it).part("C1")
    assert part == Capacitor(name="C1", a="sense", b="0", capacitance=100e-6, polarised=True)
    assert _off("zener-relay", with_it) == pytest.approx(_off("zener-relay"), abs=1e-4)  # V


def test_zener_resistor_adds_its_drop():
    amps = RELEASE / GAIN + _base_volts(RELEASE) / 10e3
    extra = _off("zener-relay", replace(VALUES, zener_resistor=1500.0)) - _off("zener-relay")
    assert extra == pytest.approx(1500.0 * amps, rel=0.02)


def test_wiring_names_the_same_nodes_in_every_family():
    for family in CUTOFF_FAMILIES:
        net = cutoff_netlist(family, family_values(family))
        assert {"batt", "out", "sense"} <= set(net.nodes)
        assert net.part("BT1").nodes == ("batt", "0")
        assert net.part("RL") == Resistor(name="RL", a="out", b="0", resistance=24.0)
        assert net.title == CUTOFF_FAMILIES[family].title


def test_holding_family_has_a_button_across_its_contact():
    net = cutoff_netlist("zener-relay-holding", VALUES)
    assert net.part("S1") == Switch(name="S1", a="batt", b="out", push_button=True)
    relay = net.part("K1")
    assert isinstance(relay, Relay)
    assert (relay.coil_a, relay.common, relay.made) == ("out", "batt", "out")


def test_comparator_takes_its_own_current():
    values = replace(family_values("comparator-mosfet"), supply_current=0.8e-3)
    part = cutoff_netlist("comparator-mosfet", values).part("RU1")
    assert isinstance(part, Resistor)
    assert part.resistance == pytest.approx(15e3)


@pytest.mark.parametrize("family", CUTOFF_FAMILIES)
def test_what_is_missing_is_named_all_of_it(family):
    with pytest.raises(ValueError, match="lacks") as caught:
        cutoff_netlist(family, CutoffValues())
    for name in CUTOFF_FAMILIES[family].needs:
        assert name in str(caught.value)
    assert family in str(caught.value)


@pytest.mark.parametrize("family", CUTOFF_FAMILIES)
def test_each_need_is_a_need(family):
    for name in CUTOFF_FAMILIES[family].needs:
        with pytest.raises(ValueError, match=rf"lacks {name}$"):
            cutoff_netlist(family, replace(family_values(family), **{name: None}))


def test_unknown_family_names_those_there_are():
    with pytest.raises(ValueError, match=r"got 'zener-relais'.*zener-relay, .*comparator-mosfet"):
        cutoff_netlist("zener-relais", VALUES)  # type: ignore[arg-type]


def test_value_out_of_range_is_told_by_the_netlist():
    with pytest.raises(NetlistError, match=r"R1: resistance of a part; read -4700"):
        cutoff_netlist("zener-relay", replace(VALUES, series_resistor=-4700.0))


def test_copper_coefficient_is_that_of_the_standard_moved_to_twenty_five_degrees():
    # IEC 60028 (from memory): 0.00393 from 20 °C.
    assert pytest.approx(1.0, rel=1e-12) == (1.0 + COPPER_COEFFICIENT * -5.0) * (
        1.0 + 5.0 * 0.00393
    )
