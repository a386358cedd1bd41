import numpy as np
import pytest
from scipy.optimize import brentq
from tests.outcome.builds import DRIVER, REAL, build_of, plan_of

from boomwright.build.draws import Draws
from boomwright.outcome.speakers import channels_of, level_at_1m, sensitivity_of
from boomwright.outcome.voices import model_of
from boomwright.physics.driver import small_signal
from boomwright.physics.programme import load_programmes

ONE = DRIVER.replace("count = 2", 'count = 1\nchannel = "left"')


def a_weight(frequency):
    """Standard A-weighting by its pole frequencies, IEC 61672-1 (from memory) [dB]."""
    f2 = frequency**2
    gain = (
        12194**2
        * f2**2
        / ((f2 + 20.6**2) * np.sqrt((f2 + 107.7**2) * (f2 + 737.9**2)) * (f2 + 12194**2))
    )
    return 20 * np.log10(gain) + 2.0


def band_sum(name, low, high):
    """A-weighted level of a programme between two corners over its whole level [dB]."""
    programme = load_programmes()[name]
    total = heard = 0.0
    for frequency, level in zip(programme.frequencies, programme.spectrum_db, strict=True):
        power = 10 ** (level / 10)
        total += power
        kept = power / (1 + (low / frequency) ** 4) / (1 + (frequency / high) ** 4)
        heard += kept * 10 ** (a_weight(frequency) / 10)
    return 10 * np.log10(heard / total)


def hot_loss(power, rated):
    """Level lost to a hot coil that loses 3 dB at rated power, by search [dB]."""
    at_rated = 10 ** (3 / 20) - 1
    constant = at_rated * (1 + at_rated) / rated
    rise = brentq(lambda x: x * (1 + x) - constant * power, 0, 1e3)
    return 20 * np.log10(1 + rise)


def level_of(driver, volts):
    plan = plan_of(REAL.replace(DRIVER, driver))
    square = np.full((1, 1), volts**2)
    return float(level_at_1m(plan.outputs, tuple(square for _ in plan.outputs))[0, 0])


@pytest.mark.parametrize("volts", [0.05, 0.7, 5.1, 16.0])
def test_level_of_one_driver_by_hand(volts):
    power = volts**2 / 6
    # The coil takes all of the music; the ear hears what lies in the band.
    level = 87 + 10 * np.log10(power) + band_sum("pop", 90, 14e3)
    level -= hot_loss(power, 33)
    assert level_of(ONE, volts) == pytest.approx(level, abs=0.02)  # dB; rounding of the pole values


def test_two_on_channels_of_their_own_add_three_decibels():
    assert level_of(DRIVER, 0.4) - level_of(ONE, 0.4) == pytest.approx(10 * np.log10(2), abs=1e-9)


def test_two_in_parallel_gain_from_each_other():
    both = DRIVER + 'channel = "left"\n'
    # Each has the full volts; half of the coherent gain is the likely share.
    gain = level_of(both, 0.01) - level_of(ONE, 0.01)
    assert gain == pytest.approx(1.5 * 10 * np.log10(2), abs=1e-9)


def test_two_in_series_have_half_the_volts_each():
    both = DRIVER + 'channel = "left"\nwiring = "series"\n'
    gain = level_of(both, 0.01) - level_of(ONE, 0.01)
    halved = 1.5 * 10 * np.log10(2) - 20 * np.log10(2)
    assert gain == pytest.approx(halved, abs=1e-3)  # dB; the coil is a little cooler


def test_compression_takes_more_the_louder():
    steps = [level_of(ONE, volts) for volts in (0.1, 1.0, 10.0)]
    assert 20 - 0.4 < steps[1] - steps[0] < 20
    assert steps[2] - steps[1] < steps[1] - steps[0]


def test_silence_has_no_level():
    assert level_of(ONE, 0.0) == -300


def test_speaker_lead_takes_its_share_of_the_volts():
    lead = 'lead_area = "0.2 mm² (standard)"'
    thin = ONE.replace('lead_length = "0 m"', f'{lead}\nlead_length = "5 m (standard)"')
    resistance = 2 * 1.7241e-8 * 5 / 0.2e-6
    lost = 20 * np.log10(6 / (6 + resistance))
    assert level_of(thin, 0.01) - level_of(ONE, 0.01) == pytest.approx(lost, abs=2e-3)  # dB


def test_load_of_groups():
    def output(driver):
        return plan_of(REAL.replace(DRIVER, driver)).outputs[0]

    assert output(DRIVER + 'channel = "left"\n').load[0, 0] == pytest.approx(3.0, rel=1e-9)
    series = DRIVER + 'channel = "left"\nwiring = "series"\n'
    assert output(series).load[0, 0] == pytest.approx(12.0, rel=1e-9)
    assert output(series).load_least == pytest.approx(0.8 * 12, rel=1e-9)


TWEETER = """
[driver]
name = "tweeter"
impedance = "8 Ω (standard)"
sensitivity = "91 dB (standard)"
band = "high"
capacitor = "3.3 µF (standard)"
lead_length = "0 m"
"""


def test_tweeter_behind_a_capacitor_adds_no_load():
    woofer, tweeter = (
        DRIVER.replace("[driver]", "[[driver]]"),
        TWEETER.replace("[driver]", "[[driver]]\ncount = 2"),
    )
    plan = plan_of(REAL.replace(DRIVER, woofer + tweeter))
    assert [len(output.groups) for output in plan.outputs] == [2, 2]
    for output in plan.outputs:
        assert output.load[0, 0] == pytest.approx(6.0, rel=1e-9)
        assert output.share.item() == 1.0


def test_tweeter_alone_takes_its_band_of_the_power():
    plan = plan_of(REAL.replace(DRIVER, TWEETER))
    (output,) = plan.outputs
    corner = 1 / (2 * np.pi * 8 * 3.3e-6)
    # The cone ends before the filter is flat, so "3 dB down" comes a little early.
    assert output.groups[0].low_end.item() == pytest.approx(corner, rel=0.05)
    # First order into 8 ohm: what passes is x²/(1 + x²) of each band's power.
    programme = load_programmes()["pop"]
    ratio = (programme.frequencies / corner) ** 2
    share = np.sum(programme.band_powers * ratio / (1 + ratio))
    assert output.share.item() == pytest.approx(share, rel=1e-9)
    assert output.load[0, 0] == pytest.approx(8.0, rel=1e-9)


@pytest.mark.parametrize(
    ("given", "impedance", "at_1w"),
    [("90 dB (standard)", 8, 90.0), ("90 dB (standard)", 4, 87.0), ("90 dB (standard)", 16, 93.0)],
)
def test_sensitivity_at_283_volts(given, impedance, at_1w):
    text = DRIVER.replace('"87 dB (standard)"', f'"{given}"\nsensitivity_at = "2.83 V"')
    driver = build_of(REAL.replace(DRIVER, text.replace("6 Ω", f"{impedance} Ω"))).driver[0]
    assert sensitivity_of(driver).likely == pytest.approx(at_1w, abs=0.015)  # dB; 2.83² is 8.009


def test_sensitivity_from_parameters():
    text = DRIVER.replace(
        'sensitivity = "87 dB (standard)"', 'fs = "50 Hz"\nvas = "31 L"\nqes = "0.46"'
    )
    driver = build_of(REAL.replace(DRIVER, text)).driver[0]
    # Efficiency 4 pi² / c³ · fs³ Vas / Qes in half-space, 112.1 dB for all of it, for a watt in the
    # coil; a watt in the rated impedance is more where the coil has 80 % of it.
    efficiency = 4 * np.pi**2 / 343.2**3 * 50**3 * 31e-3 / 0.46
    assert sensitivity_of(driver).likely == pytest.approx(
        112.1 + 10 * np.log10(efficiency / 0.8),
        abs=0.15,  # dB; speed and density of air differ by a bit
    )


def test_sensitivity_of_a_motor_is_what_its_own_pressure_says():
    text = DRIVER.replace(
        'sensitivity = "87 dB (standard)"',
        'fs = "50 Hz"\nvas = "31 L"\nqes = "0.46"\nre = "4.2 Ω"',
    )
    driver = build_of(REAL.replace(DRIVER, text)).driver[0]
    # rho bl sd/(2 pi re mms) for the volts that put 1 W in the rated 6 ohm, any cone area.
    mms = 1.2041 * (343.2 * 0.02) ** 2 / (31e-3 * (2 * np.pi * 50) ** 2)
    bl = np.sqrt(2 * np.pi * 50 * mms * 4.2 / 0.46)
    pressure = 1.2041 * bl * 0.02 / (2 * np.pi * 4.2 * mms) * np.sqrt(6.0)
    level = 20 * np.log10(pressure / 20e-6)
    # abs: 0.01 dB, the digits that are kept.
    assert sensitivity_of(driver).likely == pytest.approx(level, abs=0.01)


@pytest.mark.parametrize("at", ["1 W", "2.83 V"])
def test_vas_that_is_not_known_is_that_of_the_sensitivity(at):
    # 31 L, 50 Hz and 0.46 at a volt on 4.2 ohm, all of a watt being 112.1 dB (Small 1972).
    pressure = (
        20e-6 * 10 ** (112.1 / 20) * np.sqrt(4 * np.pi**2 / 343.2**3 * 50**3 * 31e-3 / 0.46 / 4.2)
    )
    volts = np.sqrt(6.0) if at == "1 W" else 8.0**0.5
    level = 20 * np.log10(pressure * volts / 20e-6)
    text = DRIVER.replace(
        'sensitivity = "87 dB (standard)"',
        f'sensitivity = "{level:.3f} dB"\nsensitivity_at = "{at}"\nfs = "50 Hz"\nqes = "0.46"\n'
        're = "4.2 Ω"',
    )
    model = model_of(build_of(REAL.replace(DRIVER, text)).driver[0], Draws(0))
    assert model is not None
    # 0.1 dB between the air constants in print.
    assert float(small_signal(model).vas[0, 0]) == pytest.approx(31e-3, rel=0.03)


def test_unknown_sensitivity_is_a_wide_guess():
    driver = build_of(REAL.replace('sensitivity = "87 dB (standard)"\n', "")).driver[0]
    guess = sensitivity_of(driver)
    assert (guess.low, guess.likely, guess.high) == (82, 86, 89)


def test_bass_ends_at_the_corner_of_the_closed_box():
    text = DRIVER.replace(
        'low_end = "90 Hz (standard)"', 'fs = "55 Hz"\nvas = "20 L"\nqes = "0.5"\nqms = "4"'
    )
    box = '[cabinet]\nvolume = "10 L"\ntaken = "0 L"\nleaks = "tight"\nqa = "1000 (standard)"\n'
    low_end = plan_of(REAL.replace(DRIVER, text) + box).outputs[0].groups[0].low_end.item()
    total = 1 / (1 / 0.5 + 1 / 4)
    stiffer = np.sqrt(1 + 20 / 5)
    resonance, q = 55 * stiffer, total * stiffer

    def down(frequency):
        ratio = (frequency / resonance) ** 2
        return 10 * np.log10(ratio**2 / ((1 - ratio) ** 2 + ratio / q**2)) + 3.0103

    assert low_end == pytest.approx(brentq(down, 10, 200), rel=5e-3)


@pytest.mark.parametrize(
    ("channel", "count", "channels", "use", "found"),
    [
        ("each", 2, 2, "as-built", {0: 1, 1: 1}),
        ("each", 5, 2, "as-built", {0: 3, 1: 2}),
        ("each", 1, 4, "as-built", {0: 1}),
        ("each", 4, 2, "paralleled", {0: 4}),
        ("left", 3, 2, "as-built", {0: 3}),
        ("right", 3, 2, "as-built", {1: 3}),
        ("right", 2, 1, "as-built", {0: 2}),
        ("sub", 1, 3, "as-built", {2: 1}),
        ("sub", 1, 2, "bridged", {0: 1}),
    ],
)
def test_drivers_are_shared_out_over_the_channels(channel, count, channels, use, found):
    build = build_of(REAL)
    driver = build.driver[0].model_copy(update={"channel": channel, "count": count})
    board = build.amplifier[0].model_copy(update={"channels": channels, "use": use})
    assert channels_of(driver, board) == found


def test_coupling_is_drawn_between_none_and_full():
    plan = plan_of(REAL, versions=200)
    coupling = plan.outputs[0].groups[0].coupling[:, 0]
    assert coupling[0] == 0.5
    assert 0 <= coupling.min() < 0.1
    assert 0.9 < coupling.max() <= 1
