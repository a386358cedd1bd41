"""Parts list of a cutoff: loads by hand, ratings that hold, nothing forgotten."""

import re

import numpy as np
import pytest
from tests.design.cutoffs import DRAWER, FAMILIES, design_of

from boomwright.build.quantities import parse_quantity
from boomwright.build.stress import circuit_stress
from boomwright.circuit.parts import Resistor
from boomwright.design.cutoff.design import design_cutoff
from boomwright.design.cutoff.wish import CutoffWish

UNITS = {"W": "power", "A": "current", "V": "voltage"}


def stress_of(found):
    wish = found.wish
    return circuit_stress(
        found.circuit,
        DRAWER,
        highest=wish.highest,
        off=wish.off,
        load_current=wish.load_current,
    )


def line(family, name):
    return next(part for part in design_of(family).design.parts if part.name == name)


def first(text):
    """First quantity of a text in SI units."""
    found = re.search(r"[\d.]+ [a-zA-Zµ]*([WAV])", text)
    return parse_quantity(found[0], UNITS[found[1]]).likely


@pytest.mark.parametrize("family", FAMILIES)
def test_every_soldered_part_is_on_the_list_once(family):
    found = design_of(family).design
    names = [part.name for part in found.parts]
    # Battery, load and a comparator's own supply current are drawn, not bought.
    drawn = {part.name for part in found.netlist.parts} - {"BT1", "RL", "RU1"}
    assert set(names) == drawn
    assert len(names) == len(set(names))


@pytest.mark.parametrize("family", FAMILIES)
def test_nothing_carries_more_than_it_stands(family):
    for part in design_of(family).design.parts:
        assert part.carries, part.name
        assert part.rating, part.name
        assert part.margin >= 1.0, part


@pytest.mark.parametrize("family", FAMILIES)
def test_resistors_have_twice_their_watts(family):
    found = design_of(family)
    stress = stress_of(found)
    for part in found.design.netlist.parts:
        if not isinstance(part, Resistor) or part.name in {"RL", "RU1"}:
            continue
        shown = line(family, part.name)
        watts = float(stress[part.name].watts[0])
        assert first(shown.rating) >= 2.0 * watts
        assert first(shown.rating) >= 0.25
        assert shown.margin == pytest.approx(first(shown.rating) / watts, rel=1e-6)


def test_resistor_watts_by_hand():
    found = design_of("reference-relay")
    stress = stress_of(found)
    circuit, full = found.circuit, found.wish.highest
    # The upper branch, with the feedback beside it, feeds the lower one from the full battery.
    top, bottom, back = (
        circuit.divider_top.likely,
        circuit.divider_bottom.likely,
        circuit.feedback_resistor.likely,
    )
    fed = 1.0 / (1.0 / top + 1.0 / back)
    across = full * fed / (fed + bottom)
    # 1 % resistors and the pin's own current move it by a few in a hundred.
    assert float(stress["R1"].watts[0]) == pytest.approx(across**2 / top, rel=0.04)
    below = full - across
    assert float(stress["R2"].watts[0]) == pytest.approx(below**2 / bottom, rel=0.04)


@pytest.mark.parametrize("family", ["zener-relay", "comparator-relay"])
def test_coil_power_is_volts_squared_over_resistance(family):
    found = design_of(family)
    stress = stress_of(found)
    coil = DRAWER.part("relay", found.circuit.relay).coil_resistance
    # At 25 °C, 5 K above the label; the lightest coil of thirty, less what the driver keeps.
    warm = 1.0 + 5.0 * 0.00393
    contact = DRAWER.part("relay", found.circuit.relay).contact_resistance.high
    most = found.wish.highest**2 / (coil.low * warm) + contact * found.wish.load_current**2
    least = (found.wish.highest - 0.4) ** 2 / (coil.likely * warm)
    assert least <= float(stress["K1"].watts[0]) <= most


def test_coil_current_is_the_drivers():
    stress = stress_of(design_of("zener-relay"))
    assert float(stress["Q1"].amps[0]) == pytest.approx(float(stress["K1"].amps[0]), rel=1e-3)


@pytest.mark.parametrize("family", [name for name in FAMILIES if "relay" in name])
def test_contact_margin_is_rating_over_peak(family):
    found = design_of(family)
    shown = line(family, "K1")
    rated = DRAWER.part("relay", found.circuit.relay).contact_current.low
    assert first(shown.carries) == pytest.approx(found.wish.peak_current)
    assert shown.margin == pytest.approx(rated / found.wish.peak_current)
    assert shown.margin >= 1.25


@pytest.mark.parametrize("family", ["reference-mosfet", "comparator-mosfet"])
def test_transistor_heat_is_current_squared_times_resistance(family):
    found = design_of(family)
    part = DRAWER.part("transistor", found.circuit.mosfet)
    shown = line(family, "Q1")
    watts = part.on_resistance.high * found.wish.load_current**2
    assert first(shown.carries.split(", ")[-1]) == pytest.approx(watts, rel=0.01)
    margins = (
        part.current_max.low / found.wish.peak_current,
        part.power.low / watts,
        # Open it stands the volts at which the last of thirty builds comes back.
        part.voltage_max.likely / first(shown.carries),
    )
    assert first(shown.carries) == pytest.approx(found.wish.on, rel=0.04)
    assert shown.margin == pytest.approx(min(margins), rel=0.02)


@pytest.mark.parametrize("family", FAMILIES)
def test_capacitor_stands_the_charger(family):
    shown, found = line(family, "C1"), design_of(family)
    assert first(shown.rating) >= 1.4 * found.wish.highest
    assert "polarised" in shown.note


def test_weak_contact_is_told_as_stop():
    found = design_of("zener-relay")
    tired = CutoffWish(**{**vars(found.wish), "peak_current": 6.4})
    again = design_cutoff("zener-relay", tired, DRAWER, circuit=found.circuit, versions=20)
    relay = next(part for part in again.design.parts if part.name == "K1")
    assert relay.margin == pytest.approx(5.0 / 6.4)
    assert any(
        remark.level == "stop" and remark.says.startswith("K1 ") for remark in again.design.remarks
    )


@pytest.mark.parametrize("family", FAMILIES)
def test_devices_are_those_of_the_circuit(family):
    found = design_of(family)
    listed = {part.name: part.part for part in found.design.parts if part.part}
    circuit = found.circuit
    if "K1" in listed:
        assert listed["K1"] == circuit.relay
        assert listed["D2"] == circuit.flyback
    driver = circuit.mosfet if "mosfet" in family else circuit.transistor
    if "Q1" in listed:
        assert listed["Q1"] == driver
    assert np.isfinite([part.margin for part in found.design.parts]).all()
