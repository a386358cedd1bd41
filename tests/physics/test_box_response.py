"""A driver in its box: energy, limits into each other, slopes, what amplifier and leads change."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.physics.test_acoustic_load import anything
from tests.physics.test_driver import drivers

from boomwright.physics.acoustic_load import (
    AirLoad,
    closed_load,
    flows,
    free_air,
    load_impedance,
    radiator_load,
    vented_load,
)
from boomwright.physics.box_response import BoxResponse, box_response, passband_pressure
from boomwright.physics.driver import (
    DriverModel,
    coil_impedance,
    driver_model,
    mechanical_impedance,
)

SWEEP = np.geomspace(8.0, 8000.0, 91)

WOOFER = driver_model(
    re=5.6, fs=43.0, qms=4.7, qes=0.42, vas=0.033, sd=0.0151, le=0.41e-3, le2=0.6e-3, re2=5.3
)
PLAIN = driver_model(re=5.6, fs=43.0, qms=4.7, qes=0.42, vas=0.033, sd=0.0151)
VENTED = vented_load(volume=0.026, fb=39.0, ql=9.0, qa=60.0, qp=45.0)


def same(found: BoxResponse, expected: BoxResponse, rel: float) -> None:
    for name in vars(expected):
        assert getattr(found, name) == pytest.approx(getattr(expected, name), rel=rel), name


class TestEnergy:
    @given(drivers(), anything())
    def test_impedance_is_no_less_than_the_coil(self, driver, load):
        found = box_response(driver, load, SWEEP)
        assert np.all(found.impedance.real >= float(driver.re) * (1 - 1e-12))

    @given(drivers(), anything())
    def test_power_in_is_heat_in_coil_suspension_and_box(self, driver, load):
        found = box_response(driver, load, SWEEP)
        current = 1.0 / found.impedance
        speed = found.travel * 2j * np.pi * SWEEP
        into_box = speed * driver.sd
        shares, pressure = flows(load, SWEEP), load_impedance(load, SWEEP) * into_box
        heat = (
            np.abs(current) ** 2 * coil_impedance(driver, SWEEP).real
            + np.abs(speed) ** 2 * mechanical_impedance(driver, SWEEP).real
            + np.abs(shares.radiated * into_box) ** 2 * load.absorption
            + np.abs(found.opening) ** 2 * load.resistance
            + np.abs(pressure) ** 2 / load.leak
        )
        assert current.real == pytest.approx(heat, rel=1e-6)

    @given(drivers(), st.floats(0.05, 20.0))
    def test_source_resistance_is_resistance_of_the_coil(self, driver, ohms):
        """The same driver wound with thinner wire moves alike; the impedance stays."""
        fed = box_response(driver, VENTED, SWEEP, source_resistance=ohms)
        thin = box_response(DriverModel(**{**vars(driver), "re": driver.re + ohms}), VENTED, SWEEP)
        for name in ("pressure", "travel", "opening"):
            assert getattr(fed, name) == pytest.approx(getattr(thin, name), rel=1e-9)
        bare = box_response(driver, VENTED, SWEEP)
        assert fed.impedance == pytest.approx(bare.impedance, rel=1e-12)

    @given(drivers(), anything())
    def test_pressure_and_opening_are_flows(self, driver, load):
        found = box_response(driver, load, SWEEP)
        s = 2j * np.pi * SWEEP
        pushed = found.travel * s * driver.sd
        shares = flows(load, SWEEP)
        assert found.opening == pytest.approx(pushed * shares.opening, rel=1e-9)
        # A point in a half space at 1 m: p = rho a/(2 pi), a the volume acceleration.
        heard = 1.2041 * s * pushed * shares.radiated / (2 * np.pi)
        assert found.pressure == pytest.approx(heard, rel=1e-3)


class TestLimits:
    def test_endless_box_is_free_air(self):
        free = box_response(WOOFER, free_air(), SWEEP)
        same(box_response(WOOFER, closed_load(volume=math.inf), SWEEP), free, 1e-12)
        same(box_response(WOOFER, closed_load(volume=1e8), SWEEP), free, 1e-6)

    def test_tuning_to_nothing_is_closed(self):
        shut = box_response(WOOFER, closed_load(volume=0.019), SWEEP)
        heavy = box_response(WOOFER, vented_load(volume=0.019, fb=1e-3), SWEEP)
        for name in ("impedance", "pressure", "travel"):
            assert getattr(heavy, name) == pytest.approx(getattr(shut, name), rel=1e-5)
        assert np.max(np.abs(heavy.opening)) < 1e-6 * np.max(np.abs(VENTED.mass))

    def test_inductance_to_nothing(self):
        almost = DriverModel(
            **{**vars(PLAIN), "le": np.array(1e-11), "le2": np.array(1e-11), "re2": PLAIN.re}
        )
        same(box_response(almost, VENTED, SWEEP), box_response(PLAIN, VENTED, SWEEP), 1e-6)

    def test_mass_rules_at_the_top(self):
        top = box_response(PLAIN, vented_load(volume=0.026, fb=39.0, ql=9.0), 43e3)
        assert abs(complex(top.pressure)) == pytest.approx(
            float(passband_pressure(PLAIN)), rel=1e-3
        )

    def test_small_box_moves_the_cone_less_below_resonance(self):
        volumes = np.array([[0.004], [0.011], [0.030], [0.080]])
        found = box_response(PLAIN, closed_load(volume=volumes), np.array([11.0, 19.0]))
        assert np.all(np.diff(np.abs(found.travel), axis=0) > 0.0)

    def test_cone_rests_at_the_tuning_of_a_tight_box(self):
        near = np.linspace(30.0, 50.0, 2001)
        found = box_response(PLAIN, vented_load(volume=0.026, fb=39.0), near)
        assert near[np.argmin(np.abs(found.travel))] == pytest.approx(39.0, rel=1e-9)
        assert abs(found.impedance[np.argmin(np.abs(found.travel))]) == pytest.approx(5.6, rel=1e-6)

    @pytest.mark.parametrize(
        ("load", "octave"),
        [
            (free_air(), 12.04),
            (closed_load(volume=0.019), 12.04),
            (vented_load(volume=0.026, fb=39.0), 24.08),
            (closed_load(volume=0.019, at=80.0, ql=1.7), 18.06),
            (radiator_load(volume=0.026, area=0.019, mass=0.07, fp=14.0), 12.04),
        ],
    )
    def test_slope_far_below(self, load, octave):
        # 6.02 dB for each order, arithmetic.
        low, high = np.abs(box_response(PLAIN, load, np.array([0.4, 0.8])).pressure)
        assert 20 * np.log10(high / low) == pytest.approx(octave, rel=0.01)

    def test_two_humps_of_impedance_with_a_vent_one_without(self):
        def humps(load: AirLoad) -> int:
            size = np.abs(box_response(PLAIN, load, np.geomspace(8.0, 300.0, 4001)).impedance)
            return int(np.sum((size[1:-1] > size[:-2]) & (size[1:-1] > size[2:])))

        assert humps(closed_load(volume=0.019)) == 1
        assert humps(VENTED) == 2


class TestShapesAndRefusals:
    def test_batch_and_frequencies_broadcast(self):
        volumes = np.array([[0.012], [0.018], [0.027]])
        load = vented_load(volume=volumes, fb=41.0, ql=7.0)
        found = box_response(WOOFER, load, SWEEP, source_resistance=np.array([[0.1], [0.2], [0.3]]))
        alone = box_response(
            WOOFER, vented_load(volume=0.018, fb=41.0, ql=7.0), SWEEP, source_resistance=0.2
        )
        for name in vars(alone):
            assert getattr(found, name).shape == (3, SWEEP.size)
            assert getattr(found, name)[1] == pytest.approx(getattr(alone, name), rel=1e-12)

    def test_source_resistance_below_zero(self):
        with pytest.raises(ValueError, match=r"source resistance: got -0\.35 Ω"):
            box_response(WOOFER, VENTED, SWEEP, source_resistance=-0.35)

    def test_frequency_above_zero(self):
        with pytest.raises(ValueError, match=r"frequency: got -29 Hz"):
            box_response(WOOFER, VENTED, np.array([31.0, -29.0]))

    def test_denser_air_is_louder(self):
        cold = passband_pressure(PLAIN, temperature=263.15)
        # Density goes as 1/T.
        ratio = float(cold / passband_pressure(PLAIN, temperature=303.15))
        assert ratio == pytest.approx(303.15 / 263.15, rel=1e-3)
