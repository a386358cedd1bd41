"""The driver as motor and spring: inverse pairs, limits, passivity, creep, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boomwright.physics.driver import (
    DriverModel,
    coil_impedance,
    driver_model,
    electrical_impedance,
    mechanical_impedance,
    small_signal,
)

GIVEN = {
    "re": 5.7,
    "fs": 46.0,
    "qms": 4.3,
    "qes": 0.48,
    "vas": 0.021,
    "sd": 0.0137,
    "le": 0.37e-3,
    "le2": 0.52e-3,
    "re2": 4.1,
    "creep": 0.09,
}

SWEEP = np.geomspace(2.0, 20e3, 121)


def drivers() -> st.SearchStrategy[DriverModel]:
    """Anything from a headphone's to a stage's, with and without inductance and creep."""
    return st.builds(
        driver_model,
        re=st.floats(0.5, 32.0),
        fs=st.floats(12.0, 2500.0),
        qms=st.floats(0.3, 25.0),
        qes=st.floats(0.08, 6.0),
        vas=st.floats(1e-6, 1.5),
        sd=st.floats(5e-5, 0.2),
        le=st.one_of(st.just(0.0), st.floats(1e-6, 5e-3)),
        le2=st.one_of(st.just(0.0), st.floats(1e-6, 5e-3)),
        re2=st.one_of(st.just(0.0), st.floats(0.05, 40.0)),
        creep=st.one_of(st.just(0.0), st.floats(0.005, 0.2)),
    )


class TestParameters:
    @given(drivers())
    def test_small_signal_is_the_inverse(self, driver):
        found = small_signal(driver)
        again = driver_model(
            re=driver.re,
            fs=found.fs,
            qms=found.qms,
            qes=found.qes,
            vas=found.vas,
            sd=driver.sd,
        )
        for name in ("mms", "cms", "rms", "bl"):
            assert float(getattr(again, name)) == pytest.approx(
                float(getattr(driver, name)), rel=1e-9
            )

    def test_total_q_is_both_side_by_side(self):
        found = small_signal(driver_model(**GIVEN))
        assert float(found.qts) == pytest.approx(4.3 * 0.48 / (4.3 + 0.48), rel=1e-9)

    def test_added_mass_lowers_resonance_by_the_root(self):
        driver = driver_model(**GIVEN)
        heavier = DriverModel(**{**vars(driver), "mms": driver.mms * 4.0})
        assert float(small_signal(heavier).fs) == pytest.approx(23.0, rel=1e-9)

    def test_colder_air_is_denser_and_as_stiff(self):
        # rho c² is the ratio of heats times the pressure, so Vas hardly knows the temperature.
        driver = driver_model(**GIVEN)
        cold, warm = (float(small_signal(driver, temperature=t).vas) for t in (268.15, 308.15))
        assert cold == pytest.approx(warm, rel=1e-3)

    @pytest.mark.parametrize("name", ["re", "fs", "qms", "qes", "vas", "sd"])
    @pytest.mark.parametrize(("wrong", "shown"), [(0.0, "got 0"), (-3.25, r"got -3\.25")])
    def test_nothing_at_or_below_zero(self, name, wrong, shown):
        with pytest.raises(ValueError, match=rf"{name}: {shown}.*must be above 0"):
            driver_model(**{**GIVEN, name: wrong})

    @pytest.mark.parametrize("name", ["le", "le2", "re2", "creep"])
    def test_nothing_negative(self, name):
        with pytest.raises(ValueError, match=rf"{name}: got -0\.625"):
            driver_model(**{**GIVEN, name: -0.625})
        driver_model(**{**GIVEN, name: 0.0})

    def test_one_bad_driver_of_a_batch_is_found(self):
        with pytest.raises(ValueError, match=r"fs: got -41 Hz"):
            driver_model(**{**GIVEN, "fs": np.array([47.0, -41.0, 53.0])})
        with pytest.raises(ValueError, match="qms: got nan"):
            driver_model(**{**GIVEN, "qms": math.nan})


class TestCoil:
    def test_starts_at_the_resistance(self):
        assert complex(coil_impedance(driver_model(**GIVEN), 1e-6)) == pytest.approx(5.7, rel=1e-6)

    def test_the_iron_hides_its_inductance_higher_up(self):
        driver = driver_model(**GIVEN)
        far = coil_impedance(driver, 1e7)
        assert float(far.real) == pytest.approx(5.7 + 4.1, rel=1e-4)
        assert float(far.imag) == pytest.approx(2e7 * math.pi * 0.37e-3, rel=1e-4)

    @pytest.mark.parametrize("missing", [{"le2": 0.0}, {"re2": 0.0}, {"le2": 0.0, "re2": 0.0}])
    def test_half_a_pair_is_none(self, missing):
        driver = driver_model(**{**GIVEN, **missing})
        expected = 5.7 + 2j * np.pi * SWEEP * 0.37e-3
        assert coil_impedance(driver, SWEEP) == pytest.approx(expected, rel=1e-12)

    def test_inductance_to_nothing(self):
        almost = driver_model(**{**GIVEN, "le": 1e-12, "le2": 1e-12})
        none = driver_model(**{**GIVEN, "le": 0.0, "le2": 0.0})
        assert electrical_impedance(almost, SWEEP) == pytest.approx(
            electrical_impedance(none, SWEEP), rel=1e-6
        )


class TestImpedance:
    @given(drivers())
    def test_no_less_than_the_coil_and_never_a_source(self, driver):
        z = electrical_impedance(driver, SWEEP)
        assert np.all(z.real >= float(driver.re))
        assert np.all(mechanical_impedance(driver, SWEEP).real >= float(driver.rms) * (1 - 1e-9))

    @given(drivers())
    def test_a_cone_held_still_is_its_coil(self, driver):
        held = electrical_impedance(driver, SWEEP, air_load=1e15)
        assert held == pytest.approx(coil_impedance(driver, SWEEP), rel=1e-6)

    def test_stiff_below_and_heavy_above_resonance(self):
        driver = driver_model(**{**GIVEN, "creep": 0.0})
        low, high = mechanical_impedance(driver, np.array([0.046, 46e3]))
        assert low == pytest.approx(-1j / (2 * np.pi * 0.046 * float(driver.cms)), rel=1e-3)
        assert high == pytest.approx(2j * np.pi * 46e3 * float(driver.mms), rel=1e-3)

    def test_batch_and_frequencies_broadcast(self):
        resistance = np.array([[3.1], [4.2], [7.3]])
        z = electrical_impedance(driver_model(**{**GIVEN, "re": resistance}), SWEEP)
        assert z.shape == (3, SWEEP.size)
        alone = electrical_impedance(driver_model(**{**GIVEN, "re": 4.2}), SWEEP)
        assert z[1] == pytest.approx(alone, rel=1e-12)

    @pytest.mark.parametrize("law", [coil_impedance, mechanical_impedance, electrical_impedance])
    def test_frequency_above_zero(self, law):
        with pytest.raises(ValueError, match=r"frequency: got -17 Hz"):
            law(driver_model(**GIVEN), np.array([50.0, -17.0]))


class TestCreep:
    @staticmethod
    def give(driver: DriverModel, frequency: float) -> complex:
        """Compliance [m/N], out of what is left without mass and resistance."""
        s = 2j * np.pi * frequency
        spring = complex(mechanical_impedance(driver, frequency)) - s * driver.mms - driver.rms
        return complex(1.0 / (s * spring))

    @pytest.mark.parametrize("creep", [0.03, 0.11, 0.19])
    def test_keeps_the_spring_at_resonance(self, creep):
        driver = driver_model(**{**GIVEN, "creep": creep})
        assert self.give(driver, 46.0).real == pytest.approx(float(driver.cms), rel=1e-9)

    def test_gives_its_share_for_each_decade(self):
        driver = driver_model(**{**GIVEN, "creep": 0.13})
        for decades in (-1.0, 1.0, 2.0):
            give = self.give(driver, 46.0 / 10.0**decades)
            assert give.real == pytest.approx(float(driver.cms) * (1 + 0.13 * decades), rel=1e-9)

    def test_lags_and_takes_energy_at_every_pace(self):
        plain = driver_model(**{**GIVEN, "creep": 0.0})
        creeping = driver_model(**GIVEN)
        extra = mechanical_impedance(creeping, SWEEP) - mechanical_impedance(plain, SWEEP)
        assert np.all(extra.real > 0.0)
        assert all(self.give(creeping, f).imag < 0.0 for f in (3.0, 46.0, 700.0))

    def test_none_is_a_plain_spring(self):
        almost = driver_model(**{**GIVEN, "creep": 1e-9})
        none = driver_model(**{**GIVEN, "creep": 0.0})
        assert mechanical_impedance(almost, SWEEP) == pytest.approx(
            mechanical_impedance(none, SWEEP), rel=1e-6
        )
