"""Designed cutoffs as a whole: readings, life with the battery, figures and remarks."""

from functools import cache

import numpy as np
import pytest
from tests.design.cutoffs import (
    DRAWER,
    FAMILIES,
    GAPPED,
    design_of,
    share_between,
    soldered,
    wish_of,
)

from boomwright.build.soldered import solved_cutoff
from boomwright.circuit.spice import spice_netlist
from boomwright.design.cutoff.design import design_cutoff
from boomwright.design.cutoff.life import cutoff_law, early_trip
from boomwright.design.sheet import Design
from boomwright.errors import InputError

SINGLE = {
    "relay": "relay-12v-270ohm",
    "zener": "1N4740A",
    "series_resistor": "1 kΩ",
    "base_resistor": "10 kΩ",
}


@cache
def others_of(family):
    """Versions that the design has not seen."""
    found = design_of(family)
    return solved_cutoff(
        found.circuit,
        DRAWER,
        highest=found.wish.highest,
        load_current=found.wish.load_current,
        versions=900,
        seed=31,
    )


def measured(family, label, versions):
    """What a meter would show in each version."""
    point, circuit = versions.closed, design_of(family).circuit
    cathode = "zener" if circuit.zener_resistor is not None else "sense"
    emitter = "e" if circuit.emitter_resistor is not None else "0"
    show = {
        "takes itself": lambda: versions.drain_on,
        "zener": lambda: point.voltage(cathode, "base"),
        "base": lambda: point.voltage("base", emitter),
        "reference": lambda: point.voltage("ref"),
        "gate": lambda: point.voltage("batt", "gate"),
        "lets go at": lambda: versions.off,
        "comes back at": lambda: versions.on,
        "takes itself, open": lambda: versions.drain_off,
        "drop": lambda: versions.resistance * design_of(family).wish.load_current,
    }
    return show[label]()


@pytest.mark.parametrize("family", FAMILIES)
def test_limits_of_bench_readings_hold_98_of_100_versions(family):
    versions = others_of(family)
    for reading in design_of(family).design.readings:
        expect = reading.expect
        if expect.label == "ohms":
            assert (expect.low, expect.high) == (5e3, np.inf)
            continue
        values = measured(family, expect.label, versions)
        # Limits from 300 draws, counted with 900 others: two in a hundred out, give or take.
        assert share_between(values, expect.low, expect.high) >= 0.96, expect.label
        assert expect.low <= expect.likely <= expect.high


@pytest.mark.parametrize("family", FAMILIES)
def test_readings_come_in_a_safe_order(family):
    readings = design_of(family).design.readings
    labels = [reading.expect.label for reading in readings]
    assert labels[0] == "ohms"
    assert readings[0].do.startswith("Nothing connected")
    assert "limit 0.3 A" in readings[1].do
    assert labels.index("takes itself") < labels.index("lets go at") < labels.index("drop")
    assert ("comes back at" in labels) == (family != "zener-relay-holding")
    assert all(reading.do and reading.meter for reading in readings)


@pytest.mark.parametrize("family", FAMILIES)
def test_netlist_exports_and_holds_the_likely_circuit(family):
    found = design_of(family).design
    assert isinstance(found, Design)
    assert found.block == "cutoff"
    text = spice_netlist(found.netlist, analyses=(".op",))
    for part in found.parts:
        assert f"{part.name} " in text or f"{part.name}_" in text


@pytest.mark.parametrize("family", FAMILIES)
def test_figures_hold_their_own_limits(family):
    found = design_of(family)
    for figure in found.design.figures:
        if np.isfinite([figure.likely, figure.low, figure.high]).all():
            assert figure.low <= figure.likely <= figure.high
    off = found.design.figure("lets go at")
    assert off.likely == pytest.approx(float(found.solved.off[0]))
    assert (off.low, off.high) == pytest.approx(
        tuple(np.quantile(found.solved.off, (0.02, 0.98))), rel=1e-9
    )
    with pytest.raises(ValueError, match="no figure 'colour'"):
        found.design.figure("colour")


@pytest.mark.parametrize("family", GAPPED)
def test_gap_keeps_the_contact_open_in_the_hour_after(family):
    found = design_of(family)
    assert not found.run.chatters
    assert found.run.openings_per_hour[0] == 0.0
    assert any(
        remark.level == "fine" and "opens once" in remark.says for remark in found.design.remarks
    )


def test_single_threshold_chatters_on_a_battery_that_rebounds():
    wish = wish_of("12 V 7 Ah AGM", off=11.2, load_current=3.0, peak_current=3.5)
    circuit = soldered("zener-relay", **SINGLE)
    found = design_cutoff("zener-relay", wish, DRAWER, circuit=circuit, versions=60)
    rebound = 6.0 * found.run.at_first.rested - float(found.solved.off[0])
    assert rebound > found.law.on - found.law.off
    assert found.run.chatters
    assert found.run.openings_per_hour[0] >= 3.0
    assert found.design.remarks[0].level == "stop"
    assert any("chatters" in remark.says for remark in found.design.remarks)


def test_self_holding_one_does_not():
    wish = wish_of("12 V 7 Ah AGM", off=11.2, load_current=3.0, peak_current=3.5)
    circuit = soldered("zener-relay-holding", **SINGLE)
    found = design_cutoff("zener-relay-holding", wish, DRAWER, circuit=circuit, versions=60)
    assert found.law.stays_off
    assert not found.run.chatters
    assert found.run.opened == 1
    assert any("until its button" in remark.says for remark in found.design.remarks)
    # The same parts let go at the same volts, but for what the contact keeps of the supply.
    single = soldered("zener-relay", **SINGLE)
    other = design_cutoff("zener-relay", wish, DRAWER, circuit=single, versions=60)
    assert found.law.off == pytest.approx(other.law.off, abs=0.15)  # V


@pytest.mark.parametrize("family", FAMILIES)
def test_law_is_the_likely_version(family):
    found = design_of(family)
    law = cutoff_law(found.solved)
    assert law.off == float(found.solved.off[0])
    assert law.stays_off == (family == "zener-relay-holding")
    if not law.stays_off:
        assert law.on == float(found.solved.on[0])
    assert law.drain_on == float(found.solved.drain_on[0])
    assert law.delay_on == (0.010 if "relay" in family else 0.001)


@pytest.mark.parametrize("family", FAMILIES)
def test_filter_waits_longer_than_a_beat(family):
    found = design_of(family)
    assert found.law.smoothing > 0.2
    late = early_trip(found.wish, found.law) - found.law.off
    # Three times the current for a fifth of a second at the battery's own resistance.
    assert 0.0 < late < 2.0 * found.wish.load_current * 0.05


def test_drain_of_the_holding_one_is_next_to_nothing():
    drains = {family: float(design_of(family).solved.drain_off[0]) for family in FAMILIES}
    assert min(drains, key=drains.get) == "zener-relay-holding"
    assert drains["zener-relay-holding"] < 1e-5
    assert (
        design_of("zener-relay-holding").run.ruined_after
        > design_of("zener-relay").run.ruined_after
    )


def test_own_current_of_a_relay_is_its_coils():
    found = design_of("reference-relay")
    coil = DRAWER.part("relay", found.circuit.relay).coil_resistance.likely
    # The reference keeps about two volts; the divider takes a third of a milliampere.
    amps = (found.wish.highest - 2.0) / coil
    assert float(found.solved.drain_on[0]) == pytest.approx(amps, rel=0.04)


def test_given_circuit_without_a_part_is_refused():
    circuit = soldered("zener-relay", relay="relay-12v-400ohm", base_resistor="10 kΩ")
    with pytest.raises(InputError) as caught:
        design_cutoff("zener-relay", wish_of(), DRAWER, circuit=circuit)
    assert {problem.key for problem in caught.value.problems} == {"zener", "series_resistor"}


def test_given_circuit_with_an_unknown_part_is_refused_with_the_nearest():
    circuit = soldered("zener-relay", **{**SINGLE, "zener": "1N4740"})
    with pytest.raises(InputError) as caught:
        design_cutoff("zener-relay", wish_of(), DRAWER, circuit=circuit)
    (problem,) = caught.value.problems
    assert problem.got == "'1N4740'"
    assert "1N4740A" in problem.hint
