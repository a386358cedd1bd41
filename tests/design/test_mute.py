"""Mute delays: the wanted delay met, its limits, release, and a second quick start."""

import numpy as np
import pytest

from boomwright.circuit.blocks.mute import MUTE_KINDS, mute_netlist
from boomwright.circuit.spice import spice_netlist
from boomwright.circuit.transient import transient
from boomwright.design.mute.design import design_mute
from boomwright.errors import InputError
from boomwright.physics.preferred import preferred_values
from boomwright.physics.smoothing import charging_time


@pytest.fixture(scope="module")
def sheets():
    return {kind: design_mute(kind) for kind in MUTE_KINDS}


def _preferred(value, series):
    decade = value / 10.0 ** np.floor(np.log10(value))
    return bool(np.any(np.isclose(preferred_values(series), decade)))


def test_delay_law():
    # The usual second: 10 kΩ and 100 µF to 63.2 % (computed).
    share = 1.0 - np.exp(-1.0)
    assert float(
        charging_time(10e3, 100e-6, divider=np.inf, voltage=9.0, threshold=9.0 * share)
    ) == pytest.approx(1.0, rel=1e-12)
    # From half way up it takes less; past the threshold nothing; above the end for ever.
    found = charging_time(
        10e3, 100e-6, divider=np.inf, voltage=9.0, threshold=6.0, start=np.array([0.0, 3.0, 7.0])
    )
    assert found.tolist() == pytest.approx([np.log(3.0), np.log(2.0), 0.0])
    assert charging_time(10e3, 1e-4, divider=10e3, voltage=9.0, threshold=4.6) == np.inf


def test_delay_law_broadcasts():
    found = charging_time(
        np.array([[10e3], [20e3], [33e3]]), 47e-6,
        divider=1e6, voltage=np.array([9.0, 12.0, 13.0, 14.0]), threshold=5.0,
    )  # fmt: skip
    assert found.shape == (3, 4)
    assert np.all(np.diff(found, axis=0) > 0.0)
    assert np.all(np.diff(found, axis=1) < 0.0)


@pytest.mark.parametrize("kind", MUTE_KINDS)
def test_wanted_delay_is_met(sheets, kind):
    assert sheets[kind].figure("sound comes after").likely == pytest.approx(1.0, rel=0.15)


@pytest.mark.parametrize("kind", MUTE_KINDS)
def test_circuit_agrees_with_the_closed_form(sheets, kind):
    sheet = sheets[kind]
    values = {name: sheet.netlist.part(name) for name in ("R1", "R2", "R3", "C1")}
    top, bottom = values["R2"].resistance, values["R3"].resistance
    threshold = next(r for r in sheet.readings if "turned up slowly" in r.do).expect.likely
    by_hand = charging_time(
        values["R1"].resistance, values["C1"].capacitance,
        divider=top + bottom, voltage=12.0, threshold=threshold,
    )  # fmt: skip
    found = sheet.figure("sound comes after").likely
    # The base current loads the divider a little; a relay's coil takes some more.
    assert found == pytest.approx(float(by_hand), rel=0.10)
    # Base-emitter volts, by the divider, and what the base draws through its top.
    assert threshold == pytest.approx(0.62 * (1.0 + top / bottom), rel=0.1)


@pytest.mark.parametrize("kind", MUTE_KINDS)
def test_values_are_of_the_series(sheets, kind):
    parts = sheets[kind].netlist
    for name in ("R1", "R2", "R3"):
        assert _preferred(parts.part(name).resistance, "E24"), name
    assert _preferred(parts.part("C1").capacitance, "E6")


def test_every_sample_lies_between_the_corners(sheets):
    sheet = sheets["mute-high"]
    parts = sheet.netlist
    draw = np.random.default_rng(7)
    shares = {name: draw.uniform(0.95, 1.05, 12) for name in ("R1", "R2", "R3")}
    net = mute_netlist_of(sheet, schedule=((1e-3, True),))
    for name, share in shares.items():
        net = net.with_values(name, resistance=parts.part(name).resistance * share)
    capacitance = parts.part("C1").capacitance * draw.uniform(0.8, 1.2, 12)
    net = net.with_values("C1", capacitance=capacitance)
    net = net.with_values("BT1", voltage=draw.uniform(9.6, 13.8, 12))
    limits = sheet.figure("sound comes after")
    moments = np.array([1e-3 + limits.low * 0.98, 1e-3 + limits.high * 1.02])
    run = transient(net, float(moments[1]) + 0.1, times=moments)
    muted, playing = run.voltage("pin")
    assert np.all(muted > 4.0)
    assert np.all(playing < 1.0)


def mute_netlist_of(sheet, *, schedule):
    return sheet.netlist.with_values("S1", closed=False, schedule=schedule)


def test_older_capacitors_widen_the_delay(sheets):
    new = sheets["mute-high"].figure("sound comes after")
    old = design_mute("mute-high", capacitor_tolerance=(-0.2, 0.5)).figure("sound comes after")
    assert old.likely == pytest.approx(new.likely, rel=1e-3)
    assert old.low == pytest.approx(new.low, rel=1e-3)
    # The slowest goes with its capacitor: 1.5 for 1.2.
    assert old.high == pytest.approx(new.high * 1.5 / 1.2, rel=5e-3)


@pytest.mark.parametrize("kind", MUTE_KINDS)
def test_sound_goes_sooner_than_it_comes(sheets, kind):
    sheet = sheets[kind]
    gone = sheet.figure("mutes after switch-off")
    assert 0.0 < gone.low <= gone.likely <= gone.high < 0.5 * sheet.figure("sound comes after").low


@pytest.mark.parametrize("kind", ["mute-low", "mute-high"])
def test_release_follows_the_rail(sheets, kind):
    # The rail empties through its load, alone until the diode conducts, then with the delay's
    # capacitor: t = R C ln(12 V / V_1) + R (C + C1) ln(V_1 / V_then), 120 Ω and 1000 µF.
    sheet = sheets[kind]
    rail = sheet.figure("rail when it mutes").likely
    parts = sheet.netlist
    divider = parts.part("R2").resistance + parts.part("R3").resistance
    first = 12.0 * divider / (divider + parts.part("R1").resistance) - 0.6
    both = 1e-3 + parts.part("C1").capacitance
    by_hand = 120.0 * (1e-3 * np.log(12.0 / first) + both * np.log(first / rail))
    found = sheet.figure("mutes after switch-off").likely
    assert found == pytest.approx(by_hand, rel=0.05)


def test_smaller_rail_capacitor_lets_go_sooner(sheets):
    quick = design_mute("mute-high", rail_capacitor=220e-6)
    assert (
        quick.figure("mutes after switch-off").likely
        < 0.5 * sheets["mute-high"].figure("mutes after switch-off").likely
    )


@pytest.mark.parametrize("kind", MUTE_KINDS)
def test_second_start_still_mutes(sheets, kind):
    sheet = sheets[kind]
    first = sheet.figure("sound comes after").likely
    again = sheet.figure("sound comes after, off for 1 s before").likely
    assert 0.8 * first < again <= 1.01 * first
    assert sheet.figure("off time for half the delay").likely < 1.0


def test_rail_that_outlasts_the_second_is_told():
    sheet = design_mute("mute-high", rail_capacitor=20e-3, idle_current=0.01)
    assert sheet.figure("sound comes after, off for 1 s before").likely == 0.0
    assert any(r.level == "mind" and "one second off" in r.says for r in sheet.remarks)


def test_rail_that_is_gone_at_once_mutes_by_itself():
    sheet = design_mute("mute-low", supply=4.6, rail_capacitor=11e-6, idle_current=0.27)
    gone = sheet.figure("mutes after switch-off")
    assert 0.0 < gone.low <= gone.high < 0.5


def test_off_time_for_half_the_delay_gives_half_the_delay(sheets):
    sheet = sheets["mute-high"]
    waits = sheet.figure("off time for half the delay").likely
    start, off = 1e-3, 8.0
    back = off + waits
    net = mute_netlist_of(sheet, schedule=((start, True), (off, False), (back, True)))
    moments = back + np.array([0.40, 0.60])
    run = transient(net, back + 1.5, times=moments)
    muted, playing = run.voltage("pin")[:, 0]
    assert muted > 4.0
    assert playing < 1.0


def test_each_kind_says_what_it_may_be_used_on(sheets):
    says = {kind: " ".join(r.says for r in sheet.remarks) for kind, sheet in sheets.items()}
    assert "pin mutes when pulled low" in says["mute-low"]
    assert "mutes when high" in says["mute-high"]
    assert "without a mute pin" in says["relay"]
    assert "one of its two leads" in sheets["relay"].cautions[0]
    assert "Never join the minus leads" in sheets["relay"].cautions[0]


def test_relay_carries_the_loudspeaker_and_pulls_in_when_empty(sheets):
    relay = next(line for line in sheets["relay"].parts if line.name == "K1")
    assert relay.part.startswith("relay-12v")
    assert relay.margin > 1.0
    coil = sheets["relay"].netlist.part("K1")
    assert coil.operate * coil.coil_resistance < 9.6 - 0.3


@pytest.mark.parametrize("kind", MUTE_KINDS)
def test_limits_and_margins(sheets, kind):
    sheet = sheets[kind]
    for figure in sheet.figures:
        assert figure.low <= figure.likely <= figure.high, figure.label
    for reading in sheet.readings:
        assert reading.expect.low <= reading.expect.likely <= reading.expect.high, reading.do
    assert all(line.margin > 1.2 for line in sheet.parts)


@pytest.mark.parametrize("kind", MUTE_KINDS)
def test_they_export(sheets, kind):
    assert "C1 delay 0" in spice_netlist(sheets[kind].netlist)


@pytest.mark.parametrize(("wanted", "supply"), [(0.1, 5.0), (0.3, 24.0), (4.0, 12.0), (10.0, 9.0)])
def test_other_delays_and_supplies(wanted, supply):
    found = design_mute("mute-high", on_delay=wanted, supply=supply).figure("sound comes after")
    assert found.likely == pytest.approx(wanted, rel=0.2)
    assert np.isfinite(found.high)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"on_delay": 0.0}, "on delay of a mute; read 0 s.*nearest possible is 0.1 s"),
        ({"on_delay": 86400.0}, "read 24 h.*10 s; a longer wait wants a timer"),
        ({"on_delay": float("nan")}, "read unknown"),
        ({"supply": 2.0}, "supply of a mute; read 2 V"),
        ({"supply": 12.0, "supply_low": 12.5}, "outside its own range; read 12 V"),
        ({"kind": "fuse"}, "read 'fuse'"),
        ({"capacitor_tolerance": (-0.95, 0.2)}, "read -95 % to 20 %"),
        ({"kind": "relay", "supply": 18.0}, "read 14.4 V to 20.7 V.*coils of 5 V, 12 V, 24 V"),
        ({"pull_up": 0.0}, "pull up of a mute; read 0 Ω"),
    ],
)
def test_impossible_wishes_get_a_reason(changes, words):
    with pytest.raises(InputError, match=words):
        design_mute(**changes)


def test_netlists_of_the_sheet_are_closed_at_rest(sheets):
    for kind, sheet in sheets.items():
        assert sheet.netlist.title == MUTE_KINDS[kind]
        assert sheet.netlist.part("S1").closed
    with pytest.raises(ValueError, match="got 'none'"):
        mute_netlist("none", None)
