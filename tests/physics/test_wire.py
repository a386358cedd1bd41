"""Copper wire: sizes, drops and current limits."""

import numpy as np
import pytest

from boomwright.physics.wire import (
    ampacity,
    awg_area,
    awg_diameter,
    flexible_resistance_max,
    nearest_awg,
    preece_fusing_current,
    voltage_drop,
    wire_resistance,
)


def test_area_is_that_of_the_circle():
    assert float(awg_area(22)) == pytest.approx(np.pi * float(awg_diameter(22)) ** 2 / 4.0)


def test_every_gauge_is_its_own_nearest():
    gauges = np.arange(-3, 41)
    assert nearest_awg(awg_area(gauges)).tolist() == gauges.tolist()


def test_nearest_gauge_forgives_a_few_per_cent_of_copper():
    assert nearest_awg(awg_area(18) * np.array([0.92, 1.08])).tolist() == [18.0, 18.0]


def test_resistance_follows_length_area_and_temperature():
    base = float(wire_resistance(1.5e-6, 0.8))
    assert float(wire_resistance(3.0e-6, 0.8)) == pytest.approx(base / 2.0)
    assert float(wire_resistance(1.5e-6, 2.4)) == pytest.approx(base * 3.0)
    assert float(wire_resistance(1.5e-6, 0.8, temperature=323.15)) == pytest.approx(
        base * (1.0 + 0.00393 * 30.0)
    )


def test_drop_is_both_ways():
    drop = voltage_drop(3.5, area=1.1e-6, length=0.7, temperature=310.0)
    one_way = 3.5 * wire_resistance(1.1e-6, 0.7, temperature=310.0)
    assert float(drop) == pytest.approx(2.0 * float(one_way))
    assert float(voltage_drop(0.0, area=1.1e-6, length=0.7)) == 0.0


@pytest.mark.parametrize("bundled", [True, False])
def test_more_copper_carries_more(bundled):
    area = np.geomspace(0.0515e-6, 13.2e-6, 80)
    assert np.all(np.diff(ampacity(area, bundled=bundled)) > 0.0)


def test_bundled_wire_carries_far_less_and_both_stay_under_fusing():
    area = np.array([0.22, 0.34, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0]) * 1e-6
    bundled, air = ampacity(area, bundled=True), ampacity(area, bundled=False)
    fusing = preece_fusing_current(2.0 * np.sqrt(area / np.pi))
    assert np.all(bundled < 0.35 * air)
    assert np.all(air < 0.3 * fusing)


def test_open_air_limit_lies_between_its_gauges():
    between = float(ampacity(1.5e-6, bundled=False))
    assert 22.0 < between < 28.0


def test_open_air_limit_ends_with_its_table():
    with pytest.raises(ValueError, match=r"got 0\.03 mm²"):
        ampacity(np.array([0.03e-6, 1e-6]), bundled=False)
    with pytest.raises(ValueError, match=r"got 20 mm²"):
        ampacity(20e-6, bundled=False)


def test_flexible_table_is_within_its_margin_above_solid_copper():
    area = np.array([0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0]) * 1e-6
    ratio = flexible_resistance_max(area) / wire_resistance(area, 1.0)
    assert np.all((ratio > 1.0) & (ratio < 1.20))


def test_flexible_table_knows_only_its_sizes():
    with pytest.raises(ValueError, match=r"got 0\.6 mm².*0\.5, 0\.75"):
        flexible_resistance_max(np.array([0.5e-6, 0.6e-6]))


def test_copper_must_have_an_area():
    for law in (
        lambda: wire_resistance(0.0, 1.0),
        lambda: nearest_awg(0.0),
        lambda: ampacity(0.0, bundled=True),
    ):
        with pytest.raises(ValueError, match="got 0 m²"):
            law()


def test_wire_broadcasts():
    current = np.array([[1.0], [2.0], [5.0]])
    area = np.array([0.5e-6, 0.75e-6, 1.5e-6, 2.5e-6])
    assert voltage_drop(current, area=area, length=0.4).shape == (3, 4)
    assert ampacity(area.reshape(2, 2), bundled=False).shape == (2, 2)
    assert flexible_resistance_max(area.reshape(4, 1)).shape == (4, 1)
