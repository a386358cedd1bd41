"""The stereo-to-mono sum and the input pad as designs."""

from __future__ import annotations

import math

import pytest

from boomwright.circuit.parts import Resistor
from boomwright.design.line.pad import design_pad
from boomwright.design.line.summing import design_sum
from boomwright.errors import InputError
from boomwright.physics.preferred import preferred_values

E24 = set(preferred_values("E24").round(2).tolist())


def resistance(design, name):
    part = design.netlist.part(name)
    assert isinstance(part, Resistor)
    return float(part.resistance)


def mantissa(value):
    return round(value / 10.0 ** math.floor(math.log10(value)), 2)


class TestSum:
    def test_usual_case_takes_the_usual_kilohm(self):
        # Common practice: 0.47 to 3.3 kΩ, 1 kΩ usual.
        design = design_sum(source_impedance=90.0, load_impedance=22e3)
        assert resistance(design, "R1") == resistance(design, "R2") == 1e3

    def test_figures_by_hand(self):
        design = design_sum(source_impedance=150.0, load_impedance=30e3, channels=1, level=0.8)
        alike = 1.0 / (1.0 + 1150.0 / 60e3)
        one = 0.5 * alike
        back = one * 150.0 / 1150.0
        left = 1.0 - (1.0 - one) * 150.0 / 1150.0
        for label, want in (
            ("gain, both channels alike", 20 * math.log10(alike)),
            ("gain, one channel alone", 20 * math.log10(one)),
            ("gain, channels unlike each other", 20 * math.log10(one * math.sqrt(2.0))),
            ("back into the other channel", 20 * math.log10(back / left)),
        ):
            assert design.figure(label).likely == pytest.approx(want, abs=0.01)  # dB, capacitor
        arrives = design.figure("level at the amplifier, one alone").likely
        assert arrives == pytest.approx(0.8 * one, rel=1e-3)

    def test_addition_of_levels(self):
        # Published sums of two equal levels: 3.0 dB more if unlike, 6.0 dB at most if alike.
        design = design_sum(load_impedance=1e6, channels=1)
        alone = design.figure("gain, one channel alone").likely
        unlike = design.figure("gain, channels unlike each other").likely
        alike = design.figure("gain, both channels alike").likely
        assert unlike - alone == pytest.approx(3.0, abs=0.05)  # dB, as printed
        assert alike - alone == pytest.approx(6.0, abs=0.05)  # dB, as printed

    def test_noise_of_a_kilohm(self):
        # 4.0 nV/√Hz for 1 kΩ at room temperature (Horowitz and Hill, from memory): 0.57 µV in
        # 20 kHz; 1.9 + 0.1 kΩ in pairs and an input of no account make 1 kΩ.
        design = design_sum(
            source_impedance=200.0, least_load=1.8e3, load_impedance=10e6, gain_db=20.0
        )
        assert resistance(design, "R1") == 1.8e3
        quiet = design.figure("noise of the resistors").likely
        assert quiet == pytest.approx(4.0e-9 * math.sqrt(20e3), rel=0.03)
        assert design.figure("the same at the speaker").likely == pytest.approx(10 * quiet)

    @pytest.mark.parametrize("load", [9.1e3, 21e3, 110e3])
    @pytest.mark.parametrize("least", [320.0, 700.0, 990.0])
    def test_choice_obeys_both_sides(self, load, least):
        design = design_sum(load_impedance=load, least_load=least, source_impedance=60.0)
        assert design.figure("lost to the amplifier's input").likely < 1.0
        assert design.figure("load on each output, signals opposite").low >= least
        assert mantissa(resistance(design, "R1")) in E24

    def test_least_value_that_just_loads_too_much_is_refused(self):
        # 1 dB is lost where (R + 60 Ω) / (input of two) is 10^(1/20) - 1.
        just = (470.0 + 60.0) / (10.0**0.05 - 1.0)
        assert (
            resistance(
                design_sum(load_impedance=1.01 * just, source_impedance=60.0, least_load=470.0),
                "R1",
            )
            == 470.0
        )
        with pytest.raises(InputError, match=r"The nearest: 2 × 470 Ω with 1\.0 dB"):
            design_sum(load_impedance=0.99 * just, source_impedance=60.0, least_load=470.0)

    def test_second_channel_counts_as_load(self):
        one = design_sum(load_impedance=18e3, channels=1)
        two = design_sum(load_impedance=18e3, channels=2)
        label = "lost to the amplifier's input"
        assert two.figure(label).likely > one.figure(label).likely + 0.1
        assert {"RL1", "RL2"} <= {part.name for part in two.netlist.parts}

    def test_corner_is_well_below_the_lowest_note(self):
        design = design_sum(lowest_frequency=45.0)
        assert design.figure("lower corner by the coupling capacitor").likely <= 45.0 / 4.0

    def test_outputs_are_never_joined(self):
        assert any("Never join amplifier outputs" in text for text in design_sum().cautions)

    def test_impossible_pair_names_the_nearest(self):
        with pytest.raises(InputError, match=r"2 × 10 kΩ") as caught:
            design_sum(load_impedance=11e3, least_load=9.8e3)
        assert "dB lost" in caught.value.problems[0].hint

    def test_every_bad_value_is_named(self):
        with pytest.raises(InputError) as caught:
            design_sum(source_impedance=-3.0, level=math.nan, tolerance=0.7, channels=0)
        keys = {problem.key for problem in caught.value.problems}
        assert keys == {"source_impedance", "level", "tolerance", "channels"}


class TestPad:
    @pytest.mark.parametrize(
        ("gain", "clip"),
        # Computed figures for 12 V: 26 dB 0.42 V (0.425), 36 dB 0.13 V.
        [(26.0, 0.425), (36.0, 0.134)],
    )
    def test_clip_level(self, gain, clip):
        design = design_pad(source_volts=0.9, amplifier_gain_db=gain, supply_volts=12.0)
        assert design.figure("input that just clips").likely == pytest.approx(clip, abs=5e-4)

    def test_full_volume_is_just_clipping(self):
        design = design_pad(source_volts=0.77, amplifier_gain_db=33.0, supply_volts=11.0)
        clip = 11.0 / math.sqrt(2.0) / 10.0 ** (33.0 / 20.0)
        full = design.figure("input at full volume")
        assert full.likely == pytest.approx(clip, rel=0.03)
        assert full.low < full.likely < full.high

    def test_loss_by_hand(self):
        design = design_pad(
            source_volts=1.1,
            amplifier_gain_db=31.0,
            clip_volts=0.2,
            source_impedance=220.0,
            load_impedance=12e3,
        )
        series, shunt = resistance(design, "R1"), resistance(design, "R2")
        assert {mantissa(series), mantissa(shunt)} <= E24
        lower = shunt * 12e3 / (shunt + 12e3)
        want = 20.0 * math.log10((lower + series + 220.0) / lower)
        assert design.figure("loss").likely == pytest.approx(want, abs=0.001)  # dB, solver
        assert want == pytest.approx(20.0 * math.log10(1.1 / 0.2), abs=0.25)  # dB, E24 steps
        hiss = design.figure("hiss and prompts of the source drop by")
        assert hiss.likely == design.figure("loss").likely
        behind = 1.0 / (1.0 / (series + 220.0) + 1.0 / shunt + 1.0 / 12e3)
        corner = design.figure("upper corner by the lead's capacitance").likely
        assert corner == pytest.approx(1.0 / (2.0 * math.pi * behind * 200e-12), rel=1e-9)

    @pytest.mark.parametrize("loss", [0.05, 0.4, 3.0, 12.0, 30.0, 60.0])
    def test_any_loss_is_met(self, loss):
        design = design_pad(
            source_volts=2.0, amplifier_gain_db=26.0, clip_volts=2.0 / 10.0 ** (loss / 20.0)
        )
        assert design.figure("loss").likely == pytest.approx(loss, abs=0.3)  # dB, E24 steps
        assert design.figure("load on the receiver").likely >= 2e3

    def test_nothing_to_take_away(self):
        with pytest.raises(InputError, match=r"a gain of 3\d\.\d dB would just do"):
            design_pad(source_volts=0.2, amplifier_gain_db=26.0, supply_volts=12.0)

    def test_clipping_is_said_once(self):
        for given in ({}, {"supply_volts": 12.0, "clip_volts": 0.3}):
            with pytest.raises(InputError, match="supply_volts or clip_volts"):
                design_pad(source_volts=0.9, amplifier_gain_db=26.0, **given)
