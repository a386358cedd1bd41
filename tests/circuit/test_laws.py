"""Laws of the curved parts: derivatives, limits, energy, and facts in print."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from boomwright.circuit import chip_laws, laws
from boomwright.circuit.values import BOLTZMANN_OVER_CHARGE, Floats, thermal_voltage

SCALE = 0.025_693
Law = Callable[[Floats], tuple[Floats, Floats]]


def _one(law: Law) -> Law:
    """A law of one voltage in the shape of those of two."""

    def wide(volts: Floats) -> tuple[Floats, Floats]:
        current, slope = law(volts[0])
        return current[None], slope[None, None]

    return wide


def _junction(volts: Floats) -> tuple[Floats, Floats]:
    return laws.junction_currents(volts, np.array(2e-14), np.array(SCALE))


def _zener(volts: Floats) -> tuple[Floats, Floats]:
    return laws.zener_currents(
        volts,
        saturation=np.array(1e-14),
        scale=np.array(SCALE),
        breakdown=np.array(9.07),
        test=np.array(0.028),
        knee=np.array(0.041),
    )


def _bipolar(sign: float) -> Law:
    def law(volts: Floats) -> tuple[Floats, Floats]:
        return laws.bipolar_currents(
            volts,
            sign=sign,
            saturation=np.array(3e-14),
            scale=np.array(SCALE),
            gain=np.array(170.0),
            gain_reverse=4.5,
        )

    return law


def _mosfet(sign: float) -> Law:
    def law(volts: Floats) -> tuple[Floats, Floats]:
        return laws.mosfet_currents(
            volts, sign=sign, threshold=np.array(1.8), transconductance=np.array(6.5)
        )

    return law


def _reference(volts: Floats) -> tuple[Floats, Floats]:
    return chip_laws.reference_currents(
        volts,
        voltage=np.array(2.495),
        transconductance=np.array(2.2),
        cathode_least=np.array(1.9),
        reference_current=np.array(2e-6),
        idle_current=np.array(0.3e-3),
        leakage=np.array(1e-7),
    )


def _regulator(volts: Floats) -> tuple[Floats, Floats]:
    return chip_laws.regulator_currents(
        volts,
        voltage=np.array(5.05),
        dropout=np.array(1.7),
        quiescent=np.array(4.2e-3),
        resistance=np.array(0.03),
    )


# Law, terminals, and the volts of each in which it does something.
LAWS: dict[str, tuple[Law, list[tuple[float, float]]]] = {
    "junction": (_one(_junction), [(-3.0, 0.9)]),
    "junction-wild": (_one(_junction), [(-60.0, 40.0)]),
    "zener": (_one(_zener), [(-9.6, 0.8)]),
    "npn": (_bipolar(1.0), [(-0.7, 4.0), (-0.8, 0.8)]),
    "pnp": (_bipolar(-1.0), [(-4.0, 0.7), (-0.8, 0.8)]),
    "n-mosfet": (_mosfet(1.0), [(-6.0, 6.0), (-6.0, 6.0)]),
    "p-mosfet": (_mosfet(-1.0), [(-6.0, 6.0), (-6.0, 6.0)]),
    "reference": (_reference, [(-1.0, 12.0), (2.48, 2.51)]),
    "reference-wide": (_reference, [(-1.0, 12.0), (-1.0, 4.0)]),
    "regulator": (_regulator, [(-2.0, 15.0), (-1.0, 6.0)]),
    "regulator-bend": (_regulator, [(6.6, 6.9), (4.9, 5.1)]),
}


def _points(name: str, count: int = 400) -> Floats:
    spans = LAWS[name][1]
    seed = sum(name.encode())
    low, high = np.array(spans).T
    random = np.random.default_rng(seed).random((len(spans), count))
    return low[:, None] + (high - low)[:, None] * random


@pytest.mark.parametrize("name", LAWS)
def test_slopes_are_the_derivatives_of_the_currents(name):
    law, volts = LAWS[name][0], _points(name)
    _, slopes = law(volts)
    for column in range(len(volts)):
        step = np.zeros_like(volts)
        step[column] = 1e-6
        up, down = law(volts + step)[0], law(volts - step)[0]
        measured = (up - down) / 2e-6
        # What cancels in the difference of two currents is no fault of the slope; the ramps of
        # chips cancel some volts against each other before 0.03 Ω makes them amperes.
        rounding = 2e-15 * np.maximum(np.abs(up), np.abs(down)) / 1e-6
        rounding += 1e-6 if name.startswith("re") else 0.0
        bend = 1e-4 * np.max(np.abs(slopes[:, column]), axis=0)
        wrong = np.abs(measured - slopes[:, column]) > rounding + bend + 1e-11
        # A square law has a corner in its slope, which a step may straddle.
        assert np.mean(wrong) <= (0.005 if "mosfet" in name else 0.0)


@pytest.mark.parametrize("name", LAWS)
def test_zero_volts_give_zero_current(name):
    law = LAWS[name][0]
    currents, _ = law(np.zeros((len(LAWS[name][1]), 1)))
    # A rounded corner leaves a trickle: 0.2 µA is far below what any of these circuits works with.
    assert np.max(np.abs(currents)) < (2e-7 if name.startswith("reg") else 1e-15)


@pytest.mark.parametrize("name", LAWS)
def test_passive_parts_never_give_power(name):
    volts = _points(name, 3000)
    currents, _ = LAWS[name][0](volts)
    watts = np.sum(currents * volts, axis=0)
    # The rounded corner of the regulator moves less than a microampere the wrong way.
    assert np.min(watts) >= (-1e-5 if name.startswith("reg") else -1e-18)


@pytest.mark.parametrize("name", LAWS)
def test_nothing_overflows_far_from_any_sense(name):
    law, spans = LAWS[name]
    corners = np.array(np.meshgrid(*[[-1e4, -100.0, 100.0, 1e4]] * len(spans))).reshape(
        len(spans), -1
    )
    currents, slopes = law(corners)
    assert np.all(np.isfinite(currents))
    assert np.all(np.isfinite(slopes))


def test_thermal_voltage_is_the_printed_one():
    # kT/q at 25 °C: 25.69 mV in every text (computed from the SI constants).
    assert float(thermal_voltage(298.15)) == pytest.approx(25.69e-3, abs=5e-6)  # V, last digit
    assert pytest.approx(8.617_333e-5, rel=1e-7) == BOLTZMANN_OVER_CHARGE


def test_thermal_voltage_keeps_its_shape():
    kelvin = np.array([[250.0], [350.0]])
    np.testing.assert_allclose(thermal_voltage(kelvin), kelvin * 8.617_333e-5, rtol=1e-6)


def _saturation(kelvin: float, **changes: float) -> float:
    values: dict[str, float] = {"energy_gap": 1.11, "exponent": 3.0, **changes}
    return float(laws.junction_saturation_current(2e-14, temperature=kelvin, **values))


def test_saturation_current_at_nominal_temperature_is_as_given():
    assert _saturation(298.15) == pytest.approx(2e-14, rel=1e-12)


def test_saturation_current_doubles_about_every_five_kelvin():
    # Common textbook rule for silicon near room temperature, from memory.
    assert 1.9 < _saturation(303.15) / 2e-14 < 2.3
    kelvin = np.linspace(253.15, 353.15, 11)
    assert np.all(np.diff([_saturation(k) for k in kelvin]) > 0.0)


def test_saturation_current_of_a_greater_gap_rises_faster():
    assert _saturation(323.15, energy_gap=1.9) > _saturation(323.15)
    assert _saturation(323.15, emission=2.0) == pytest.approx(
        np.sqrt(_saturation(323.15) * 2e-14), rel=1e-9
    )


def _junction_volts(amps: float, kelvin: float) -> float:
    scale = float(thermal_voltage(kelvin))
    return scale * np.log(amps / _saturation(kelvin) + 1.0)


@pytest.mark.parametrize("amps", [1e-4, 1e-3, 1e-2])
def test_silicon_junction_falls_two_millivolts_per_kelvin(amps):
    # -2 mV/K at constant current: common textbook rule, from memory; its own spread is 1.7 to 2.3.
    slope = (_junction_volts(amps, 308.15) - _junction_volts(amps, 288.15)) / 20.0
    assert -2.3e-3 < slope < -1.6e-3


def test_junction_takes_sixty_millivolts_a_decade():
    # kT/q ln 10 is 59.2 mV at 25 °C (computed).
    gap = _junction_volts(1e-2, 298.15) - _junction_volts(1e-3, 298.15)
    assert gap == pytest.approx(59.16e-3, rel=1e-3)


def test_reverse_junction_leaks_its_saturation_current():
    current, _ = _junction(np.array([-1.0]))
    assert float(current[0]) == pytest.approx(-2e-14 - laws.LEAST_CONDUCTANCE, rel=1e-9)


def test_exponential_goes_on_straight_with_the_same_slope():
    scales = np.array([79.999, 80.001, 90.0, 100.0])
    current, slope = _junction(SCALE * scales)
    assert current[1] / current[0] == pytest.approx(1.002, abs=1e-5)  # ratio across the seam
    assert slope[1] == slope[2] == slope[3]
    assert current[3] - current[2] == pytest.approx(slope[2] * 10.0 * SCALE, rel=1e-9)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_transistor_gain_in_its_active_region(sign):
    volts = sign * np.array([[3.0], [0.66]])
    currents, _ = _bipolar(sign)(volts)
    assert float(currents[0, 0] / currents[1, 0]) == pytest.approx(170.0, rel=1e-4)
    assert np.sign(currents[0, 0]) == sign


def test_transistor_turned_round_has_its_reverse_gain():
    # Emitter and collector swapped: base and emitter against the collector.
    forward, back = 0.66, -2.0
    currents, _ = _bipolar(1.0)(np.array([[back], [forward + back]]))
    emitter = -float(currents[0, 0] + currents[1, 0])
    assert emitter / float(currents[1, 0]) == pytest.approx(4.5, rel=1e-4)


def test_transistor_saturates_at_tens_of_millivolts():
    # Ebers and Moll: V_ce = (kT/q) ln((1 + (β_f/β_r) ... ) forced gain of 10; hand value computed.
    forced = 10.0
    gain, reverse = 170.0, 4.5
    alpha = reverse / (1.0 + reverse)
    hand = SCALE * np.log((1.0 / alpha + forced / reverse) / (1.0 - forced / gain))
    v_be = 0.7
    currents, _ = _bipolar(1.0)(np.array([[hand], [v_be]]))
    assert float(currents[0, 0] / currents[1, 0]) == pytest.approx(forced, rel=1e-3)


def test_pnp_is_the_mirror_of_npn():
    volts = _points("npn", 50)
    np.testing.assert_allclose(_bipolar(-1.0)(-volts)[0], -_bipolar(1.0)(volts)[0], rtol=1e-12)
    np.testing.assert_allclose(_bipolar(-1.0)(-volts)[1], _bipolar(1.0)(volts)[1], rtol=1e-12)


def test_mos_transistor_by_the_square_law():
    currents, _ = _mosfet(1.0)(np.array([[8.0, 0.1, 8.0], [3.8, 3.8, 1.7]]))
    assert float(currents[0, 0]) == pytest.approx(0.5 * 6.5 * 2.0**2, rel=1e-9)
    assert float(currents[0, 1]) == pytest.approx(6.5 * (2.0 - 0.05) * 0.1, rel=1e-9)
    assert float(currents[0, 2]) < 1e-10
    assert np.all(currents[1] == 0.0)


def test_mos_transistor_is_the_same_from_both_ends():
    span, gate = 0.7, 4.1
    there, _ = _mosfet(1.0)(np.array([[span], [gate]]))
    # Source and drain swapped: all volts against the other end.
    back, _ = _mosfet(1.0)(np.array([[-span], [gate - span]]))
    assert float(there[0, 0]) == pytest.approx(-float(back[0, 0]), rel=1e-9)


def test_zener_meets_its_point_and_its_knee():
    current, _ = _zener(np.array([-9.07, -9.07 + 0.041 * np.log(10.0)]))
    np.testing.assert_allclose(current, [-0.028, -0.0028], rtol=1e-6)


def test_zener_blocks_below_its_knee_and_conducts_forward():
    current, _ = _zener(np.array([-7.0, 0.65]))
    assert -1e-10 < current[0] < 0.0
    assert 0.5e-3 < current[1] < 2e-3


def test_reference_takes_hold_at_its_voltage_only_with_room_above():
    volts = np.array([[5.0, 5.0, 0.5], [2.480, 2.505, 2.505]])
    low, on, starved = _reference(volts)[0][0]
    assert low == pytest.approx(0.3e-3, rel=0.05)
    assert on == pytest.approx(2.2 * 0.010 + 0.3e-3, rel=0.01)
    assert starved < 1e-6


def test_reference_wakes_a_little_below_its_voltage():
    volts = np.array([[5.0, 5.0, 5.0], [1.5, 2.495 * 0.9, 2.44]])
    asleep, half, awake = _reference(volts)[0][0]
    assert asleep < 1e-6
    assert half == pytest.approx(0.15e-3, rel=0.01)
    assert awake == pytest.approx(0.3e-3, rel=0.1)


def test_reference_leaks_what_it_says_at_twelve_volts():
    currents, _ = _reference(np.array([[12.0], [0.0]]))
    # The rounded corner adds a trickle of its own, half as much again.
    assert 1e-7 <= float(currents[0, 0]) < 1.7e-7


def test_regulator_holds_drops_out_and_takes_nothing_back():
    volts = np.array([[12.0, 5.0, 3.0], [5.04, 3.29, 4.0]])
    into, out = _regulator(volts)[0]
    np.testing.assert_allclose(-out[:2], [0.01 / 0.03, 0.01 / 0.03], rtol=0.02)
    assert into[0] + out[0] == pytest.approx(4.2e-3, rel=1e-6)
    assert abs(out[2]) < 1e-6


def test_step_held_back_never_overshoots_the_wish():
    old, new = np.random.default_rng(8).uniform(-2.0, 6.0, (2, 500))
    held = laws.junction_limited(new, old, scale=np.array(SCALE), critical=np.array(0.73))
    rise = new > np.maximum(old, 0.73)
    assert np.all(held[rise] <= new[rise])
    assert np.all(held[new <= 0.73] == new[new <= 0.73])


def test_step_held_back_leaves_a_small_step_alone():
    old = np.array([0.75])
    new = old + 1.9 * SCALE
    held = laws.junction_limited(new, old, scale=np.array(SCALE), critical=np.array(0.73))
    np.testing.assert_array_equal(held, new)


def test_critical_voltage_is_where_the_curve_bends_most():
    saturation = 2e-14
    critical = float(laws.junction_critical_voltage(np.array(saturation), np.array(SCALE)))
    volts = np.linspace(critical - 0.2, critical + 0.2, 4001)
    slope = saturation / SCALE * np.exp(volts / SCALE)
    bend = slope / SCALE / (1.0 + slope**2) ** 1.5
    assert volts[np.argmax(bend)] == pytest.approx(critical, abs=2e-4)  # V, two steps of the grid


def test_laws_take_any_batch():
    rng = np.random.default_rng(3)
    for law, spans in LAWS.values():
        volts = rng.uniform(-1.0, 1.0, (len(spans), 6))
        currents, slopes = law(volts)
        assert currents.shape == (len(spans), 6)
        assert slopes.shape == (len(spans), len(spans), 6)
        one, one_slope = law(volts[:, 2:3])
        np.testing.assert_array_equal(currents[:, 2:3], one)
        np.testing.assert_array_equal(slopes[:, :, 2:3], one_slope)
