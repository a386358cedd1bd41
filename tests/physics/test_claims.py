"""Claims: the supply they need, the share that is true."""

import math

import numpy as np
import pytest

from boomwright.physics.amplifier import clean_power, swing_peak
from boomwright.physics.claims import claim_truth, claimed_voltage


class TestClaim:
    def test_inverse_of_swing(self):
        volts = claimed_voltage(
            37.0, 4.2, rail_share=np.array([1.0, 0.5]), voltage_loss=1.7, resistance_output=0.3
        )
        peaks = swing_peak(
            volts,
            rail_share=np.array([1.0, 0.5]),
            voltage_loss=1.7,
            resistance_output=0.3,
            load=4.2,
            current_limit=math.inf,
        )
        assert clean_power(peaks, 4.2) == pytest.approx([37.0, 37.0], rel=1e-12)

    def test_distortion_lowers_the_voltage_needed(self):
        clean = float(claimed_voltage(50.0, 4.0, rail_share=1.0))
        loud = float(claimed_voltage(50.0, 4.0, rail_share=1.0, distortion=0.10))
        assert clean / loud == pytest.approx(math.sqrt(1.2878), rel=1e-4)

    def test_no_power_needs_the_loss_alone(self):
        assert float(claimed_voltage(0.0, 6.0, rail_share=0.5, voltage_loss=2.1)) == 2.1

    def test_honest_ten_per_cent_figure_is_true(self):
        assert float(claim_truth(10.0, claimed=12.878, distortion=0.10)) == pytest.approx(
            1.0, rel=1e-4
        )
        assert float(claim_truth(8.0, claimed=100.0)) == pytest.approx(0.08, rel=1e-12)

    def test_says_what_is_wrong(self):
        with pytest.raises(ValueError, match="got -5 W"):
            claimed_voltage(-5.0, 4.0, rail_share=1.0)
        with pytest.raises(ValueError, match="claimed power: got 0 W"):
            claim_truth(8.0, claimed=0.0)
