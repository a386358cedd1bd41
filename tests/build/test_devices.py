"""Parts of the drawer as devices of a circuit: values, temperatures they hold at, and spreads."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.devices import DEVICE_KINDS, Spread, cutoff_values, resistor_spread
from boomwright.build.drawer import load_drawer
from boomwright.build.draws import Draws
from boomwright.build.quantities import parse_quantity
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, CutoffValues
from boomwright.circuit.equations import coil_resistance_at

DRAWER = load_drawer()
COUNT = 120


def _values(
    family: str, *, count: int = COUNT, owner: str = "cutoff", **entries: str
) -> CutoffValues:
    usual = {
        "relay": "relay-12v-270ohm",
        "zener": "1N4739A",
        "mosfet": "p-mosfet-55v-30a",
        "series_resistor": "3.3 kΩ",
        "base_resistor": "10 kΩ",
        "emitter_resistor": "15 Ω",
        "feedback_resistor": "330 kΩ",
        "divider_top": "30 kΩ",
        "divider_bottom": "9.1 kΩ",
        "gate_resistor": "4.7 kΩ",
        "drive_resistor": "1.2 kΩ",
        "reference_resistor": "2.2 kΩ",
    }
    circuit = CutoffCircuit.model_validate({"family": family, **usual, **entries})
    return cutoff_values(circuit, DRAWER, Spread(Draws(count), owner), load_resistance=14.7)


@pytest.mark.parametrize("text", ["4.7 kΩ", "4k7", "4700 Ω"])
def test_resistor_without_a_tolerance_has_five_per_cent(text):
    value = resistor_spread(parse_quantity(text, "resistance"))
    assert (value.low, value.likely, value.high) == pytest.approx((4465.0, 4700.0, 4935.0))


@pytest.mark.parametrize(
    "text",
    [
        "4.7 kΩ ±1 %",
        "4.7 kΩ ±0 %",
        "4.5 to 4.9 kΩ",
        "4.7 kΩ [4.6 to 5]",
        "4.7 kΩ (measured)",
        "4.7 kΩ (guess)",
    ],
)
def test_resistor_with_a_width_of_its_own_keeps_it(text):
    value = parse_quantity(text, "resistance")
    assert resistor_spread(value) == value


@pytest.mark.parametrize("text", ["100 to 220 µF", "150 µF [140 to 160]", "150 µF ±20 %"])
def test_capacitor_with_a_width_of_its_own_keeps_it(text):
    value = parse_quantity(text, "capacitance")
    drawn = np.asarray(_values("zener-relay", count=400, filter_capacitor=text).filter_capacitor)
    assert np.min(drawn) >= value.low * (1 - 1e-9)
    assert np.max(drawn) <= value.high * (1 + 1e-9)
    # And it uses that width, nearly to its ends.
    assert np.ptp(drawn) > 0.8 * (value.high - value.low)


def test_electrolytic_without_a_tolerance_is_wide_upwards():
    drawn = np.asarray(_values("zener-relay", filter_capacitor="100 µF").filter_capacitor)
    assert drawn[0] == pytest.approx(100e-6)
    assert 79e-6 < np.min(drawn) < 90e-6
    assert 130e-6 < np.max(drawn) < 151e-6


@pytest.mark.parametrize("family", CUTOFF_FAMILIES)
def test_every_need_of_every_family_is_met_with_one_value_per_version(family):
    values = _values(family)
    for need in CUTOFF_FAMILIES[family].needs:
        found = getattr(values, need)
        assert found is not None, need
        if need.endswith("_resistor") or need.startswith("divider"):
            assert np.shape(found) == (COUNT + 1,)
    assert values.load_resistance == 14.7


def test_likely_version_comes_first():
    values = _values("zener-relay-emitter")
    assert values.series_resistor[0] == pytest.approx(3300.0)
    assert values.emitter_resistor[0] == pytest.approx(15.0)
    assert values.transistor is not None
    assert values.transistor.gain[0] == pytest.approx(150.0)
    assert values.zener is not None
    assert values.zener.voltage[0] == pytest.approx(9.1)


def test_relay_values_hold_at_twenty_five_degrees_and_shares_at_twenty():
    relay = _values("zener-relay", count=0).relay
    assert relay is not None
    part = DRAWER.part("relay", "relay-12v-270ohm")
    cold = float(coil_resistance_at(relay.coil_resistance, 293.15)[0])
    assert cold == pytest.approx(270.0, rel=1e-9)
    # Pick-up at 20 °C is the share of the rated voltage that the drawer states.
    assert float(relay.operate[0]) * cold == pytest.approx(12.0 * part.operate.likely, rel=1e-9)
    assert float(relay.release[0]) * cold == pytest.approx(12.0 * part.release.likely, rel=1e-9)


def test_relay_of_every_version_lets_go_below_where_it_pulls_in():
    for name in DRAWER.names("relay"):
        relay = _values("zener-relay", relay=name, count=500).relay
        assert relay is not None
        assert np.all(relay.release < relay.operate)
        assert np.all(relay.release > 0.0)


@pytest.mark.parametrize("name", DRAWER.names("zener"))
def test_every_zener_of_the_drawer_is_a_usable_device(name):
    zener = _values("zener-relay", zener=name).zener
    part = DRAWER.part("zener", name)
    assert zener is not None
    assert np.all(zener.knee > 0.0)
    assert np.all(zener.slope >= 0.0)
    # Dynamic resistance at the test current is no more than the sheet allows.
    assert np.all(zener.knee / zener.test_current + zener.slope <= part.slope.likely * (1 + 1e-9))
    assert np.sign(zener.temperature_coefficient[0]) == (1.0 if part.voltage.likely > 5.3 else -1.0)


def test_base_of_a_transistor_stands_where_memory_has_it():
    # An NPN at 1 mA stands between 0.60 and 0.67 V at 25 °C: typical of class, from memory.
    transistor = _values("zener-relay", count=500).transistor
    assert transistor is not None
    volts = 0.025_693 * np.log(1e-3 / transistor.saturation_current)
    assert 0.60 < np.min(volts) < np.max(volts) < 0.69
    assert volts[0] == pytest.approx(0.65, abs=0.01)  # V


@pytest.mark.parametrize(
    "name",
    [n for n in DRAWER.names("transistor") if DRAWER.part("transistor", n).type == "p-mosfet"],
)
def test_every_p_channel_transistor_has_its_resistance_at_its_drive(name):
    mosfet = _values("reference-mosfet", mosfet=name).mosfet
    part = DRAWER.part("transistor", name)
    assert mosfet is not None
    assert mosfet.polarity == "p"
    drive = 10.0 if part.threshold.likely >= 2.5 else 4.5
    resistance = 1.0 / (mosfet.transconductance * (drive - mosfet.threshold))
    assert resistance[0] == pytest.approx(part.on_resistance.likely, rel=1e-9)
    assert np.all(mosfet.transconductance > 0.0)


@pytest.mark.parametrize("name", DRAWER.names("reference"))
def test_reference_within_its_grade(name):
    part = DRAWER.part("reference", name)
    reference = _values("reference-relay", reference=name).reference
    assert reference is not None
    assert np.all(reference.voltage >= part.voltage.low)
    assert np.all(reference.voltage <= part.voltage.high)
    assert 0.005 < part.voltage.high / part.voltage.likely - 1.0 < 0.03
    assert reference.reference_current[0] == pytest.approx(part.pin_current.likely)
    assert reference.idle_current[0] == pytest.approx(part.idle_current.likely)
    assert part.idle_current.likely < part.current_least.likely < part.current_max.likely


@pytest.mark.parametrize("name", DRAWER.names("comparator"))
def test_comparator_with_its_offset_and_its_own_current(name):
    part = DRAWER.part("comparator", name)
    values = _values("comparator-mosfet", comparator=name)
    assert values.comparator is not None
    assert values.comparator.offset[0] == pytest.approx(0.0)
    assert np.ptp(values.comparator.offset) > 5e-3
    np.testing.assert_array_less(np.abs(values.comparator.offset), 5.1e-3)
    assert values.supply_current[0] == pytest.approx(part.supply_current.likely)


def test_same_name_draws_the_same_and_another_name_others():
    one, again = _values("zener-relay"), _values("zener-relay")
    other = _values("zener-relay", owner="other")
    np.testing.assert_array_equal(one.series_resistor, again.series_resistor)
    assert not np.array_equal(one.series_resistor, other.series_resistor)


def test_resistors_of_one_value_are_drawn_apart():
    values = _values("zener-relay", base_resistor="3.3 kΩ")
    assert np.corrcoef(values.series_resistor[1:], values.base_resistor[1:])[0, 1] < 0.4


def test_unused_fields_stay_empty():
    values = _values("reference-relay")
    assert values.zener is None
    assert values.comparator is None
    assert values.mosfet is None
    assert values.filter_capacitor is None


def test_device_kinds_name_kinds_of_the_drawer():
    for field, kind in DEVICE_KINDS.items():
        assert field in CutoffCircuit.model_fields
        assert DRAWER.names(kind)


def test_unknown_device_is_a_key_error():
    with pytest.raises(KeyError, match="relay-of-nowhere"):
        _values("zener-relay", relay="relay-of-nowhere")
