"""Protection against swapped poles: losses by the laws, the reversed case in the circuit."""

import numpy as np
import pytest

from boomwright.circuit.blocks.polarity import POLARITY_KINDS
from boomwright.circuit.spice import spice_netlist
from boomwright.design.polarity.design import compare_polarity, design_polarity
from boomwright.errors import InputError
from boomwright.physics.fuse import fuse_resistance, melting_integral
from boomwright.physics.polarity import loss_db, reverse_current, schottky_loss

USUAL = {
    "fuse_rating": 5.0,
    "load_current": 1.1,
    "peak_current": 3.0,
    "battery_low": 10.5,
    "battery_high": 12.8,
}


def _designed(kind, **changes):
    return design_polarity(kind, **{**USUAL, **changes})


@pytest.fixture(scope="module")
def sheets():
    return dict(zip(POLARITY_KINDS, compare_polarity(**USUAL), strict=True))


def test_all_four_make_one_table(sheets):
    assert [sheet.family for sheet in sheets.values()] == list(POLARITY_KINDS)
    labels = {tuple(figure.label for figure in sheet.figures[:8]) for sheet in sheets.values()}
    assert len(labels) == 1


def test_order_of_the_losses(sheets):
    lost = {kind: sheet.figure("volts lost at the peak").likely for kind, sheet in sheets.items()}
    assert lost["shunt-diode"] == 0.0
    assert lost["p-mosfet"] < 0.1 < lost["series-schottky"] < 0.6 < lost["series-silicon"]


def test_schottky_at_its_rated_current_drops_what_the_drawer_says(sheets):
    # The 1N5821 of the drawer: 0.46 V at 3 A, 0.4 to 0.5 V.
    found = sheets["series-schottky"].figure("volts lost at the peak")
    assert (found.likely, found.low, found.high) == pytest.approx((0.46, 0.40, 0.50), rel=1e-4)


def test_heat_and_level_follow_the_laws(sheets):
    for sheet in sheets.values():
        drop = sheet.figure("volts lost on average").likely
        heat = float(schottky_loss(1.1, voltage_forward=drop))
        assert sheet.figure("heat on average").likely == pytest.approx(heat, rel=1e-9)
        peak = sheet.figure("volts lost at the peak").likely
        level = float(loss_db(11.65, drop=peak))
        assert sheet.figure("clean level lost").likely == pytest.approx(level, rel=1e-9)


def test_series_schottky_costs_the_usual_decibels(sheets):
    # 0.3 to 0.5 V of 12 V costs 0.2 to 0.4 dB (computed).
    found = sheets["series-schottky"].figure("clean level lost").likely
    assert 0.2 < found < 0.4


def test_transistor_loses_its_resistance_times_the_current(sheets):
    # 18 mΩ at 4.5 V and a threshold of 1.7 V: at 12 V on the gate (4.5 - 1.7) / (12 - 1.7) of it.
    found = sheets["p-mosfet"].figure("volts lost at the peak").likely
    gate = 11.65 - 3.0 * (0.06 + float(fuse_resistance(5.0, kind="blade")))
    assert found == pytest.approx(3.0 * 0.018 * 2.8 / (gate - 1.7), rel=0.02)


def test_reversed_battery_reaches_no_load_behind_a_series_part(sheets):
    for kind in ("series-schottky", "series-silicon", "p-mosfet"):
        seen = sheets[kind].figure("load sees, battery reversed")
        assert -0.01 < seen.low <= seen.high <= 0.0
        assert sheets[kind].figure("battery gives, reversed").high < 2e-3


def test_reversed_battery_through_a_shunt_diode(sheets):
    sheet = sheets["shunt-diode"]
    volts = -sheet.figure("load sees, battery reversed").likely
    loop = 0.06 + float(fuse_resistance(5.0, kind="blade"))
    law = float(reverse_current(12.8, voltage_forward=volts, resistance_loop=loop))
    amps = sheet.figure("battery gives, reversed").likely
    assert amps == pytest.approx(law, rel=2e-3)
    assert 0.9 < volts < 2.0
    assert any("load still sees" in remark.says for remark in sheet.remarks)


def test_fuse_and_diode_are_compared_by_their_integrals(sheets):
    sheet = sheets["shunt-diode"]
    passes = sheet.figure("fuse lets through (A² s)")
    assert passes.low == pytest.approx(float(melting_integral(5.0, kind="blade")), rel=1e-9)
    amps = sheet.figure("battery gives, reversed").likely
    # Beyond six times its rating a blade fuse is open within 0.1 s.
    assert passes.high == pytest.approx(amps**2 * 0.1, rel=1e-6)
    # A half-wave of 400 A lasts 1/120 s: I² t / 2.
    assert sheet.figure("diode stands (A² s)").likely == pytest.approx(400.0**2 / 240.0, rel=1e-9)


def test_small_diode_dies_before_a_big_fuse():
    sheet = _designed("shunt-diode", fuse_rating=10.0, part="1N4001")
    assert sheet.remarks[0].level == "stop"
    assert "diode dies first" in sheet.remarks[0].says


def test_fuse_opens_first_where_the_battery_is_weak():
    # 20 A into a 5 A fuse: open within half a second or so, 200 A² s, a third of what it stands.
    sheet = _designed("shunt-diode", battery_resistance=0.55)
    (first,) = (remark for remark in sheet.remarks if "opens first" in remark.says)
    assert first.level == "fine"
    passes, stands = (
        sheet.figure(f"{who} (A² s)") for who in ("fuse lets through", "diode stands")
    )
    assert passes.high < stands.likely


def test_fuse_that_never_opens_is_a_stop():
    sheet = _designed("shunt-diode", battery_resistance=2.2)
    amps = sheet.figure("battery gives, reversed").likely
    assert 5.0 < amps < 6.5
    assert sheet.remarks[0].level == "stop"
    assert "too little for the fuse" in sheet.remarks[0].says


def test_fuse_too_small_for_hours_is_told():
    # Three quarters of a blade fuse for hours: 4 A ask for 5.33 A, the next is 7.5 A.
    sheet = _designed("p-mosfet", load_current=4.0, peak_current=6.0)
    (found,) = (remark for remark in sheet.remarks if "for hours" in remark.says)
    assert (found.level, "7.5 A" in found.do) == ("mind", True)


def test_parked_drain_is_next_to_nothing(sheets):
    assert all(sheet.figure("drain when parked").high < 2e-6 for sheet in sheets.values())


def test_high_battery_brings_a_gate_zener():
    sheet = _designed("p-mosfet", battery_low=20.0, battery_high=25.2)
    zener, resistor = sheet.netlist.part("D1"), sheet.netlist.part("R1")
    assert zener.voltage < 15.0
    parked = sheet.figure("drain when parked").likely
    assert parked == pytest.approx((25.2 - zener.voltage) / resistor.resistance, rel=0.05)
    assert parked < 0.21e-3
    assert {line.name for line in sheet.parts} == {"F1", "Q1", "R1", "D1"}
    assert "D1" not in {part.name for part in _designed("p-mosfet").netlist.parts}


def test_series_diodes_stand_battery_and_full_capacitors(sheets):
    for kind in ("series-schottky", "series-silicon"):
        line = next(line for line in sheets[kind].parts if line.name == "D1")
        assert "25.6 V reversed" in line.carries
        assert line.margin > 1.1


def test_readings_never_reverse_the_battery(sheets):
    for sheet in sheets.values():
        assert "Never try a reversed battery" in sheet.cautions[0]
        swapped = [reading for reading in sheet.readings if "swapped" in reading.do]
        assert any("limit 0.1 A" in reading.do for reading in swapped)
        assert any("never on the battery" in reading.caution for reading in swapped)
        for reading in sheet.readings:
            assert reading.expect.low <= reading.expect.likely <= reading.expect.high, reading.do


def test_bench_reading_of_a_silicon_diode(sheets):
    # Two tenths of a volt below its drop at thirty times the current: n kT/q ln 30, n = 2.
    drop = next(r for r in sheets["series-silicon"].readings if "0.1 A. Probes across the" in r.do)
    by_hand = 0.95 - 0.02 - 2.0 * 0.025693 * np.log(30.0) + 0.1 * 0.02 / 3.0
    assert drop.expect.likely == pytest.approx(by_hand, rel=1e-3)


def test_figures_hold_their_limits(sheets):
    for sheet in sheets.values():
        for figure in sheet.figures:
            assert figure.low <= figure.likely <= figure.high, figure.label


def test_they_export(sheets):
    for sheet in sheets.values():
        assert "RL out 0" in spice_netlist(sheet.netlist)


@pytest.mark.parametrize(
    ("kind", "changes", "words"),
    [
        ("plug", {}, "read 'plug'"),
        ("p-mosfet", {"fuse_type": "wax"}, "read 'wax'"),
        ("p-mosfet", {"load_current": 0.0}, "load current of a polarity protection; read 0 A"),
        ("p-mosfet", {"peak_current": 0.7}, "peak current below the mean; read 700 mA"),
        ("p-mosfet", {"load_current": 5.5, "peak_current": 6.0}, "opens the fuse; read 5.5 A"),
        ("p-mosfet", {"battery_low": 13.3}, "read 13.3 V; expected 12.8 V or less"),
        ("p-mosfet", {"battery_high": float("nan")}, "read unknown"),
        ("series-schottky", {"part": "1N4001"}, "read '1N4001'"),
        ("shunt-diode", {"fuse_rating": 20.0}, "read 20 A at.*at most 6 A.*smaller fuse"),
        (
            "series-silicon",
            {"fuse_rating": 25.0, "load_current": 18.0, "peak_current": 20.0},
            r"read 21\.6 A.*P-channel",
        ),
    ],
)
def test_impossible_wishes_get_a_reason(kind, changes, words):
    with pytest.raises(InputError, match=words):
        _designed(kind, **changes)
