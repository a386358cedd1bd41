"""Heat sinks: the chain of links, the sink that is needed, a plate."""

import numpy as np
import pytest

from boomwright.physics.heatsink import (
    junction_temperature,
    plate_resistance,
    sink_resistance_needed,
)


def test_the_needed_sink_brings_the_junction_to_its_limit():
    power = np.array([2.0, 4.0, 7.0])
    sink = sink_resistance_needed(
        power, ambient=318.0, junction_max=398.0, junction_case=2.5, case_sink=0.8
    )
    found = junction_temperature(power, ambient=318.0, resistances=[2.5, 0.8, sink])
    np.testing.assert_allclose(found, 398.0, rtol=1e-12)


def test_too_much_heat_asks_for_a_sink_below_zero_and_none_for_any():
    needed = sink_resistance_needed(
        np.array([0.0, 60.0]),
        ambient=313.0,
        junction_max=423.0,
        junction_case=3.0,
        case_sink=1.0,
    )
    assert needed[0] == np.inf
    assert needed[1] < 0.0
    with pytest.raises(ValueError, match="got -1 W"):
        sink_resistance_needed(
            -1.0, ambient=313.0, junction_max=423.0, junction_case=3.0, case_sink=1.0
        )


def test_a_plate_twice_as_wide_has_half_the_resistance():
    plate = {"height": 0.12, "rise": 33.0, "emissivity": 0.9, "ambient": 299.0}
    one = plate_resistance(area_wetted=0.014, **plate)
    two = plate_resistance(area_wetted=0.028, **plate)
    assert float(one / two) == pytest.approx(2.0, rel=1e-12)


def test_bare_metal_is_a_worse_sink_than_painted():
    plate = {"height": 0.12, "rise": 33.0, "area_wetted": 0.014, "ambient": 299.0}
    bare, painted = plate_resistance(emissivity=np.array([0.1, 0.9]), **plate)
    assert bare > 1.5 * painted


@pytest.mark.parametrize(("name", "unit"), [("area_wetted", "m²"), ("rise", "K"), ("height", "m")])
def test_a_plate_needs_size_and_rise(name, unit):
    plate = {
        "height": 0.12,
        "rise": 33.0,
        "area_wetted": 0.014,
        "emissivity": 0.9,
        "ambient": 299.0,
    }
    with pytest.raises(ValueError, match=rf"got 0 {unit}"):
        plate_resistance(**{**plate, name: 0.0})


def test_chain_adds_its_links():
    found = junction_temperature(3.0, ambient=300.0, resistances=[2.0, np.array([1.0, 4.0])])
    np.testing.assert_allclose(found, [309.0, 318.0])
