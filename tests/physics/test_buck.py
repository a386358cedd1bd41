"""Step-down converters: sizing there and back."""

import pytest

from boomwright.physics.buck import (
    buck_inductance,
    buck_output_capacitance,
    buck_output_ripple,
    buck_ripple_current,
)


def test_buck_sizing_turns_round():
    coil = buck_inductance(13.0, voltage_out=5.0, ripple_current=0.7, frequency=310e3)
    ripple = buck_ripple_current(13.0, voltage_out=5.0, inductance=coil, frequency=310e3)
    assert float(ripple) == pytest.approx(0.7)
    store = buck_output_capacitance(0.7, ripple=0.03, frequency=310e3)
    assert float(buck_output_ripple(0.7, capacitance=store, frequency=310e3)) == pytest.approx(0.03)


def test_buck_without_a_step_has_no_ripple():
    found = buck_ripple_current(5.0, voltage_out=5.0, inductance=1e-5, frequency=3e5)
    assert float(found) == 0.0


def test_coil_must_be_above_zero():
    with pytest.raises(ValueError, match="inductance: got 0 H"):
        buck_ripple_current(12.0, voltage_out=5.0, inductance=0.0, frequency=1e5)
