"""Published and computed values of the two-well kinetic battery model.

Lifetimes: Jongerden and Haverkort, "Which battery model to use?", IET Software 3 (2009), and
Jongerden, Haverkort, Bohnenkamp and Katoen, "Maximizing system lifetime by battery scheduling",
DSN 2009; both from memory, recomputed from the equations. Steps and capacities: computed from
the equations of Manwell and McGowan, Solar Energy 50 (1993), from memory.
"""

import numpy as np
import pytest

from boomwright.physics.kibam import kibam_capacity, kibam_lifetime, kibam_step

MINUTE = 60.0
HOUR = 3600.0


def test_lifetime_of_2_ah_cell_at_960_ma():
    # IET Software 2009: 7200 As, c 0.625, conductance 4.5e-5 /s, 0.96 A: 91 min (1 %)
    fraction = 0.625
    rate = 4.5e-5 / (fraction * (1.0 - fraction))
    lifetime = kibam_lifetime(
        fraction * 7200.0, (1.0 - fraction) * 7200.0, current=0.96, fraction=fraction, rate=rate
    )
    assert float(lifetime) / MINUTE == pytest.approx(91.0, rel=0.01)
    assert float(lifetime) / MINUTE == pytest.approx(91.14, rel=1e-4)


@pytest.mark.parametrize(
    ("capacity_amp_minutes", "milliamperes", "minutes"),
    [(5.5, 250.0, 4.53), (5.5, 500.0, 2.02), (11.0, 250.0, 12.16)],
)
def test_continuous_lifetimes(capacity_amp_minutes, milliamperes, minutes):
    # DSN 2009, c 0.166, k 0.122 /min (rate constant); 0.5 %
    capacity = capacity_amp_minutes * MINUTE
    lifetime = kibam_lifetime(
        0.166 * capacity,
        0.834 * capacity,
        current=milliamperes / 1000.0,
        fraction=0.166,
        rate=0.122 / MINUTE,
    )
    assert float(lifetime) / MINUTE == pytest.approx(minutes, rel=0.005)


@pytest.mark.parametrize(("milliamperes", "minutes"), [(250.0, 10.8), (500.0, 4.3)])
def test_lifetimes_of_one_minute_on_one_minute_off(milliamperes, minutes):
    # DSN 2009, 5.5 A min, c 0.166, k 0.122 /min (rate constant); 0.5 %
    wells = {"fraction": 0.166, "rate": 0.122 / MINUTE}
    available, bound = 0.166 * 5.5 * MINUTE, 0.834 * 5.5 * MINUTE
    elapsed = 0.0
    current = milliamperes / 1000.0
    while (left := float(kibam_lifetime(available, bound, current=current, **wells))) > MINUTE:
        for amperes in (current, 0.0):
            available, bound = kibam_step(
                available, bound, current=amperes, duration=MINUTE, **wells
            )
        elapsed += 2.0 * MINUTE
    assert (elapsed + left) / MINUTE == pytest.approx(minutes, rel=0.005)


def test_step_under_load_and_after_rest():
    # computed: 10 Ah full, c 0.3, k 0.5 /h, 2 A for 1 h, then 1 h rest; 1e-4
    wells = {"duration": HOUR, "fraction": 0.3, "rate": 0.5 / HOUR}
    loaded = kibam_step(3.0 * HOUR, 7.0 * HOUR, current=2.0, **wells)
    rested = kibam_step(*loaded, current=0.0, **wells)
    assert np.stack(loaded) / HOUR == pytest.approx([1.2983, 6.7017], rel=1e-4)
    assert np.stack(rested) / HOUR == pytest.approx([1.7318, 6.2682], rel=1e-4)


def test_capacity_at_two_rates():
    # computed: 10 Ah, c 0.3, k 0.5 /h, T = 20 h and 1 h; 1e-4
    given = kibam_capacity(
        capacity=10.0 * HOUR, fraction=0.3, rate=0.5 / HOUR, duration=np.array([20.0, 1.0]) * HOUR
    )
    assert given / HOUR == pytest.approx([8.1082, 3.5259], rel=1e-4)
