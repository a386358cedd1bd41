import numpy as np
import pytest
from scipy.optimize import brentq
from tests.outcome.builds import AGM, RAILS, REAL, drive_of, lamp_box, place_of, plan_of

from boomwright.outcome.discharge import own_powers
from boomwright.outcome.network import solve_moment
from boomwright.physics.programme import load_programmes

EMF, SOURCE = 12.4, 0.083
SWITCHING = 0.03


def moment_of(plan, *, emf=EMF, resistance=SOURCE, volts=None, mode="music"):
    drive = drive_of(plan, volts=volts, mode=mode)
    return solve_moment(
        plan, emf=emf * np.ones_like(drive.volts), resistance=np.array(resistance), drive=drive
    )


def clipped_means(name, clip):
    """Mean and mean square of a programme of rms 1, clipped, by a fine sum over its table."""
    programme = load_programmes()[name]
    steps = np.linspace(0.0, min(clip, programme.levels[-1]), 200_001)
    beyond = np.interp(steps, programme.levels, programme.exceedance)
    return np.trapezoid(beyond, steps), np.trapezoid(2 * steps * beyond, steps)


def test_lamp_behind_fuse_switch_and_leads_by_ohms_law():
    plan = plan_of(REAL)
    moment = moment_of(plan, mode="silent")
    names = ("fuse", "switch", "cutoff", "load", "amplifier")
    fuse, switch, cutoff, lamp, board = (place_of(plan, name) for name in names)
    path = sum(
        float(plan.nodes[place].lead[0, 0] + plan.nodes[place].series[0, 0])
        for place in (fuse, switch, cutoff)
    )
    own_lead = float(plan.nodes[board].lead[0, 0])
    # The board takes 0.7 W, the lamp and the cutoff a fixed current.
    fixed = 0.13 + 0.009

    def excess(current):
        at_board = EMF - (fixed + current) * (SOURCE + path) - current * own_lead
        return current * at_board - 0.7

    current = brentq(excess, 0.0, 1.0, xtol=1e-14)
    total = fixed + current
    assert moment.current[0, 0] == pytest.approx(total, rel=1e-8)
    assert moment.terminal[0, 0] == pytest.approx(EMF - total * SOURCE, rel=1e-9)
    lamp_lead = float(plan.nodes[lamp].lead[0, 0])
    at_lamp = EMF - total * (SOURCE + path) - 0.13 * lamp_lead
    assert moment.inputs[lamp][0, 0] == pytest.approx(at_lamp, rel=1e-9)


def test_buck_converter_meets_the_quadratic_of_constant_power():
    text = RAILS.replace('fed_by = "high"', 'fed_by = "five"').replace("0.7 W", "0 W")
    plan = plan_of(text.replace("210 mW", "0 mW"))
    moment = moment_of(plan, mode="silent")
    five = place_of(plan, "five")
    # Loss p0 + p1 P + p2 P² with half of the last two at rated power in the square, 87 % at best.
    least, idle, rated = 1 / 0.87 - 1, 0.09, 15.0
    root = (-2 * np.sqrt(idle) + np.sqrt(4 * idle + 4 * rated * least)) / (2 * rated)
    square = root**2
    linear = square * rated
    for column, amps in ((0, 0.045), (3, 0.045 + 1.1)):
        out = 5.0 * amps
        power = idle + out * (1 + linear + square * out)
        path = SOURCE + sum(
            float(plan.nodes[place].lead[0, 0] + plan.nodes[place].series[0, 0])
            for place in plan.upstream(five)
        )
        volts = (EMF + np.sqrt(EMF**2 - 4 * power * path)) / 2
        assert moment.inputs[five][0, column] == pytest.approx(volts, rel=1e-8)
        assert moment.outputs[five][0, column] == pytest.approx(5.0, rel=1e-12)


def test_buck_converter_short_of_volts_passes_on_what_is_left():
    plan = plan_of(RAILS)
    moment = moment_of(plan, emf=5.6, mode="silent")
    five = place_of(plan, "five")
    left = moment.inputs[five][0, 0] - 2.0
    assert moment.outputs[five][0, 0] == pytest.approx(left, rel=1e-9)
    assert left < 4


@pytest.mark.parametrize(("kind", "volts"), [("D", 1.3), ("D", 3.9), ("AB", 1.3), ("AB", 3.9)])
def test_amplifier_takes_what_its_music_costs(kind, volts):
    # 3.9 V rms of pop music would swing 19.5 V: the peaks are cut.
    plan = plan_of(REAL.replace('amplifier_class = "D"', f'amplifier_class = "{kind}"'))
    board = place_of(plan, "amplifier")
    moment = moment_of(plan, volts=volts)
    at_board = moment.inputs[board][0, 0]
    load = 6.0
    peak = (at_board - 1.2) / (1 + 0.31 / load)
    mean, square = clipped_means("pop", peak / volts)
    if kind == "AB":
        per_output = at_board * volts * mean / load
    else:
        per_output = volts**2 * square / load * (1 + 0.31 / load)
        per_output += SWITCHING * at_board * volts * mean / load
    power = 0.7 + 2 * per_output
    assert moment.currents[board][0, 0] * at_board == pytest.approx(power, rel=1e-5)
    assert moment.peaks[0][0, 0] == pytest.approx(peak, rel=1e-8)
    assert moment.mean_squares[1][0, 0] == pytest.approx(volts**2 * square, rel=1e-5)


@pytest.mark.parametrize(("topology", "swing"), [("single-ended", 0.5), ("split", 0.5)])
def test_half_swing_outputs_take_half_the_rail(topology, swing):
    text = REAL.replace('amplifier_class = "D"', 'amplifier_class = "AB"')
    plan = plan_of(text.replace('topology = "bridge"', f'topology = "{topology}"'))
    board = place_of(plan, "amplifier")
    moment = moment_of(plan, volts=0.6)
    at_board = moment.inputs[board][0, 0]
    mean, _ = clipped_means("pop", np.inf)
    power = 0.7 + 2 * swing * at_board * 0.6 * mean / 6.0
    assert moment.currents[board][0, 0] * at_board == pytest.approx(power, rel=1e-5)
    assert moment.peaks[0][0, 0] == pytest.approx(swing * (at_board - 1.2) / (1 + 0.31 / 6))


def test_current_limit_holds_the_peak():
    text = REAL.replace("[amplifier]", '[amplifier]\ncurrent_max = "0.9 A (standard)"')
    moment = moment_of(plan_of(text), volts=2.0)
    assert moment.peaks[0][0, 0] == pytest.approx(0.9 * 6.0, rel=1e-12)


def test_amplifier_on_a_boost_converter():
    plan = plan_of(RAILS)
    board, high = place_of(plan, "amplifier"), place_of(plan, "high")
    moment = moment_of(plan, volts=2.9)
    lead = float(plan.nodes[board].lead[0, 0])
    assert moment.outputs[high][0, 0] == 24.0
    at_board = 24.0 - moment.currents[board][0, 0] * lead
    mean, square = clipped_means("pop", np.inf)
    power = 0.7 + 2 * (2.9**2 * square / 6 * (1 + 0.31 / 6) + SWITCHING * at_board * 2.9 * mean / 6)
    assert at_board * moment.currents[board][0, 0] == pytest.approx(power, rel=1e-5)
    out = 24.0 * moment.currents[board][0, 0]
    least, idle, rated = 1 / 0.91 - 1, 0.21, 96.0
    root = (-2 * np.sqrt(idle) + np.sqrt(4 * idle + 4 * rated * least)) / (2 * rated)
    taken = idle + out * (1 + root**2 * rated + root**2 * out)
    into = moment.inputs[high][0, 0] * moment.currents[high][0, 0]
    assert into == pytest.approx(taken, rel=1e-7)


@pytest.mark.parametrize("text", [REAL, RAILS], ids=["real", "rails"])
@pytest.mark.parametrize("mode", ["music", "peak", "silent"])
def test_currents_add_up_and_powers_balance(text, mode):
    plan = plan_of(text)
    moment = moment_of(plan, mode=mode)
    assert moment.settled
    source = sum(moment.currents[place] for place in plan.children[-1])
    np.testing.assert_allclose(source, moment.current, rtol=1e-12)
    for place, node in enumerate(plan.nodes):
        if node.kind in {"fuse", "switch", "cutoff", "polarity"}:
            fed = sum(moment.currents[child] for child in plan.children[place])
            np.testing.assert_allclose(fed + node.current, moment.currents[place], rtol=1e-9)
    own = own_powers(plan, moment, np.array(SOURCE))
    np.testing.assert_allclose(own.sum(axis=0), EMF * moment.current, rtol=1e-6)
    assert np.all(own > -1e-9)


def test_peak_is_every_output_at_its_limit():
    plan = plan_of(REAL)
    board = place_of(plan, "amplifier")
    moment = moment_of(plan, mode="peak")
    at_board = moment.inputs[board][0, 0]
    peak = (at_board - 1.2) / (1 + 0.31 / 6)
    power = 0.7 + 2 * (peak**2 / 6 * (1 + 0.31 / 6) + SWITCHING * at_board * peak / 6)
    assert moment.currents[board][0, 0] * at_board == pytest.approx(power, rel=1e-7)
    assert moment.current[0, 0] > 3 * moment_of(plan).current[0, 0]


def test_silence_costs_the_idle_power():
    plan = plan_of(REAL)
    board = place_of(plan, "amplifier")
    moment = moment_of(plan, mode="silent")
    assert moment.currents[board][0, 0] * moment.inputs[board][0, 0] == pytest.approx(0.7, rel=1e-9)
    assert all(np.all(square == 0) for square in moment.mean_squares)


def test_flat_out_brings_the_peaks_to_the_clip_point():
    plan = plan_of(REAL)
    column = 2
    moment = moment_of(plan)
    crest = load_programmes()["pop"].levels[-1]
    assert moment.volts[0, column] * crest == pytest.approx(moment.peaks[0][0, column], rel=1e-7)
    square = moment.mean_squares[0][0, column]
    assert square == pytest.approx(moment.volts[0, column] ** 2, rel=1e-6)


def test_no_wish_drives_an_output_beyond_twice_its_clip_point():
    plan = plan_of(REAL)
    moment = moment_of(plan, volts=500.0)
    crest = load_programmes()["pop"].levels[-1]
    assert moment.volts[0, 0] * crest == pytest.approx(2 * moment.peaks[0][0, 0], rel=1e-7)


def test_phone_draws_only_where_it_is_on_charge():
    plan = plan_of(RAILS)
    moment = moment_of(plan)
    phone = moment.currents[place_of(plan, "usb")][0]
    np.testing.assert_allclose(phone, [0, 0, 0, 1.1, 1.1, 1.1], rtol=1e-12)


def test_more_than_the_source_can_give_is_no_crash_and_not_settled():
    # 24 V at 3 W and more through 14 Ω: at most 12.4²/(4·14) = 2.7 W reach the converter.
    plan = plan_of(RAILS)
    moment = moment_of(plan, resistance=14.0, volts=6.0)
    assert not moment.settled
    assert np.all(np.isfinite(moment.current))
    assert np.all(moment.terminal < 1)


def test_just_below_the_greatest_power_settles():
    text = RAILS.replace("210 mW (standard)", "3 W (standard)").replace("1.1 A", "10 mA")
    plan = plan_of(text.replace("0.7 W", "0 W"))
    moment = moment_of(plan, resistance=10.0, volts=0.1, mode="silent")
    assert moment.settled
    assert EMF / 2 < moment.terminal[0, 0] < 0.75 * EMF


def test_a_row_of_a_batch_is_the_single_moment():
    plan = plan_of(REAL)
    batch = moment_of(plan, emf=np.array([[12.4], [11.1], [9.7]]))
    for row, emf in enumerate((12.4, 11.1, 9.7)):
        alone = moment_of(plan, emf=emf)
        np.testing.assert_allclose(batch.current[row], alone.current[0], rtol=1e-9)


def test_nothing_drawn_leaves_the_source_at_rest():
    plan = plan_of(lamp_box("0 A", battery=AGM))
    moment = moment_of(plan, mode="silent")
    assert moment.terminal[0, 0] == EMF
    assert moment.current[0, 0] == 0


def test_weak_source_sags_to_where_the_board_can_live():
    # A board that at 12 V would take more than 15 Ω let through, and settles lower down.
    plan = plan_of(REAL.replace('amplifier_class = "D"', 'amplifier_class = "AB"'))
    board = place_of(plan, "amplifier")
    moment = moment_of(plan, resistance=15.0, volts=60.0)
    assert moment.settled
    at_board = moment.inputs[board][0, 0]
    assert 2 < at_board < 8
    mean, _ = clipped_means("pop", moment.peaks[0][0, 0] / moment.volts[0, 0])
    power = 0.7 + 2 * at_board * moment.volts[0, 0] * mean / 6.0
    assert moment.currents[board][0, 0] * at_board == pytest.approx(power, rel=1e-5)
