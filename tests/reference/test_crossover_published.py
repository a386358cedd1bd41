"""Crossover values against tables, and against an independent filter library.

Values of the tables were computed from the published polynomials by other means than the code's and
checked with a ladder solver of their own (rows O10.01 to O10.31); some agree with tables in memory.
The shapes are compared with scipy.signal, which knows the same polynomials by its own means.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from boomwright.physics.curves import decibels
from boomwright.physics.filter_values import (
    ALIGNMENTS,
    band_pass_steps,
    filter_elements,
    filter_polynomial,
    filter_response,
    high_pass_steps,
    low_pass_steps,
)
from boomwright.physics.ladder import ladder
from boomwright.physics.pads import impedance_correction, l_pad, pad_shares
from boomwright.physics.summed import summed_pressure

EVERY = [(name, order) for name, orders in ALIGNMENTS.items() for order in orders]


def _values(steps):
    """Value of each step, henries or farads."""
    return [
        float(step.inductance) if np.any(step.inductance) else float(step.capacitance)
        for step in steps
    ]


# Shape, and value times f/R for a coil or f R for a capacitor.
@pytest.mark.parametrize(
    ("alignment", "order", "printed"),
    [
        ("butterworth", 1, [0.1592]),  # O10.01
        ("butterworth", 2, [0.2251, 0.1125]),  # O10.02, memory agrees
        ("linkwitz-riley", 2, [0.3183, 0.0796]),  # O10.03, memory agrees
        ("butterworth", 3, [0.2387, 0.2122, 0.0796]),  # O10.04
        ("linkwitz-riley", 4, [0.3001, 0.2532, 0.1501, 0.0563]),  # O10.05
    ],
)
def test_low_pass_per_hertz_and_ohm(alignment, order, printed):
    frequency, resistance = 700.0, 5.0
    found = _values(low_pass_steps(alignment, order, frequency=frequency, resistance=resistance))
    scaled = [
        value * frequency * (resistance if place % 2 else 1.0 / resistance)
        for place, value in enumerate(found)
    ]
    # The tables print four digits.
    assert scaled == pytest.approx(printed, rel=1e-3)


@pytest.mark.parametrize(
    ("alignment", "order", "resistance", "frequency", "coil", "capacitor"),
    [
        ("butterworth", 1, 8.0, 500.0, 2.5465e-3, 39.789e-6),  # O10.06
        ("butterworth", 1, 8.0, 1000.0, 1.2732e-3, 19.894e-6),  # O10.07
        ("butterworth", 1, 8.0, 2000.0, 0.6366e-3, 9.947e-6),  # O10.08
        ("butterworth", 1, 8.0, 3000.0, 0.4244e-3, 6.631e-6),  # O10.09
        ("butterworth", 2, 8.0, 1000.0, 1.8006e-3, 14.067e-6),  # O10.10
        ("butterworth", 2, 8.0, 2000.0, 0.9003e-3, 7.034e-6),  # O10.11
        ("butterworth", 2, 8.0, 3000.0, 0.6002e-3, 4.689e-6),  # O10.12
        ("linkwitz-riley", 2, 8.0, 1000.0, 2.5465e-3, 9.947e-6),  # O10.13
        ("linkwitz-riley", 2, 8.0, 2500.0, 1.0186e-3, 3.979e-6),  # O10.14
        ("linkwitz-riley", 2, 8.0, 3000.0, 0.8488e-3, 3.316e-6),  # O10.15
        ("butterworth", 2, 4.0, 2000.0, 0.4502e-3, 14.067e-6),  # O10.16
        ("butterworth", 2, 8.0, 1500.0, 1.2004e-3, 9.378e-6),  # O10.17
        ("linkwitz-riley", 2, 8.0, 3500.0, 0.7276e-3, 2.842e-6),  # O10.18
    ],
)
def test_first_and_second_order(alignment, order, resistance, frequency, coil, capacitor):
    asked = {"frequency": frequency, "resistance": resistance}
    low = _values(low_pass_steps(alignment, order, **asked))
    high = _values(high_pass_steps(alignment, order, **asked))
    # One section: low-pass and high-pass use the same coil and capacitor.
    if order == 1:
        assert (low, high) == (
            pytest.approx([coil], rel=2e-3),
            pytest.approx([capacitor], rel=2e-3),
        )
    else:
        assert low == pytest.approx([coil, capacitor], rel=2e-3)
        assert high == pytest.approx([capacitor, coil], rel=2e-3)


def test_third_order_of_8_ohm_at_2_khz():
    """O10.19."""
    low = _values(low_pass_steps("butterworth", 3, frequency=2000.0, resistance=8.0))
    high = _values(high_pass_steps("butterworth", 3, frequency=2000.0, resistance=8.0))
    assert low == pytest.approx([0.9549e-3, 13.263e-6, 0.3183e-3], rel=2e-3)
    assert high == pytest.approx([6.631e-6, 0.4775e-3, 19.894e-6], rel=2e-3)


def test_fourth_order_of_8_ohm_at_3_khz():
    """O10.20."""
    low = _values(low_pass_steps("linkwitz-riley", 4, frequency=3000.0, resistance=8.0))
    high = _values(high_pass_steps("linkwitz-riley", 4, frequency=3000.0, resistance=8.0))
    assert low == pytest.approx([0.8003e-3, 10.551e-6, 0.4001e-3, 2.345e-6], rel=2e-3)
    assert high == pytest.approx([3.517e-6, 0.2668e-3, 7.034e-6, 1.2004e-3], rel=2e-3)


@pytest.mark.parametrize(("alignment", "order"), EVERY)
@pytest.mark.parametrize("high_pass", [False, True])
def test_level_of_each_branch_where_they_meet(alignment, order, high_pass):
    """O10.21: -3.01 dB for Butterworth and, by its scaling here, Bessel; -6.02 dB for LR."""
    at = 1234.0
    make = high_pass_steps if high_pass else low_pass_steps
    steps = make(alignment, order, frequency=at, resistance=6.0)
    level = float(decibels(ladder(steps, np.array(6.0), at).transfer))
    # Levels in dB: the table prints two decimals.
    assert level == pytest.approx(-6.02 if alignment == "linkwitz-riley" else -3.01, abs=0.01)


@pytest.mark.parametrize(
    ("alignment", "order", "swapped", "printed"),
    [
        ("butterworth", 2, False, None),
        ("butterworth", 2, True, 3.01),
        ("linkwitz-riley", 2, False, None),
        ("linkwitz-riley", 2, True, 0.0),
        ("linkwitz-riley", 4, False, 0.0),
        ("butterworth", 1, False, 0.0),
        ("butterworth", 3, False, 0.0),
        ("butterworth", 3, True, 0.0),
    ],
)
def test_sum_of_equal_ideal_drivers(alignment, order, swapped, printed):
    """O10.22; odd orders of Butterworth sum flat either way (from memory)."""
    at = np.array([2100.0])
    branches = [
        filter_response(alignment, order, frequency=at, corner=2100.0, high_pass=high)
        for high in (False, True)
    ]
    found = summed_pressure(branches, at, paths=[1.0, 1.0], reversed_=[False, swapped])
    level = float(decibels(found)[0])
    if printed is None:
        assert level < -200.0
    else:
        assert level == pytest.approx(printed, abs=0.01)


@pytest.mark.parametrize(("alignment", "order"), EVERY)
def test_polynomials_of_an_independent_library(alignment, order):
    if alignment == "bessel":
        _, under = signal.bessel(order, 1.0, analog=True, norm="mag")
    elif alignment == "butterworth":
        _, under = signal.butter(order, 1.0, analog=True)
    else:
        _, half = signal.butter(order // 2, 1.0, analog=True)
        under = np.polymul(half, half)
    wanted = under[::-1] / under[-1]
    assert filter_polynomial(alignment, order) == pytest.approx(wanted, rel=1e-6)


@pytest.mark.parametrize(("alignment", "order"), EVERY)
@pytest.mark.parametrize("high_pass", [False, True])
def test_ladders_have_the_response_of_an_independent_library(alignment, order, high_pass):
    """Element values put into a ladder give the polynomial they came from, phase included."""
    corner, resistance = 1700.0, 7.3
    hertz = np.geomspace(corner / 30.0, corner * 30.0, 61)
    make = high_pass_steps if high_pass else low_pass_steps
    steps = make(alignment, order, frequency=corner, resistance=resistance)
    under = filter_polynomial(alignment, order)[::-1]
    over = np.concatenate([[under[-1]], np.zeros(order)]) if high_pass else under[-1:]
    low = under[::-1] if high_pass else under
    _, wanted = signal.freqs(over, low, hertz / corner)
    found = ladder(steps, np.array(resistance), hertz).transfer
    assert np.abs(found / wanted - 1.0).max() < 1e-9


@pytest.mark.parametrize("order", [1, 2, 3, 4])
def test_band_pass_has_the_response_of_an_independent_library(order):
    low, high, resistance = 420.0, 3900.0, 5.5
    hertz = np.geomspace(40.0, 40e3, 81)
    steps = band_pass_steps("butterworth", order, low=low, high=high, resistance=resistance)
    over, under = signal.butter(
        order, [2 * np.pi * low, 2 * np.pi * high], btype="bandpass", analog=True
    )
    _, wanted = signal.freqs(over, under, 2 * np.pi * hertz)
    found = ladder(steps, np.array(resistance), hertz).transfer
    # The library's own polynomial of eighth degree is good to about a millionth.
    assert np.abs(found / wanted - 1.0).max() < 1e-5


def test_singly_terminated_butterworth_of_third_order():
    """1.5, 4/3, 0.5: printed in every table of singly terminated filters (from memory)."""
    assert filter_elements("butterworth", 3) == pytest.approx([1.5, 4.0 / 3.0, 0.5], rel=1e-12)


@pytest.mark.parametrize(
    ("resistance", "taken", "series", "across"),
    [
        (8.0, 1.0, 0.870, 65.564),  # O10.23
        (8.0, 3.0, 2.336, 19.392),  # O10.24
        (8.0, 6.0, 3.991, 8.038),  # O10.25
        (8.0, 10.0, 5.470, 3.700),  # O10.26
        (4.0, 3.0, 1.168, 9.696),  # O10.27
        (6.0, 6.0, 2.993, 6.029),  # O10.28
        (6.0, 3.0, 1.752, 14.544),  # O10.29
    ],
)
def test_level_pad(resistance, taken, series, across):
    pad = l_pad(resistance, taken)
    assert float(pad.series) == pytest.approx(series, rel=1e-3)
    assert float(pad.across) == pytest.approx(across, rel=1e-3)


def test_power_split_of_a_6_db_pad():
    """O10.30."""
    shares = pad_shares(6.0)
    assert float(shares.series) == pytest.approx(0.499, rel=2e-3)
    assert float(shares.across) == pytest.approx(0.250, rel=2e-3)
    assert float(shares.driver) == pytest.approx(0.251, rel=2e-3)


def test_impedance_correction_is_the_exact_one():
    """O10.31: 6 ohm and 13.89 µF; not the habit of 1.25 times, which is 7.5 ohm and 8.89 µF."""
    branch = impedance_correction(6.0, 0.5e-3)
    assert float(branch.resistance) == pytest.approx(6.0, rel=5e-3)
    assert float(branch.capacitance) == pytest.approx(13.89e-6, rel=5e-3)
