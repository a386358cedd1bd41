"""Fuses, relays and shared leads against published rows."""

import numpy as np
import pytest

from boomwright.physics.fuse import fuse_minimum, next_rating, opening_time_bounds
from boomwright.physics.noise import shared_lead_noise, speaker_level
from boomwright.physics.polarity import loss_db
from boomwright.physics.relay import relay_coil_energy, relay_decay_time, relay_pickup_hot


@pytest.mark.parametrize(
    ("multiple", "shortest", "longest"),
    [
        # ISO 8820-3, type C and F, 23 °C (from memory).
        (1.10, 360_000.0, np.inf),
        (1.35, 0.75, 600.0),
        (2.0, 0.15, 5.0),
        (3.5, 0.04, 0.5),
        (6.0, 0.0, 0.1),
    ],
)
def test_blade_fuse_gates(multiple, shortest, longest):
    low, high = opening_time_bounds(multiple, kind="blade")
    assert float(low) == pytest.approx(shortest, rel=1e-9)
    assert float(high) == pytest.approx(longest, rel=1e-9)


@pytest.mark.parametrize(
    ("multiple", "shortest", "longest"),
    [
        # IEC 60127-2 standard sheet 3, time-lag, 125 mA and above (from memory).
        (4.0, 0.15, 3.0),
        (10.0, 0.02, 0.3),
    ],
)
def test_time_lag_tube_gates(multiple, shortest, longest):
    low, high = opening_time_bounds(multiple, kind="tube_time_lag")
    assert float(low) == pytest.approx(shortest, rel=1e-9)
    assert float(high) == pytest.approx(longest, rel=1e-9)


@pytest.mark.parametrize(("kind", "longest"), [("tube_time_lag", 120.0), ("tube_quick", 1800.0)])
def test_tube_fuses_open_at_two_point_one_times(kind, longest):
    # IEC 60127-2 sheets 2 and 3 (from memory): at most 2 min time-lag, 30 min quick.
    assert float(opening_time_bounds(2.1, kind=kind)[1]) == pytest.approx(longest, rel=1e-9)


def test_fuse_for_a_continuous_load():
    # UL 248-14 practice (from memory): 6 A at 75 % needs 8 A or more, so 10 A in blade values;
    # an IEC 60127 tube may carry its whole rating at 25 °C.
    assert float(fuse_minimum(6.0, kind="blade")) == pytest.approx(8.0, rel=1e-12)
    assert float(next_rating(fuse_minimum(6.0, kind="blade"), kind="blade")) == 10.0
    assert float(fuse_minimum(6.0, kind="tube_time_lag")) == pytest.approx(6.0, rel=1e-12)


def test_hot_relay_coil():
    # Copper law of IEC 60028 on a coil (computed): 9.0 V at 20 °C is 10.41 V at 60 °C.
    found = relay_pickup_hot(9.0, temperature_coil=333.15)
    assert float(found) == pytest.approx(10.41, rel=5e-3)


@pytest.mark.parametrize(
    ("ohms", "henries", "clamp", "amps", "energy", "zero", "quarter"),
    [
        # First-order RL decay into a constant clamp, 12 V (any circuits text; computed).
        (160.0, 0.3, 0.7, 75.00e-3, 0.844e-3, 5.434e-3, 2.312e-3),
        (160.0, 0.3, 24.7, 75.00e-3, 0.844e-3, 0.742e-3, 0.528e-3),
        (270.0, 0.5, 18.7, 44.44e-3, 0.494e-3, 0.918e-3, 0.643e-3),
    ],
)
def test_relay_coil_decay(ohms, henries, clamp, amps, energy, zero, quarter):
    coil = {"resistance": ohms, "inductance": henries}
    assert float(relay_coil_energy(12.0, **coil)) == pytest.approx(energy, rel=5e-3)
    assert energy == pytest.approx(0.5 * henries * amps**2, rel=5e-3)
    assert float(relay_decay_time(12.0, clamp=clamp, **coil)) == pytest.approx(zero, rel=5e-3)
    found = relay_decay_time(12.0, clamp=clamp, share=0.25, **coil)
    assert float(found) == pytest.approx(quarter, rel=5e-3)


def test_receiver_whine_through_a_shared_lead():
    # Computed elsewhere: 0.1 A in 0.3 m of 35 mΩ/m, gain 20: 21 mV, about 44 dB at 1 m from 87 dB.
    volts = shared_lead_noise(
        burst_current=0.1, resistance=0.3 * 0.035, gain_db=20.0 * np.log10(20.0)
    )
    assert float(volts) == pytest.approx(21e-3, rel=1e-6)
    assert round(float(speaker_level(volts, sensitivity=87.0))) == 44


def test_series_diode_costs_little_loudness():
    # Computed elsewhere: 0.3 to 0.5 V of 12 V is 0.2 to 0.4 dB.
    assert [round(float(loss), 1) for loss in loss_db(12.0, drop=np.array([0.3, 0.5]))] == [
        0.2,
        0.4,
    ]
