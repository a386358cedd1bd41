"""Values of a loudspeaker's circuit by hand, and batches that no one circuit can hold.

That the circuit sounds like the laws is held in tests/circuit/test_loudspeaker_block.py.
"""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.outcome.loudspeaker_circuit import filter_steps, loudspeaker_values
from boomwright.physics.acoustic_load import (
    AirLoad,
    closed_load,
    free_air,
    radiator_load,
    vented_load,
)
from boomwright.physics.driver import DriverModel
from boomwright.physics.ladder import Step


def driver(**more: float) -> DriverModel:
    """bl²/sd² is 40,000, bl² is 16: round numbers to work with by hand."""
    given = {
        "re": 5.9,
        "bl": 4.0,
        "mms": 0.012,
        "cms": 0.9e-3,
        "rms": 0.8,
        "sd": 0.02,
        "le": 0.0,
        "le2": 0.0,
        "re2": 0.0,
        "creep": 0.0,
        **more,
    }
    return DriverModel(**{name: np.asarray(value) for name, value in given.items()})


def air(**given: float) -> AirLoad:
    parts = {
        "compliance": np.inf,
        "absorption": 0.0,
        "leak": np.inf,
        "mass": np.inf,
        "resistance": 0.0,
        "stiffness": 0.0,
        **given,
    }
    return AirLoad(**{name: np.asarray(value) for name, value in parts.items()})


class TestValues:
    def test_driver_by_hand(self) -> None:
        found = loudspeaker_values(driver(le=0.3e-3, le2=0.7e-3, re2=3.3), free_air())
        assert (found.re, found.le, found.le2, found.re2) == (5.9, 0.3e-3, 0.7e-3, 3.3)
        assert found.cmes == pytest.approx(0.012 / 16)
        assert found.lces == pytest.approx(0.9e-3 * 16)
        assert found.res == pytest.approx(16 / 0.8)
        assert found.creep == ()

    def test_box_by_hand(self) -> None:
        load = air(
            compliance=1.5e-7,
            absorption=700.0,
            leak=90e3,
            mass=60.0,
            resistance=500.0,
            stiffness=2.5e6,
        )
        found = loudspeaker_values(driver(), load)
        assert found.lceb == pytest.approx(1.5e-7 * 40_000)
        assert found.rab == pytest.approx(40_000 / 700)
        assert found.rel == pytest.approx(40_000 / 90e3)
        assert found.cmep == pytest.approx(60.0 / 40_000)
        assert found.rep == pytest.approx(40_000 / 500)
        assert found.lcep == pytest.approx(40_000 / 2.5e6)

    @pytest.mark.parametrize(
        ("load", "absent"),
        [
            (free_air(), {"lceb", "rab", "rel", "cmep", "lcep", "rep"}),
            (closed_load(volume=0.011), {"rab", "rel", "cmep", "lcep", "rep"}),
            (closed_load(volume=0.011, ql=8.0), {"rab", "cmep", "lcep", "rep"}),
            (vented_load(volume=0.011, fb=55.0), {"rab", "rel", "lcep", "rep"}),
            (radiator_load(volume=0.011, area=0.02, mass=0.06, fp=16.0), {"rab", "rel"}),
        ],
    )
    def test_what_is_not_there(self, load: AirLoad, absent: set[str]) -> None:
        found = loudspeaker_values(driver(), load)
        box = {"lceb", "rab", "rel", "cmep", "lcep", "rep"}
        assert {name for name in box if getattr(found, name) is None} == absent
        assert (found.le, found.le2, found.re2) == (None, None, None)

    def test_half_a_pair_of_the_iron_is_none(self) -> None:
        assert loudspeaker_values(driver(le2=0.7e-3), free_air()).le2 is None

    def test_slow_and_quick_part_of_the_spring_are_the_spring(self) -> None:
        """At 4.5 decades below resonance all pairs but the slowest have given way."""
        found = loudspeaker_values(driver(creep=0.12), free_air())
        coils = [inductance for inductance, _ in found.creep]
        assert found.lces == pytest.approx(0.9e-3 * 16 * (1 - 0.12 * 3.0))
        assert found.lces + sum(coils) == pytest.approx(0.9e-3 * 16 * (1 + 0.12 * 4.5))

    def test_column_of_a_batch_becomes_a_row(self) -> None:
        column = np.array([[0.008], [0.013], [0.021]])
        found = loudspeaker_values(driver(), closed_load(volume=column))
        assert np.shape(found.lceb) == (3,)


def test_filter_steps_keep_their_places_and_values() -> None:
    series, across = filter_steps(
        [
            Step("series", inductance=0.4e-3, resistance=0.3),
            Step("across", resistance=7.5, capacitance=np.array([10e-6, 12e-6])),
        ]
    )
    assert (series.place, series.inductance, series.resistance) == ("series", 0.4e-3, 0.3)
    assert series.capacitance == np.inf
    assert (across.place, across.resistance, across.inductance) == ("across", 7.5, 0.0)
    assert across.capacitance == pytest.approx([10e-6, 12e-6])


@pytest.mark.parametrize(
    ("load", "what"),
    [
        (closed_load(volume=0.011, at=70.0, ql=np.array([7.0, np.inf])), "leak"),
        (closed_load(volume=np.array([0.011, np.inf])), "box"),
        (vented_load(volume=0.011, fb=55.0, qp=np.array([np.inf, 33.0])), "loss of the opening"),
    ],
)
def test_a_batch_half_with_and_half_without(load: AirLoad, what: str) -> None:
    with pytest.raises(ValueError, match=f"{what}: got it in 1 of 2"):
        loudspeaker_values(driver(), load)
