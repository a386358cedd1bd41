"""The air behind a cone: limits into each other, continuity of the air, passivity, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boomwright.physics.acoustic_load import (
    AirLoad,
    air_compliance,
    closed_load,
    flows,
    free_air,
    load_impedance,
    radiator_load,
    vented_load,
)

SWEEP = np.geomspace(4.0, 4000.0, 91)

LOSS = st.one_of(st.just(math.inf), st.floats(1.5, 500.0))


def closed() -> st.SearchStrategy[AirLoad]:
    """Closed boxes from a jar to a wardrobe."""
    return st.builds(
        closed_load, volume=st.floats(5e-5, 1.2), at=st.floats(20.0, 400.0), ql=LOSS, qa=LOSS
    )


def vented() -> st.SearchStrategy[AirLoad]:
    """Vented boxes from a jar to a wardrobe."""
    return st.builds(
        vented_load,
        volume=st.floats(5e-5, 1.2),
        fb=st.floats(15.0, 300.0),
        ql=LOSS,
        qa=LOSS,
        qp=LOSS,
    )


def radiators() -> st.SearchStrategy[AirLoad]:
    """Boxes with passive radiators."""
    return st.builds(
        radiator_load,
        volume=st.floats(5e-5, 1.2),
        area=st.floats(5e-4, 0.2),
        mass=st.floats(2e-4, 0.9),
        fp=st.floats(2.0, 90.0),
        qmp=st.floats(1.0, 60.0),
        ql=LOSS,
        qa=LOSS,
    )


def anything() -> st.SearchStrategy[AirLoad]:
    """Any box."""
    return st.one_of(closed(), vented(), radiators())


class TestLaws:
    @given(anything())
    def test_air_goes_nowhere_but_three_ways(self, load):
        shares = flows(load, SWEEP)
        through_leak = load_impedance(load, SWEEP) / load.leak
        assert shares.radiated + shares.opening + through_leak == pytest.approx(
            np.ones(SWEEP.size, dtype=complex), rel=1e-9
        )

    @given(anything())
    def test_a_box_gives_no_power(self, load):
        z = load_impedance(load, SWEEP)
        assert np.all(z.real >= -1e-9 * np.abs(z))

    @given(anything())
    def test_what_a_box_takes_is_lost_in_its_resistances(self, load):
        """Pressure for one m³/s; power in each way by its own flow [W]."""
        z, shares = load_impedance(load, SWEEP), flows(load, SWEEP)
        lost = (
            np.abs(shares.radiated) ** 2 * load.absorption
            + np.abs(shares.opening) ** 2 * load.resistance
            + np.abs(z) ** 2 / load.leak
        )
        # A hundred-millionth of the apparent power: what is left where two large ones cancel.
        assert np.all(np.abs(z.real - lost) <= 1e-8 * np.abs(z) + 1e-6 * lost)

    @pytest.mark.parametrize(("litres", "hertz"), [(3.7, 81.0), (24.0, 37.0)])
    def test_resonator_of_hand_formula(self, litres, hertz):
        # Helmholtz: f = c/(2 pi) sqrt(S/(V l)) with rho l/S the mass (from memory).
        load = vented_load(volume=litres / 1000.0, fb=hertz)
        length_over_area = float(load.mass) / 1.2041
        tuned = 343.2 / (2 * np.pi) * math.sqrt(1.0 / (litres / 1000.0 * length_over_area))
        assert tuned == pytest.approx(hertz, rel=2e-3)

    @pytest.mark.parametrize(
        ("given_q", "way"), [("ql", "leak"), ("qa", "absorption"), ("qp", "resistance")]
    )
    def test_each_q_is_reactance_over_loss(self, given_q, way):
        load = vented_load(volume=0.0172, fb=43.0, **{given_q: 6.5})
        omega = 2 * np.pi * 43.0
        reactance = 1.0 / (omega * float(load.compliance))
        assert omega * float(load.mass) == pytest.approx(reactance, rel=1e-9)
        value = float(getattr(load, way))
        assert (value / reactance if way == "leak" else reactance / value) == pytest.approx(6.5)


class TestLimits:
    def test_no_box_is_no_load(self):
        assert not np.any(load_impedance(free_air(), SWEEP))
        shares = flows(free_air(), SWEEP)
        assert np.all(shares.radiated == 1.0)
        assert not np.any(shares.opening)

    @pytest.mark.parametrize("ql", [math.inf, 7.0])
    def test_endless_box_is_no_box(self, ql):
        endless = closed_load(volume=math.inf, ql=ql)
        assert not np.any(load_impedance(endless, SWEEP))
        assert np.all(flows(endless, SWEEP).radiated == 1.0)
        large = load_impedance(closed_load(volume=1e9, ql=ql), SWEEP)
        assert np.all(np.abs(large) < 1e-5)  # Pa s/m³, against 1e4 of ten litres

    def test_tuning_to_nothing_is_closed(self):
        shut = load_impedance(closed_load(volume=0.0113), SWEEP)
        heavy = load_impedance(vented_load(volume=0.0113, fb=1e-3), SWEEP)
        assert heavy == pytest.approx(shut, rel=1e-6)
        assert not np.any(flows(closed_load(volume=0.0113), SWEEP).opening)

    def test_radiator_without_spring_is_a_vent(self):
        radiator = radiator_load(
            volume=0.0134, area=0.0161, mass=0.057, fp=0.0, qmp=9.3, ql=7.7, qa=41.0
        )
        compliance, mass = float(radiator.compliance), 0.057 / 0.0161**2
        tuned = 1.0 / (2 * np.pi * math.sqrt(mass * compliance))
        vent = vented_load(volume=0.0134, fb=tuned, qp=9.3, ql=7.7, qa=41.0)
        for name in vars(vent):
            assert float(getattr(radiator, name)) == pytest.approx(
                float(getattr(vent, name)), rel=1e-9
            )

    def test_radiator_silences_the_box_at_its_own_resonance(self):
        load = radiator_load(volume=0.0134, area=0.0161, mass=0.057, fp=17.0, qmp=900.0)
        near = np.linspace(12.0, 22.0, 2001)
        heard = np.abs(flows(load, near).radiated)
        assert near[np.argmin(heard)] == pytest.approx(17.0, abs=0.01)  # Hz, two of its steps
        assert heard.min() < 0.02

    def test_far_above_the_tuning_the_opening_is_shut(self):
        load = vented_load(volume=0.0198, fb=36.0, ql=7.0)
        shares = flows(load, 3600.0)
        assert abs(complex(shares.opening)) == pytest.approx(1e-4, rel=1e-2)

    def test_share_of_half_the_box_for_one_of_two(self):
        half, whole = (load_impedance(closed_load(volume=v), 61.0) for v in (0.0095, 0.0190))
        assert complex(half) == pytest.approx(2.0 * complex(whole), rel=1e-12)

    def test_batch_and_frequencies_broadcast(self):
        volumes = np.array([[0.0061], [0.0122], [0.0305]])
        z = load_impedance(vented_load(volume=volumes, fb=52.0, ql=7.0), SWEEP)
        assert z.shape == (3, SWEEP.size)
        alone = load_impedance(vented_load(volume=0.0122, fb=52.0, ql=7.0), SWEEP)
        assert z[1] == pytest.approx(alone, rel=1e-12)

    def test_spring_of_air_is_its_pressure(self):
        # V/(gamma p): 1.4 times 101.325 kPa, from memory.
        assert float(air_compliance(0.0213)) == pytest.approx(0.0213 / (1.4 * 101_325.0), rel=2e-3)


class TestRefused:
    @pytest.mark.parametrize(
        ("make", "what"),
        [
            (lambda x: closed_load(volume=x), "box volume"),
            (lambda x: closed_load(volume=0.01, at=x), "frequency of the losses"),
            (lambda x: closed_load(volume=0.01, ql=x), "ql"),
            (lambda x: closed_load(volume=0.01, qa=x), "qa"),
            (lambda x: vented_load(volume=x, fb=40.0), "box volume"),
            (lambda x: vented_load(volume=0.01, fb=x), "fb"),
            (lambda x: vented_load(volume=0.01, fb=40.0, qp=x), "qp"),
            (lambda x: radiator_load(volume=0.01, area=x, mass=0.04, fp=15.0), "area of the pass"),
            (lambda x: radiator_load(volume=0.01, area=0.01, mass=x, fp=15.0), "mass of the pass"),
            (
                lambda x: radiator_load(volume=0.01, area=0.01, mass=0.04, fp=15.0, qmp=x),
                "qmp",
            ),
        ],
    )
    @pytest.mark.parametrize(("wrong", "shown"), [(0.0, "got 0"), (-2.75, r"got -2\.75")])
    def test_nothing_at_or_below_zero(self, make, what, wrong, shown):
        with pytest.raises(ValueError, match=rf"{what}.*: {shown}.*must be above 0"):
            make(wrong)

    def test_radiator_resonance_below_zero(self):
        with pytest.raises(ValueError, match=r"fp: got -6\.5 Hz"):
            radiator_load(volume=0.01, area=0.01, mass=0.04, fp=-6.5)

    @pytest.mark.parametrize("law", [load_impedance, flows])
    def test_frequency_above_zero(self, law):
        with pytest.raises(ValueError, match="frequency: got 0 Hz"):
            law(closed_load(volume=0.01), np.array([40.0, 0.0]))
