"""Thresholds found at once against thresholds followed, a fine sweep, and laws by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.circuit.test_cutoff_block import VALUES, family_thresholds, family_values

from boomwright.circuit import thresholds
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, cutoff_netlist
from boomwright.circuit.equations import COPPER_COEFFICIENT
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.parts import Relay, Resistor, VoltageSource
from boomwright.circuit.sweep import sweep
from boomwright.circuit.thresholds import Thresholds, find_thresholds
from boomwright.circuit.turning import turning_points
from boomwright.circuit.watch import Watch, at_volts
from boomwright.physics.relay import relay_pickup_hot

MILLIVOLT = 1e-3


def _bell(**changes: object) -> Netlist:
    values: dict[str, object] = {
        "coil_a": "batt",
        "coil_b": "0",
        "common": "batt",
        "made": "out",
        "coil_resistance": 100.0,
        "operate": 0.08,
        "release": 0.03,
    }
    return Netlist(
        "relay",
        (
            VoltageSource(name="BT1", a="batt", b="0", voltage=12.0),
            Relay(name="K1", **{**values, **changes}),  # type: ignore[arg-type]
            Resistor(name="RL", a="out", b="0", resistance=1e3),
        ),
    )


BELL = Watch(relay="K1")


def test_relay_straight_on_its_supply():
    found = find_thresholds(_bell(), BELL, lowest=1.0, highest=14.0)
    assert float(found.off[0]) == pytest.approx(3.0, abs=MILLIVOLT)
    assert float(found.on[0]) == pytest.approx(8.0, abs=MILLIVOLT)


@pytest.mark.parametrize("celsius", [-10.0, 40.0, 60.0, 85.0])
def test_hot_relay_pulls_in_where_the_copper_law_says(celsius):
    # 9.0 V at 20 °C is 10.41 V at 60 °C (computed from IEC 60028, from memory).
    cold = 160.0
    net = _bell(
        coil_resistance=cold * (1.0 + 5.0 * 0.00393), operate=9.0 / cold, release=2.6 / cold
    )
    kelvin = 273.15 + celsius
    found = find_thresholds(net, BELL, lowest=1.0, highest=16.0, temperature=kelvin)
    assert float(found.on[0]) == pytest.approx(
        float(relay_pickup_hot(9.0, temperature_coil=kelvin)), rel=1e-5
    )
    assert float(found.off[0]) == pytest.approx(
        float(relay_pickup_hot(2.6, temperature_coil=kelvin)), rel=1e-5
    )
    if celsius == 60.0:
        assert float(found.on[0]) == pytest.approx(10.41, rel=0.005)


def test_temperatures_of_a_batch_each_count():
    kelvin = np.array([273.15, 298.15, 333.15])
    found = find_thresholds(_bell(), BELL, lowest=1.0, highest=14.0, temperature=kelvin)
    warm = 1.0 + COPPER_COEFFICIENT * (kelvin - 298.15)
    np.testing.assert_allclose(found.on, 8.0 * warm, rtol=1e-5)
    np.testing.assert_allclose(found.off, 3.0 * warm, rtol=1e-5)


def test_never_on_is_nan():
    found = find_thresholds(_bell(), BELL, lowest=1.0, highest=7.5)
    assert np.isnan(found.off[0])
    assert np.isnan(found.on[0])


def test_never_off_is_nan():
    # Below its release it is never brought: it takes hold, but does not let go.
    found = find_thresholds(_bell(), BELL, lowest=4.0, highest=14.0)
    assert np.isnan(found.off[0])
    assert float(found.on[0]) == pytest.approx(8.0, abs=MILLIVOLT)


def test_always_on_is_nan_both_ways():
    found = find_thresholds(_bell(), BELL, lowest=9.0, highest=14.0)
    assert np.isnan(found.off[0])
    assert np.isnan(found.on[0])


def test_samples_of_all_kinds_side_by_side():
    ohms = np.array([100.0, 1e4, 30.0])
    found = find_thresholds(_bell(coil_resistance=ohms), BELL, lowest=3.1, highest=14.0)
    np.testing.assert_allclose(found.on, [8.0, np.nan, np.nan], atol=MILLIVOLT)
    assert np.isnan(found.off).all()


def test_held_starts_the_way_down_with_the_relay_in():
    # Between release and operate: only what was pulled in by hand is on at the top.
    found = find_thresholds(_bell(), replace(BELL, held=True), lowest=1.0, highest=7.0)
    assert float(found.off[0]) == pytest.approx(3.0, abs=MILLIVOLT)
    assert np.isnan(found.on[0])


def _followed_only(family: str, monkeypatch: pytest.MonkeyPatch) -> Thresholds:
    def none(equations, *_):
        return np.full(equations.samples, np.nan), np.ones(equations.samples, dtype=bool)

    def no_turn(equations, *_, **__):
        return np.full(equations.samples, np.nan), np.full(equations.samples, np.nan)

    with monkeypatch.context() as patch:
        patch.setattr(thresholds, "_direct", none)
        patch.setattr(thresholds, "turning_points", no_turn)
        patch.setattr(thresholds, "_led_by_one", thresholds._of_any)
        return family_thresholds(family)  # type: ignore[arg-type]


@pytest.mark.parametrize("family", CUTOFF_FAMILIES)
def test_found_at_once_and_followed_agree(family, monkeypatch):
    once, followed = family_thresholds(family), _followed_only(family, monkeypatch)
    for end in ("off", "on"):
        np.testing.assert_allclose(
            getattr(once, end), getattr(followed, end), atol=1.5 * MILLIVOLT, err_msg=end
        )


def _swept(family: str, levels: np.ndarray, held: bool) -> np.ndarray:
    """Whether it is on at every level, followed from the first."""
    watch = CUTOFF_FAMILIES[family].watch  # type: ignore[index]
    net = cutoff_netlist(family, family_values(family))  # type: ignore[arg-type]
    states = {watch.relay: np.array([True])} if held and watch.relay else None
    run = sweep(net, "BT1", levels, states=states)
    return np.array([watch.on(point)[0] for point in run.points])


@pytest.mark.parametrize("family", CUTOFF_FAMILIES)
def test_thresholds_against_a_sweep_in_millivolts(family):
    found = family_thresholds(family)
    off, on = float(found.off[0]), float(found.on[0])
    fine = np.arange(-8.0, 9.0) * MILLIVOLT + 0.3 * MILLIVOLT
    down = np.concatenate([off + np.geomspace(14.4 - off, 0.012, 30), off + fine[::-1]])
    is_on = _swept(family, down, held=True)
    edge = down[np.argmin(is_on)]
    assert is_on[0]
    assert not is_on[-1]
    assert off == pytest.approx(edge, abs=1.6 * MILLIVOLT)
    if np.isnan(on):
        assert not np.any(_swept(family, np.arange(5.0, 14.4, 0.5), held=False))
        return
    up = np.concatenate([on - np.geomspace(on - 5.0, 0.012, 30), on + fine])
    is_on = _swept(family, up, held=False)
    assert not is_on[0]
    assert is_on[-1]
    assert on == pytest.approx(up[np.argmax(is_on)], abs=1.6 * MILLIVOLT)


@pytest.mark.parametrize("feedback", [120e3, 1.5e6])
@pytest.mark.parametrize("load", [4.0, 680.0])
def test_ends_of_the_gap_of_a_latching_transistor_against_a_sweep(feedback, load):
    family = "reference-mosfet"
    values = replace(VALUES, feedback_resistor=feedback, load_resistance=load)
    found = family_thresholds(family, values)
    net, watch = cutoff_netlist(family, values), CUTOFF_FAMILIES[family].watch
    for end, start in (("off", 14.0), ("on", 6.0)):
        edge = float(getattr(found, end)[0])
        step = MILLIVOLT if start < edge else -MILLIVOLT
        levels = np.concatenate(
            [
                edge + np.geomspace(start - edge, -10.0 * step, 30),
                edge + step * np.arange(-9.0, 12.0),
            ]
        )
        points = sweep(net, "BT1", levels).points
        states = np.array([watch.on(point)[0] for point in points])
        assert states[0] == (end == "off")
        jump = levels[np.argmax(states != states[0])]
        assert np.any(states != states[0])
        assert edge == pytest.approx(jump, abs=1.6 * MILLIVOLT)


def test_turning_points_serve_what_they_are_for():
    # The way of solving along the reference's pin, not the fallback, finds the gap here.
    family = "reference-mosfet"
    watch = CUTOFF_FAMILIES[family].watch
    net = cutoff_netlist(family, VALUES)
    along = find_thresholds(net, watch, lowest=5.0, highest=14.4)
    stepped = find_thresholds(net, replace(watch, pivot=""), lowest=5.0, highest=14.4)
    np.testing.assert_allclose(along.off, stepped.off, atol=MILLIVOLT)
    np.testing.assert_allclose(along.on, stepped.on, atol=MILLIVOLT)
    equations = thresholds.Equations(net)
    low = np.full(1, 5.0)
    bottom = at_volts(equations, watch, low, equations.first_states(), None)
    turns = turning_points(equations, bottom, source="BT1", pivot=watch.pivot, span=(5.0, 14.4))
    np.testing.assert_allclose(turns, [along.off, along.on], rtol=1e-12)


def test_batch_larger_than_a_chunk_equals_its_parts(monkeypatch):
    ohms = np.linspace(60.0, 140.0, 23)
    whole = find_thresholds(_bell(coil_resistance=ohms), BELL, lowest=1.0, highest=14.0)
    monkeypatch.setattr(thresholds, "_CHUNK", 5)
    parts = find_thresholds(_bell(coil_resistance=ohms), BELL, lowest=1.0, highest=14.0)
    np.testing.assert_allclose(parts.off, whole.off, rtol=1e-12)
    np.testing.assert_allclose(whole.off, 0.03 * ohms, rtol=1e-4)
    np.testing.assert_allclose(parts.on, whole.on, rtol=1e-12)
    np.testing.assert_allclose(whole.on, 0.08 * ohms, rtol=1e-4)


@pytest.mark.parametrize("family", CUTOFF_FAMILIES)
def test_search_does_not_hang_on_where_it_starts(family):
    net = cutoff_netlist(family, family_values(family))
    watch = CUTOFF_FAMILIES[family].watch
    here = find_thresholds(net, watch, lowest=5.0, highest=14.4)
    there = find_thresholds(net, watch, lowest=1.0, highest=17.0)
    np.testing.assert_allclose(there.off, here.off, atol=1.2 * MILLIVOLT)
    np.testing.assert_allclose(there.on, here.on, atol=1.2 * MILLIVOLT)


def test_watch_without_a_relay_asks_whether_the_load_is_fed():
    net = cutoff_netlist("comparator-mosfet", family_values("comparator-mosfet"))
    run = sweep(net, "BT1", np.array([13.0, 8.0]))
    assert [bool(Watch().on(point)[0]) for point in run.points] == [True, False]
    assert Watch().source_node(net) == "batt"
