import numpy as np
import pytest
from tests.outcome.builds import AGM, RAILS, REAL, build_of, drive_of, place_of, plan_of

from boomwright.outcome.discharge import own_powers
from boomwright.outcome.network import solve_moment
from boomwright.outcome.run import run_build
from boomwright.outcome.warmth import delivered_powers, warmth_of

EMF, SOURCE, AMBIENT = 12.3, 0.071, 297.0
BOX = '[cabinet]\nvolume = "14 L"\nwall = "15 mm (standard)"\n'


def warm(text, *, volts=None):
    plan = plan_of(text)
    drive = drive_of(plan, volts=volts)
    moment = solve_moment(
        plan, emf=EMF + np.zeros_like(drive.volts), resistance=np.array(SOURCE), drive=drive
    )
    powers = own_powers(plan, moment, np.array(SOURCE))
    return plan, moment, warmth_of(plan, moment, powers, np.full_like(drive.volts, AMBIENT))


def test_all_that_the_battery_gives_but_the_light_stays_as_heat():
    plan, moment, warmth = warm(REAL + BOX)
    light = moment.inputs[place_of(plan, "load")] * 0.13
    np.testing.assert_allclose(warmth.heat_inside, EMF * moment.current - light, rtol=1e-9)


def test_all_that_the_battery_gives_but_the_phone_stays_as_heat():
    plan, moment, warmth = warm(RAILS + BOX)
    phone = moment.inputs[place_of(plan, "usb")] * moment.currents[place_of(plan, "usb")]
    assert phone[0, 3] == pytest.approx(5.0 * 1.1, rel=0.05)
    np.testing.assert_allclose(warmth.heat_inside, EMF * moment.current - phone, rtol=1e-6)


def test_meter_is_heat_where_a_lamp_is_light():
    lamp, meter = (warm(REAL.replace('"light"', f'"{use}"'))[2] for use in ("light", "meter"))
    more = meter.heat_inside - lamp.heat_inside
    np.testing.assert_allclose(more, 0.13 * 12.2, rtol=0.01)


def test_sink_outside_takes_the_boards_heat_out():
    plan, moment, inside = warm(REAL + BOX)
    _, _, outside = warm(REAL.replace("[amplifier]", "[amplifier]\nsink_outside = true") + BOX)
    board = place_of(plan, "amplifier")
    taken = moment.inputs[board] * moment.currents[board]
    drivers = sum(square / 6.0 for square in moment.mean_squares)
    np.testing.assert_allclose(inside.heat_inside - outside.heat_inside, taken - drivers, rtol=1e-9)
    np.testing.assert_allclose(inside.losses[board], taken - drivers, rtol=1e-9)
    assert outside.hottest[board][0, 0] < inside.hottest[board][0, 0]


def test_drivers_get_the_power_of_their_volts():
    plan, moment, _ = warm(REAL, volts=1.7)
    delivered = delivered_powers(plan, moment)["amplifier"]
    np.testing.assert_allclose(delivered, 2 * 1.7**2 / 6.0, rtol=1e-6)


def test_box_is_warmer_than_the_room_and_the_warmer_the_louder():
    _, _, warmth = warm(REAL.replace("75 dB", "70 dB") + BOX)
    air = warmth.air[0]
    assert AMBIENT < air[0] < air[1] < air[2]
    # Some kelvin per ten watts for a box of wood of this size.
    per_watt = (air[2] - AMBIENT) / warmth.heat_inside[0, 2]
    assert 0.4 < per_watt < 2.5


def test_smaller_box_is_hotter_and_no_box_is_the_room():
    big, small = (warm(REAL + BOX.replace("14 L", size))[2].air for size in ("40 L", "4 L"))
    assert np.all(small > big)
    assert np.all(warm(REAL)[2].air == AMBIENT)


def test_box_loses_its_heat_through_its_walls():
    # Wood alone: no more than conduction through 15 mm with the outside walls at room temperature
    # would let through, no less than with 5 W/(m² K) on either side.
    _, _, warmth = warm(REAL + BOX)
    heat, rise = warmth.heat_inside[0, 2], warmth.air[0, 2] - AMBIENT
    edge = (14e-3 / (1.26 * 0.8)) ** (1 / 3)
    outer = [edge * share + 0.03 for share in (1.0, 1.26, 0.8)]
    area = 2 * (outer[0] * outer[1] + outer[1] * outer[2] + outer[0] * outer[2])
    assert heat / (0.15 / 0.015 * area) < rise < heat / area * (0.1 + 1 / 2.5 + 1 / 5)


def test_chip_by_hand():
    text = REAL.replace(
        "[amplifier]",
        '[amplifier]\njunction_case = "2.2 K/W (standard)"\nsink = "11 K/W (standard)"',
    )
    plan, _, warmth = warm(text + BOX, volts=2.2)
    board = place_of(plan, "amplifier")
    np.testing.assert_allclose(
        warmth.hottest[board], warmth.air + warmth.losses[board] * 13.2, rtol=1e-12
    )


LINEAR = """
[rail]
type = "linear"
voltage = "5 V"
current_limit = "1 A"
ground_current = "6 mA (standard)"
junction_ambient = "58 K/W (standard)"

[receiver]
current = "60 mA (standard)"
lead = "50 mm² (standard), 0 m (standard)"
"""


def test_linear_regulator_by_hand():
    plan, moment, warmth = warm(REAL + LINEAR)
    rail = place_of(plan, "rail")
    volts = moment.inputs[rail]
    heat = (volts - 5) * 0.060 + volts * 0.006
    np.testing.assert_allclose(warmth.losses[rail], heat, rtol=1e-9)
    np.testing.assert_allclose(warmth.hottest[rail], AMBIENT + heat * 58, rtol=1e-9)
    sink = 'sink = "9 K/W (standard)"\njunction_case = "4 K/W (standard)"\n'
    sunk = warm(REAL + LINEAR.replace("junction_ambient", sink + "junction_ambient"))[2]
    np.testing.assert_allclose(sunk.hottest[rail], AMBIENT + heat * 13, rtol=1e-9)


def test_wires_have_no_junction():
    plan, _, warmth = warm(REAL)
    assert warmth.hottest[place_of(plan, "switch")] is None
    part = run_build(build_of(REAL), versions=0).wanted.part("switch")
    assert np.isnan(part.junction.likely)


def test_supply_keeps_its_own_heat_outside():
    supply = '[supply]\nvoltage = "12 V (standard)"\ncurrent_limit = "3 A"\n'
    supply += 'resistance = "0.4 Ω (standard)"\n'
    run = run_build(build_of(REAL.replace(AGM, supply)), versions=0).wanted
    light = run.part("load").own.likely
    into_box = run.watts.likely - light
    assert run.heat.likely == pytest.approx(into_box, rel=1e-9)
