"""A simulated sound card: the sweep through a known resistor into a known driver, and what fails.

The voltages are made by circular filtering of the written test signal, which is exact; a driver's
impedance must come back from two channels of samples within what 24 bits and noise allow.
"""

import io

import numpy as np
import pytest
import soundfile
from scipy.fft import irfft, next_fast_len, rfft
from tests.bench.driver.drivers import DRIVER, LAUNCH

from boomwright.bench.driver.identified import identify
from boomwright.bench.driver.model import Doubts, Setup
from boomwright.bench.driver.recording import (
    Recorded,
    read_recorded,
    recorded_impedance,
    transfer,
)
from boomwright.bench.driver.signal import TestSignal, signal_samples, write_signal
from boomwright.errors import InputError, WriteError
from boomwright.physics.driver import electrical_impedance

SIGNAL = TestSignal(duration=6.0)
RESISTOR = 100.0


def through(samples, rate, impedance, resistor=RESISTOR):
    """Voltage at what stands behind a resistor."""
    size = next_fast_len(2 * samples.size, real=True)
    hertz = np.maximum(np.arange(size // 2 + 1) * rate / size, 1e-3)
    z = impedance(hertz)
    return irfft(rfft(samples, size) * z / (resistor + z), size)[: samples.size]


def driver_at(hertz):
    return electrical_impedance(DRIVER, hertz)


def card(impedance=driver_at, *, signal=SIGNAL, noise=1e-5, gain=1.0, resistor=RESISTOR):
    samples = signal_samples(signal)
    rng = np.random.default_rng(6)
    left = samples + noise * rng.normal(size=samples.size)
    right = through(samples, signal.rate, impedance, resistor)
    right = gain * right + noise * rng.normal(size=samples.size)
    return Recorded(left, right, signal.rate, "take.wav")


def written(tmp_path, left, right=None, rate=48_000, name="take.wav"):
    file = tmp_path / name
    both = left if right is None else np.column_stack((left, right))
    soundfile.write(file, both, rate, subtype="PCM_24")
    return file


def off(sweep):
    measured = sweep.magnitude * np.exp(1j * sweep.phase)
    return np.abs(measured / driver_at(sweep.frequency) - 1.0)


def test_impedance_comes_back_from_two_channels():
    sweep, match = recorded_impedance(card(), resistor=RESISTOR)
    assert sweep.frequency[0] < 11.0
    assert sweep.frequency[-1] > 17e3
    assert np.median(off(sweep)) < 5e-4
    assert off(sweep).max() < 3e-3
    assert match == 0.012


def test_impedance_survives_a_file(tmp_path):
    made = card()
    file = written(tmp_path, made.left, made.right)
    sweep, _ = recorded_impedance(read_recorded(file), resistor=RESISTOR)
    assert off(sweep).max() < 3e-3


def test_noise_and_distortion_leave_a_usable_curve():
    made = card(noise=1e-3)
    bent = made.right + 0.3 * made.right**2 + 0.1 * made.right**3
    sweep, _ = recorded_impedance(
        Recorded(made.left, bent, made.rate, "take.wav"), resistor=RESISTOR
    )
    assert np.median(off(sweep)) < 0.03


def test_mains_hum_in_a_recording_is_named_and_bends_little():
    made = card(noise=1e-4)
    time = np.arange(made.left.size) / made.rate
    hum = 2e-3 * np.sin(2.0 * np.pi * 50.0 * time) + 1e-3 * np.sin(2.0 * np.pi * 150.0 * time)
    sweep, _ = recorded_impedance(
        Recorded(made.left, made.right + hum, made.rate, "take.wav"), resistor=RESISTOR
    )
    found = identify([Setup(sweep)])
    assert any("Mains hum at 50, 150 Hz" in remark.says for remark in found.remarks)
    for name in ("re", "fs", "qms", "qes"):
        assert found.parameters[name].value == pytest.approx(LAUNCH[name], rel=5e-3), name


@pytest.mark.parametrize("rate", [44_100, 96_000])
def test_other_sample_rates_serve(rate):
    made = card(signal=TestSignal(duration=4.0, rate=rate))
    sweep, _ = recorded_impedance(made, resistor=RESISTOR)
    assert np.median(off(sweep)) < 2e-3


def test_channels_are_told_by_their_strength_and_said():
    made = card()
    turned = Recorded(made.right, made.left, made.rate, made.source)
    sweep, _ = recorded_impedance(turned, resistor=RESISTOR)
    assert np.median(off(sweep)) < 5e-4
    assert "The driver is on the left channel" in sweep.remarks[0].says


def test_channels_stated_the_wrong_way_round_are_named():
    with pytest.raises(InputError, match="channels are swapped"):
        recorded_impedance(card(), resistor=RESISTOR, side="left")


def test_calibration_takes_out_what_the_inputs_differ_by():
    made, known = card(gain=0.93), card(lambda f: np.full(f.size, 10.0), gain=0.93)
    plain, _ = recorded_impedance(made, resistor=RESISTOR)
    assert np.median(off(plain)) > 0.05
    sweep, match = recorded_impedance(made, resistor=RESISTOR, calibration=(known, 10.0))
    assert np.median(off(sweep)) < 1e-3
    assert match == 0.0


@pytest.mark.parametrize("resistor", [10.0, 100.0])
def test_ranges_allow_for_inputs_that_differ(resistor):
    """Inputs apart by 1 %, within the 1.2 % that are said: the truth stays inside the ranges."""
    sweep, match = recorded_impedance(
        card(gain=1.01, resistor=resistor), resistor=resistor, side="right"
    )
    found = identify([Setup(sweep)], doubts=Doubts(ohms=match, match=match)).parameters
    alike = identify([Setup(sweep)], doubts=Doubts(ohms=match)).parameters
    for name in ("re", "fs", "qms", "qes"):
        assert found[name].low <= LAUNCH[name] <= found[name].high, name
    # The more ohms the peak has beside the resistor, the more its height hangs on the inputs.
    assert alike["qms"].low > LAUNCH["qms"]


def test_calibrated_inputs_need_no_allowance():
    made = card(gain=0.93)
    known = card(lambda f: np.full(f.size, 10.0), gain=0.93)
    assert recorded_impedance(made, resistor=RESISTOR)[0].resistor == RESISTOR
    calibrated, _ = recorded_impedance(made, resistor=RESISTOR, calibration=(known, 10.0))
    assert calibrated.resistor == np.inf


def test_calibration_that_cannot_be_is_refused():
    with pytest.raises(InputError, match="does not fit its two resistors"):
        recorded_impedance(card(), resistor=RESISTOR, calibration=(card(), 1000.0))
    other = card(signal=TestSignal(duration=4.0, rate=44_100))
    with pytest.raises(InputError, match="44100 Hz"):
        recorded_impedance(card(), resistor=RESISTOR, calibration=(other, 10.0))


def test_faults_of_a_file_are_named(tmp_path):
    made = card()

    def told(*columns, **how):
        with pytest.raises(InputError) as caught:
            read_recorded(written(tmp_path, *columns, **how))
        return str(caught.value)

    assert "mono: one channel only" in told(made.left)
    assert "both channels hold the same" in told(made.left, made.left)
    assert "the right channel is silent" in told(made.left, np.zeros(made.left.size))
    assert "the left channel is clipped" in told(np.clip(9.0 * made.left, -1.0, 1.0), made.right)
    both = told(np.clip(9.0 * made.left, -1.0, 1.0), np.zeros(made.left.size))
    assert "clipped" in both
    assert "silent" in both


def test_channels_of_two_different_sounds_are_refused():
    made = card()
    # As strong as the driver's own signal, and of another source.
    other = 0.05 * np.random.default_rng(12).normal(size=made.left.size)
    with pytest.raises(InputError, match=r"do not belong together.* % of the driver's signal"):
        recorded_impedance(Recorded(made.left, other, made.rate, "take.wav"), resistor=RESISTOR)


def test_recording_without_a_sweep_is_refused():
    rng = np.random.default_rng(1)
    tone = 0.2 * np.sin(2.0 * np.pi * 440.0 * np.arange(96_000) / 48_000)
    made = Recorded(tone, 0.06 * tone + 1e-7 * rng.normal(size=tone.size), 48_000, "tone.wav")
    with pytest.raises(InputError, match="holds no sweep"):
        recorded_impedance(made, resistor=RESISTOR)


def test_resistor_far_above_the_driver_is_minded():
    sweep, _ = recorded_impedance(card(resistor=1000.0), resistor=1000.0)
    assert any("little beside a resistor of 1 kΩ" in remark.says for remark in sweep.remarks)


def test_transfer_of_white_noise_and_a_delay():
    """A plain gain with a delay of 3 samples has a magnitude of 0.4 and a falling phase."""
    rng = np.random.default_rng(8)
    whole = rng.normal(size=96_000)
    hertz = np.geomspace(50.0, 5000.0, 60)
    ratio, loud = transfer(whole, 0.4 * np.roll(whole, 3), rate=48_000, frequency=hertz)
    assert loud.all()
    assert np.abs(ratio) == pytest.approx(0.4, rel=0.02)
    assert np.angle(ratio) == pytest.approx(-2.0 * np.pi * hertz * 3 / 48_000, abs=0.02)  # rad


def test_signal_climbs_by_equal_octaves_between_silences():
    signal = TestSignal(duration=8.0, lowest=20.0, highest=5120.0, silence=0.5)
    samples = signal_samples(signal)
    assert samples.size == 9 * 48_000
    assert not samples[:24_000].any()
    assert not samples[-24_000:].any()
    assert np.abs(samples).max() == pytest.approx(10 ** (-12 / 20), rel=1e-3)
    sweep = samples[24_000:-24_000]
    for octave in range(1, 8):
        # Eight octaves in eight seconds: crossings in a tenth of a second around each.
        near = sweep[octave * 48_000 - 2400 : octave * 48_000 + 2400]
        crossings = np.count_nonzero(np.diff(np.signbit(near)))
        assert crossings / 0.2 == pytest.approx(20.0 * 2**octave, rel=0.02, abs=10.0)  # Hz


def test_signal_ends_below_half_the_sample_rate():
    samples = signal_samples(TestSignal(rate=16_000, duration=3.0))
    spectrum = np.abs(rfft(samples)) ** 2
    hertz = np.arange(spectrum.size) * 16_000 / samples.size
    assert spectrum[hertz > 7400.0].sum() < 1e-3 * spectrum.sum()


def test_signals_that_cannot_be_are_refused_all_at_once():
    with pytest.raises(InputError) as caught:
        signal_samples(TestSignal(duration=0.1, level_db=3.0, rate=100))
    told = str(caught.value)
    assert "0.1 s" in told
    assert "3 dB" in told
    assert "100 Hz" in told


def test_signal_file_is_whole_and_never_written_over_unasked(tmp_path):
    file = tmp_path / "sweep.wav"
    write_signal(file, SIGNAL)
    samples, rate = soundfile.read(io.BytesIO(file.read_bytes()))
    assert rate == 48_000
    assert samples[:, 0] == pytest.approx(signal_samples(SIGNAL), abs=2.0**-22)  # full scale
    assert (samples[:, 0] == samples[:, 1]).all()
    with pytest.raises(WriteError, match="exists already"):
        write_signal(file, SIGNAL)
    write_signal(file, TestSignal(duration=1.0), replace=True)
    assert [item.name for item in tmp_path.iterdir()] == ["sweep.wav"]
