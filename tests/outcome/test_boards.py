import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from tests.outcome.builds import REAL, build_of

from boomwright.outcome.run import run_build
from boomwright.physics.programme import load_programmes

CLAIM = REAL.replace("[amplifier]", '[amplifier]\nclaim = "48 W (standard)"')
RECEIVER = '[receiver]\noutput = "0.9 V (standard)"\n'


def board_of(text):
    outcome = run_build(build_of(text), versions=0)
    return outcome, outcome.amplifiers[0]


def peak_of(outcome):
    """Clean peak at the volts the board has flat out, full battery."""
    volts = outcome.scenario("flat-out").part("amplifier").volts_in.likely
    return (volts - 1.2) / (1 + 0.31 / 6)


def ten_percent_factor():
    """Power of a sine cut so far that a tenth of it is harmonics, over the clean one, by sums."""
    phase = np.linspace(0, 2 * np.pi, 40_001)

    def clipped(drive):
        return np.clip(drive * np.sin(phase), -1, 1)

    def distortion(drive):
        wave = clipped(drive)
        first = 2 * np.mean((wave * np.sin(phase))[:-1])
        return np.sqrt(2 * np.mean(wave[:-1] ** 2) / first**2 - 1)

    drive = brentq(lambda g: distortion(g) - 0.1, 1.01, 3)
    return 2 * np.mean(clipped(drive)[:-1] ** 2)


def test_clean_power_by_hand():
    outcome, board = board_of(REAL)
    clean = peak_of(outcome) ** 2 / 2 / 6
    assert [output.clean_full.likely for output in board.outputs] == pytest.approx(
        [clean, clean], rel=1e-7
    )
    assert board.outputs[0].clean_empty.likely < clean
    assert board.outputs[0].load_least == pytest.approx(4.8, rel=1e-9)


def test_ten_percent_distortion_is_a_quarter_more():
    _, board = board_of(REAL)
    factor = ten_percent_factor()
    assert factor == pytest.approx(1.288, abs=5e-4)
    output = board.outputs[0]
    assert output.ten_percent_full.likely == pytest.approx(
        factor * output.clean_full.likely, rel=1e-4
    )


def test_claim_is_held_against_both_outputs():
    outcome, board = board_of(CLAIM)
    real = 2 * ten_percent_factor() * peak_of(outcome) ** 2 / 2 / 6
    assert board.claim_share.likely == pytest.approx(real / 48, rel=1e-4)
    peak = np.sqrt(2 * 6 * 24 / ten_percent_factor())
    assert board.volts_for_claim == pytest.approx(1.2 + peak * (1 + 0.31 / 6), rel=1e-4)


def test_claim_of_a_board_used_by_half_is_halved():
    text = CLAIM.replace("count = 2", 'count = 1\nchannel = "left"')
    outcome, board = board_of(text)
    real = ten_percent_factor() * peak_of(outcome) ** 2 / 2 / 6
    assert board.claim_share.likely == pytest.approx(real / 24, rel=1e-4)
    assert board.volts_for_claim == pytest.approx(board_of(CLAIM)[1].volts_for_claim, rel=1e-9)


def test_no_claim_no_share():
    _, board = board_of(REAL)
    assert np.isnan(board.claim_share.likely)
    assert np.isnan(board.volts_for_claim)


def test_input_that_clips_and_the_receivers_excess():
    outcome, board = board_of(REAL + RECEIVER)
    limit = peak_of(outcome) / np.sqrt(2) / 10 ** (26 / 20)
    assert board.clip_input.likely == pytest.approx(limit, rel=1e-7)
    assert board.gain_excess.likely == pytest.approx(20 * np.log10(0.9 / limit), abs=1e-6)
    padded = REAL.replace("[amplifier]", '[amplifier]\ninput_pad = "7 dB (standard)"')
    _, quiet = board_of(padded + RECEIVER)
    assert quiet.gain_excess.likely == pytest.approx(board.gain_excess.likely - 7, abs=1e-6)
    assert np.isnan(board_of(REAL)[1].gain_excess.likely)


def test_volts_sag_at_the_peak_and_more_at_the_end():
    outcome, board = board_of(REAL)
    average = outcome.scenario("flat-out").part("amplifier").volts_in.likely
    assert board.volts_peak_empty.likely < board.volts_peak_full.likely < average


def test_coil_without_a_capacitor_takes_all_of_the_music():
    outcome, _ = board_of(REAL)
    (driver,) = outcome.drivers
    crest = load_programmes()["pop"].levels[-1]
    peak = peak_of(outcome)
    assert driver.power_flat_out.likely == pytest.approx((peak / crest) ** 2 / 6, rel=1e-6)
    assert driver.power_clipped.likely == pytest.approx(peak**2 / 2 / 6, rel=1e-6)
    assert (driver.low_end, driver.high_end) == (90, 14e3)


def test_driver_in_its_share_of_a_closed_box():
    text = REAL.replace('low_end = "90 Hz (standard)"', 'fs = "62 Hz"\nvas = "9 L"\nqes = "0.55"')
    outcome, _ = board_of(text + '[cabinet]\nvolume = "16 L"\ntaken = "1 L (standard)"\n')
    (driver,) = outcome.drivers
    stiffer = np.sqrt(1 + 9 / 7.5)
    assert driver.box_fc == pytest.approx(62 * stiffer, rel=1e-9)
    # Without a mechanical Q of its own the usual 4 is taken.
    assert driver.box_qtc == pytest.approx(stiffer / (1 / 0.55 + 1 / 4), rel=1e-9)
    vented, _ = board_of(text + '[cabinet]\nvolume = "16 L"\ntype = "vented"\n')
    assert np.isnan(vented.drivers[0].box_fc)


def test_mean_of_a_clipped_sine_is_what_the_factor_counts():
    # The same factor by integration over the clipping angle, as a check on the sums above.
    drive = 10 ** (2.17 / 20)
    angle = np.arcsin(1 / drive)
    below, _ = quad(lambda x: (drive * np.sin(x)) ** 2, 0, angle)
    assert 4 / np.pi * (below + np.pi / 2 - angle) == pytest.approx(ten_percent_factor(), abs=1e-3)
