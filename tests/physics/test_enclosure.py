"""Closed boxes: limits, inverse pairs, the response against its own summary figures."""

from __future__ import annotations

import math

import numpy as np
import pytest

from boomwright.physics.enclosure import (
    closed_box,
    closed_box_response_db,
    closed_box_volume,
    excursion_level,
    net_volume,
    travel_limited_level,
)


def test_net_volume():
    gross = np.array([[0.010], [0.014], [0.021]])
    left = net_volume(gross, taken=np.array([0.001, 0.002, 0.003, 0.004]))
    assert left.shape == (3, 4)
    assert left[1, 2] == pytest.approx(0.011, rel=1e-12)
    with pytest.raises(ValueError, match=r"net volume: got -0\.0025 m³"):
        net_volume(0.005, taken=0.0075)


class TestClosedBox:
    def test_infinite_box_changes_nothing(self):
        box = closed_box(fs=71.0, qts=0.62, vas=0.009, volume=math.inf)
        assert (float(box.fc), float(box.qtc), float(box.alpha)) == (71.0, 0.62, 0.0)
        same = closed_box(fs=71.0, qts=0.62, vas=0.0, volume=0.006)
        assert (float(same.fc), float(same.qtc)) == (71.0, 0.62)

    def test_smaller_box_is_stiffer(self):
        box = closed_box(fs=71.0, qts=0.62, vas=0.009, volume=np.geomspace(0.001, 1.0, 50))
        assert np.all(np.diff(box.fc) < 0.0)
        assert np.all(np.diff(box.qtc) < 0.0)
        assert box.fc / box.qtc == pytest.approx(np.full(50, 71.0 / 0.62))

    def test_small_midrange_example(self):
        # A 3-inch midrange seen to go from 110 to 195 Hz, times 1.78 (measured by a builder).
        volume = 0.0011 / (1.78**2 - 1.0)
        box = closed_box(fs=110.0, qts=0.7, vas=0.0011, volume=volume)
        assert float(box.fc) == pytest.approx(195.0, rel=0.01)

    def test_a_box_of_one_point_oh_three_is_underdamped(self):
        # Called overdamped in print. It has a hump of 1.4 dB and an f3 of 0.78 fc.
        box = closed_box(fs=80.0, qts=1.03, vas=0.0, volume=0.010)
        assert float(box.peak_db) == pytest.approx(1.4, abs=0.05)  # dB, one printed digit
        assert float(box.f3 / box.fc) == pytest.approx(0.78, abs=0.005)  # ratio, two digits

    def test_f3_and_hump_agree_with_the_response(self):
        quality = np.array([0.35, 0.66, 0.78, 1.1, 1.9])
        box = closed_box(fs=58.0, qts=quality, vas=0.013, volume=0.017)
        at_f3 = closed_box_response_db(box.f3, fc=box.fc, qtc=box.qtc)
        assert at_f3 == pytest.approx(np.full(5, -10.0 * math.log10(2.0)), rel=1e-9)
        grid = np.geomspace(20.0, 20_000.0, 40_001)[:, np.newaxis]
        top = np.max(closed_box_response_db(grid, fc=box.fc, qtc=box.qtc), axis=0)
        assert box.peak_db == pytest.approx(np.maximum(top, 0.0), abs=1e-4)  # dB, grid

    def test_fields_share_one_shape(self):
        box = closed_box(
            fs=np.array([[50.0], [60.0], [70.0]]), qts=0.5, vas=0.02, volume=np.full(4, 0.015)
        )
        shapes = {field.shape for field in (box.fc, box.qtc, box.f3, box.peak_db, box.alpha)}
        assert shapes == {(3, 4)}

    def test_says_what_is_wrong(self):
        with pytest.raises(ValueError, match="box volume: got 0 m³"):
            closed_box(fs=50.0, qts=0.5, vas=0.02, volume=0.0)
        with pytest.raises(ValueError, match=r"vas: got -0\.02 m³"):
            closed_box(fs=50.0, qts=0.5, vas=-0.02, volume=0.01)


class TestVolume:
    def test_inverse(self):
        volume = np.array([0.004, 0.011, 0.032])
        box = closed_box(fs=66.0, qts=0.44, vas=0.0145, volume=volume)
        back = closed_box_volume(fs=66.0, qts=0.44, vas=0.0145, qtc=box.qtc)
        assert back == pytest.approx(volume, rel=1e-12)

    def test_own_q_takes_an_endless_box(self):
        assert float(closed_box_volume(fs=66.0, qts=0.44, vas=0.0145, qtc=0.44)) == math.inf

    def test_no_box_lowers_q(self):
        with pytest.raises(ValueError, match=r"qts of 0\.9, got 0\.707"):
            closed_box_volume(fs=66.0, qts=np.array([0.5, 0.9]), vas=0.0145, qtc=0.7071)


class TestResponse:
    def test_slope_and_flat(self):
        low = closed_box_response_db(np.array([0.1, 0.2]), fc=90.0, qtc=0.85)
        assert low[1] - low[0] == pytest.approx(12.0412, rel=1e-4)
        assert float(closed_box_response_db(1e6, fc=90.0, qtc=0.85)) == pytest.approx(
            0.0, abs=1e-6  # dB, the limit is 0
        )  # fmt: skip
        assert float(closed_box_response_db(0.0, fc=90.0, qtc=0.85)) == -math.inf

    def test_at_resonance_it_is_the_q(self):
        quality = np.array([[0.5], [0.9], [1.4]])
        got = closed_box_response_db(np.full(4, 77.0), fc=77.0, qtc=quality)
        assert got == pytest.approx(np.broadcast_to(20.0 * np.log10(quality), (3, 4)))


class TestTravel:
    def test_scaling(self):
        base = float(excursion_level(60.0, sd=0.0085, xmax=0.003))
        assert float(excursion_level(120.0, sd=0.0085, xmax=0.003)) - base == pytest.approx(
            12.0412, rel=1e-4
        )
        assert float(excursion_level(60.0, sd=0.0170, xmax=0.003)) - base == pytest.approx(
            6.0206, rel=1e-4
        )

    def test_limit_holds_at_every_frequency(self):
        """At the limited level no frequency asks for more than the travel, and one for all."""
        grid = np.geomspace(5.0, 500.0, 4001)
        for quality in (0.5, 0.9, 1.3):
            flat = float(travel_limited_level(fc=75.0, qtc=quality, sd=0.0120, xmax=0.0035))
            played = flat + closed_box_response_db(grid, fc=75.0, qtc=quality)
            room = excursion_level(grid, sd=0.0120, xmax=0.0035) - played
            assert float(np.min(room)) == pytest.approx(0.0, abs=0.05)  # dB, grid ends at 5 Hz
            assert np.all(room > -1e-9)

    def test_broadcast_and_refuse(self):
        got = travel_limited_level(
            fc=np.array([[60.0], [70.0], [95.0]]), qtc=0.8, sd=np.full(4, 0.009), xmax=0.002
        )
        assert got.shape == (3, 4)
        with pytest.raises(ValueError, match="xmax: got 0 m"):
            excursion_level(60.0, sd=0.0085, xmax=0.0)
