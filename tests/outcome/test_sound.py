"""Sound over frequency: what limits it, how outputs and ways add up, what the amplifier meets."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.outcome.builds import AGM, DRIVER, NO_LEAD, REAL, build_of

from boomwright.build.model import Build
from boomwright.outcome.run import run_build
from boomwright.outcome.sound import STATES, SoundOutcome, decibels, sound_of
from boomwright.physics.limits import LIMITS, VENT_AIR_SPEED

BOARD = f"""
[amplifier]
amplifier_class = "D"
topology = "bridge"
channels = 1
voltage_loss = "1.1 V (standard)"
output_resistance = "0.05 Ω (standard)"
idle_power = "0.7 W (standard)"
supply_min = "6 V"
supply_max = "60 V"
load_min = "4 Ω"
gain = "26 dB (standard)"
lead = "{NO_LEAD}"
"""

# Levels and areas of O3.49 and O3.50 hold whatever motor moves the cone.
MOTOR = """
[driver]
impedance = "8 Ω (standard)"
re = "6.4 Ω (standard)"
fs = "38 Hz (standard)"
qes = "0.43 (standard)"
qms = "4.1 (standard)"
vas = "44 L (standard)"
sd = "200 cm² (standard)"
xmax = "5 mm (standard)"
le = "0 mH (standard)"
power = "400 W (standard)"
band = "low"
lead_length = "0 m"
"""

CLOSED = """
[cabinet]
volume = "26 L"
type = "closed"
leaks = "tight"
electronics_apart = true
"""

WANT = """
[want]
level = "70 dB(A) at 1 m"
"""


def text_of(
    driver: str = MOTOR, cabinet: str = CLOSED, board: str = BOARD, *, cells: int = 6
) -> str:
    battery = AGM.replace("cells = 6", f"cells = {cells}")
    return f'name = "Test"\n{WANT}\n{battery}\n{board}\n{driver}\n{cabinet}'


def sound(text: str) -> SoundOutcome:
    return sound_of_build(build_of(text))


def sound_of_build(build: Build) -> SoundOutcome:
    return sound_of(build, run_build(build, versions=0))


def at(found: SoundOutcome, hertz: float, values: np.ndarray) -> np.ndarray:
    """Values of a curve between its points."""
    return np.array(
        [np.interp(math.log(hertz), np.log(found.frequency), row) for row in np.atleast_2d(values)]
    )


@pytest.mark.parametrize(
    ("sd", "xmax", "hertz", "level"),
    [
        # Published values O3.49 and O3.50, monopole formula (Small 1972; Beranek), computed.
        ("200 cm²", "5 mm", 40.0, 92.63),
        ("133 cm²", "4 mm", 50.0, 91.02),
    ],
)
def test_travel_of_a_closed_box_limits_its_bass(sd, xmax, hertz, level):
    driver = MOTOR.replace("200 cm²", sd).replace("5 mm", xmax)
    # Twenty-four cells, so that volts limit nothing down there.
    found = sound(text_of(driver, cells=24))
    clean = at(found, hertz, found.clean)
    # 0.1 dB as the source states; the printed sensitivity is not given, so the motor's own rules.
    assert clean == pytest.approx(np.full(len(STATES), level), abs=0.1)
    place = int(np.argmin(np.abs(found.frequency - hertz)))
    assert {LIMITS[number] for number in found.ruling[:, place]} == {"travel"}


def test_volts_limit_follows_from_the_sensitivity():
    # A driver of rated watts only: level = sensitivity + 20 log10(V/sqrt(impedance)).
    driver = """
[driver]
impedance = "8 Ω (standard)"
sensitivity = "88 dB (standard)"
low_end = "60 Hz (standard)"
high_end = "18 kHz (standard)"
power = "400 W (standard)"
lead_length = "0 m"
"""
    found = sound(text_of(driver, ""))
    (output,) = found.outputs
    volts = output.peak_volts / math.sqrt(2.0)
    wanted = 88.0 + 20.0 * np.log10(volts / math.sqrt(8.0))
    assert at(found, 1000.0, found.clean) == pytest.approx(wanted, rel=1e-3)
    assert at(found, 1000.0, found.level)[0] == pytest.approx(88.0, rel=1e-3)
    place = int(np.argmin(np.abs(found.frequency - 1000.0)))
    assert [LIMITS[number] for number in found.ruling[:, place]] == ["volts"] * 3


def test_sinking_battery_gives_no_more():
    found = sound(text_of())
    full, half, empty = found.clean
    assert np.all(empty <= half)
    assert np.all(half <= full)
    assert np.any(empty < full - 0.2)
    (output,) = found.outputs
    assert output.peak_volts[0] > output.peak_volts[1] > output.peak_volts[2]


def test_two_outputs_alike_add_six_decibels_in_the_bass_and_three_in_the_treble():
    # Published value O8.30: two equal in phase give 6.0 dB; as unlike sources 3.0 dB.
    one = sound(text_of(MOTOR.replace('band = "low"', 'band = "full"')))
    driver = MOTOR.replace('band = "low"', 'band = "full"\ncount = 2')
    # Twice the air, so that each driver has what the one had.
    two = sound(text_of(driver, CLOSED.replace("26 L", "52 L"), BOARD.replace("= 1", "= 2")))
    gain = two.level - one.level
    assert float(np.interp(20.0, two.frequency, gain)) == pytest.approx(6.02, abs=0.05)  # dB
    assert float(np.interp(12e3, two.frequency, gain)) == pytest.approx(3.01, abs=0.05)  # dB
    assert np.all(np.diff(gain) < 1e-9)


def left_and_right(*, turned: bool = False) -> SoundOutcome:
    """Two drivers alike, each in a table and on a channel of its own."""
    tables = [
        MOTOR.replace("[driver]", f'[[driver]]\nname = "{side}"\nchannel = "{side}"')
        for side in ("left", "right")
    ]
    if turned:
        tables[1] += "reversed = true\n"
    return sound(
        text_of("\n".join(tables), CLOSED.replace("26 L", "52 L"), BOARD.replace("= 1", "= 2"))
    )


def test_left_and_right_in_two_tables_sound_as_in_one():
    pair = sound(
        text_of(MOTOR + "count = 2\n", CLOSED.replace("26 L", "52 L"), BOARD.replace("= 1", "= 2"))
    )
    assert left_and_right().level == pytest.approx(pair.level, rel=1e-9)
    assert left_and_right().clean == pytest.approx(pair.clean, rel=1e-9)


def test_one_of_two_sides_turned_round_loses_its_bass_and_not_its_treble():
    right, wrong = left_and_right(), left_and_right(turned=True)
    lost = right.level - wrong.level
    # 10 log10 of (1 + s)/(1 - s), s = 1/(1 + (f/700)²) being the share that they sound as one.
    assert float(np.interp(20.0, wrong.frequency, lost)) == pytest.approx(33.9, abs=0.1)  # dB
    assert float(np.interp(12e3, wrong.frequency, lost)) == pytest.approx(0.03, abs=0.01)  # dB


def test_fuller_battery_is_no_quieter_where_outputs_cancel():
    # A weak board whose volts sink and a strong one that its driver's watts limit: second order
    # apart and in phase, the less of the weak one is left, the louder the sum.
    two = TWO_WAY.replace('name = "woofer"', 'name = "woofer"\namplifier = "strong"').replace(
        'name = "tweeter"', 'name = "tweeter"\namplifier = "weak"\npower = "900 W"'
    )
    boards = "".join(
        BOARD.replace("[amplifier]", f'[[amplifier]]\nname = "{name}"')
        for name in ("strong", "weak")
    )
    found = sound(text_of(two.replace('"400 W (standard)"', '"3 W (standard)"'), board=boards))
    woofer, tweeter = found.outputs
    assert np.any(woofer.clean[0] <= woofer.clean[2] + 1e-9)
    assert np.all(tweeter.clean[0] >= tweeter.clean[2])
    near = (found.frequency > 300.0) & (found.frequency < 2000.0)
    sums = [
        np.abs(
            10 ** (woofer.clean[state] / 20) * np.exp(1j * np.angle(woofer.pressure))
            + 10 ** (tweeter.clean[state] / 20) * np.exp(1j * np.angle(tweeter.pressure))
        )
        for state in (0, 2)
    ]
    assert np.any(sums[0][near] < sums[1][near])
    assert np.all(found.clean[0] >= found.clean[2])


TWO_WAY = (
    MOTOR.replace("[driver]", '[[driver]]\nname = "woofer"').replace(
        'le = "0 mH (standard)"',
        'le = "0 mH (standard)"\nfilter = ["series 0.57 mH 0.01 Ω", "across 11 µF"]'
        '\nhigh_end = "20 kHz (standard)"',
    )
    + """
[[driver]]
name = "tweeter"
impedance = "8 Ω (standard)"
sensitivity = "89 dB (standard)"
band = "high"
low_end = "300 Hz (standard)"
high_end = "30 kHz (standard)"
lead_length = "0 m"
filter = ["series 11 µF", "across 0.57 mH 0.01 Ω"]
"""
)


def test_second_order_ways_cancel_until_one_is_reversed():
    # Two second-order sections are 180 degrees apart at every frequency (any text on crossovers).
    asis = sound(text_of(TWO_WAY))
    turned = sound(
        text_of(TWO_WAY.replace('name = "tweeter"', 'name = "tweeter"\nreversed = true'))
    )
    (output,) = asis.outputs
    parts = [np.abs(voice.pressure) for voice in output.voices]
    meet = int(np.argmin(np.abs(np.log(parts[0] / parts[1]))))
    assert 1000.0 < asis.frequency[meet] < 4000.0
    assert turned.level[meet] > asis.level[meet] + 6.0
    # What each way does alone is the same, and far from the crossover so is the sum.
    assert float(np.interp(100.0, asis.frequency, asis.level - turned.level)) == pytest.approx(
        0.0,
        abs=0.2,  # dB: the tweeter is 40 dB down there
    )


def test_amps_limit_where_the_board_is_weak():
    weak = BOARD.replace('gain = "26 dB', 'current_max = "0.9 A (standard)"\ngain = "26 dB')
    found, strong = sound(text_of(board=weak)), sound(text_of())
    (output,) = found.outputs
    place = int(np.argmin(np.abs(found.frequency - 200.0)))
    assert [LIMITS[number] for number in found.ruling[:, place]] == ["amps"] * 3
    # Ohm's law: 0.9 A peak through what it meets there.
    volts = output.voices[0].clean_volts[0, place]
    assert volts == pytest.approx(0.9 * abs(output.impedance[place]) / math.sqrt(2.0), rel=1e-9)
    assert found.clean[0, place] < strong.clean[0, place]


def test_heat_limits_a_driver_of_few_watts():
    found = sound(text_of(MOTOR.replace("400 W", "3 W"), cells=12))
    place = int(np.argmin(np.abs(found.frequency - 400.0)))
    voice = found.outputs[0].voices[0]
    assert LIMITS[found.ruling[0, place]] == "heat"
    # Power in the coil at the limit is what it stands.
    assert voice.power[place] * voice.clean_volts[0, place] ** 2 == pytest.approx(3.0, rel=1e-9)


VENTED = """
[cabinet]
volume = "40 L"
type = "vented"
leaks = "tight"
electronics_apart = true
vent = { diameter = "3 cm (standard)", length = "4 cm (standard)" }
"""


def test_narrow_vent_is_heard_before_the_cone_is_at_its_end():
    found = sound(text_of(cabinet=VENTED, cells=12))
    voice = found.outputs[0].voices[0]
    ruled = [LIMITS[number] for number in found.ruling[0]]
    assert "vent air" in ruled
    place = ruled.index("vent air")
    speed = voice.vent_speed[place] * voice.clean_volts[0, place]
    assert speed == pytest.approx(VENT_AIR_SPEED, rel=1e-9)
    wide = sound(
        text_of(cabinet=VENTED.replace('"3 cm', '"12 cm').replace('"4 cm', '"60 cm'), cells=12)
    )
    assert "vent air" not in [LIMITS[number] for number in wide.ruling[0]]


def test_only_bass_drivers_move_the_air_in_the_vent():
    found = sound(text_of(TWO_WAY, VENTED))
    woofer, tweeter = (voice for _, voice in found.voices())
    assert woofer.opening_known
    assert np.all(np.isfinite(woofer.vent_speed))
    assert not tweeter.opening_known
    assert np.all(np.isnan(tweeter.vent_speed))


def test_unknown_driver_stands_as_its_rated_impedance():
    driver = '[driver]\nimpedance = "4.7 Ω (standard)"\nlead_length = "0 m"\n'
    found = sound(text_of(driver))
    ((output, voice),) = found.voices()
    assert not voice.known
    assert not voice.travel_known
    assert np.abs(output.impedance) == pytest.approx(np.full(300, 4.7), rel=1e-9)
    assert output.least == pytest.approx(4.7, rel=1e-9)
    assert set(found.ruling.ravel().tolist()) <= {LIMITS.index("volts"), LIMITS.index("heat")}
    assert not np.any(voice.travel)


def test_filter_and_box_show_in_what_the_amplifier_meets():
    found = sound(text_of())
    (output,) = found.outputs
    size = np.abs(output.impedance)
    # A closed box peaks at fc = fs sqrt(1 + vas/vb); Small, Closed-Box Loudspeaker Systems, 1972.
    fc = 38.0 * math.sqrt(1.0 + 44.0 / 26.0)
    assert found.frequency[np.argmax(size)] == pytest.approx(fc, rel=0.02)
    assert output.least == pytest.approx(6.4, rel=0.01)


def test_silence_is_far_down():
    assert decibels(np.array([0.0])) == pytest.approx([-300.0])
    assert decibels(np.array([2e-5, 1.0])) == pytest.approx([0.0, 93.98], abs=0.01)  # dB, 1 Pa


def test_two_tables_of_one_band_add_as_two_of_one_table_do():
    one = build_of(REAL.replace(DRIVER, DRIVER + 'channel = "left"\n'))
    halves = [
        DRIVER.replace("[driver]", "[[driver]]")
        .replace("count = 2", f'count = 1\nname = "{name}"')
        .rstrip()
        + '\nchannel = "left"\n'
        for name in ("upper", "lower")
    ]
    two = build_of(REAL.replace(DRIVER, "".join(halves)))
    whole, parted = (sound_of(build, run_build(build, versions=0)) for build in (one, two))
    assert parted.level == pytest.approx(whole.level, abs=0.01)  # dB
