import numpy as np
import pytest
from tests.outcome.builds import AGM, RAILS, REAL, build_of

from boomwright.outcome.run import run_build
from boomwright.physics.chemistry import CHARGE_GRID, load_chemistries

MONTH = 365.25 / 12 * 86400
SWITCH = REAL[REAL.index("[switch]") : REAL.index("[cutoff]")]
CUTOFF = REAL[REAL.index("[cutoff]") : REAL.index("[load]")]
BARE = REAL.replace(SWITCH, "")


def outcome_of(text):
    return run_build(build_of(text), versions=0)


def parked(text):
    return outcome_of(text).parked


def shelf(charge, current, *, degrees=25.0, step=600.0, end=0.0):
    """Time down to a charge by plain steps: the drain, and 3 % a month at 20 °C."""
    loss = 0.03 * 2 ** ((degrees - 20) / 10) / MONTH
    time = 0.0
    while charge > end:
        charge -= (current + loss * charge) * step
        time += step
    return time


def holds(chemistry, *, hours, end_volts):
    """Charge that 7 Ah of a chemistry hold in both wells, from the rated run [C].

    At the end of the rated run the head of the first well meets the end volts; the difference of
    the two heads is that of a steady flow.
    """
    cell = load_chemistries()[chemistry]
    amps = 7 / hours
    head = np.interp(end_volts + amps * cell.resistance / 7, cell.ocv_table, CHARGE_GRID)
    share, rate = cell.kibam_fraction, cell.kibam_rate
    # Both heads fall alike once settled, so the second well stands higher by I / (c k).
    ahead = amps / (share * rate) * (1 - np.exp(-rate * hours * 3600))
    return (7 * 3600 + (1 - share) * ahead) / (1 - head)


AGM_HOLDS = holds("lead-agm", hours=20, end_volts=1.75)
NMC_HOLDS = holds("li-ion-nmc", hours=5, end_volts=2.75)


def left_of(outcome, held):
    """Charge still in both wells at the end of the run as wanted [C]."""
    curve = outcome.wanted.curve
    return held - np.sum(np.array(curve.amps[:-1]) * np.diff(curve.time))


def test_switch_stops_everything():
    parked_box = parked(REAL)
    assert parked_box.drain.likely == 0
    assert parked_box.drains == {}


def test_without_a_switch_everything_idles():
    outcome = outcome_of(BARE)
    drains = outcome.parked.drains
    assert set(drains) == {"cutoff", "load", "amplifier"}
    assert drains["cutoff"] == pytest.approx(0.009, rel=1e-12)
    assert drains["load"] == pytest.approx(0.13, rel=1e-12)
    # 0.7 W at the battery's volts under the quietest load.
    volts = outcome.scenarios[0].curve.volts[0]
    assert drains["amplifier"] == pytest.approx(0.7 / volts, rel=1e-9)
    assert outcome.parked.drain.likely == pytest.approx(sum(drains.values()), rel=1e-12)


def test_soft_switch_has_a_current_of_its_own():
    text = BARE.replace("[amplifier]", '[amplifier]\noff_current = "0.4 mA (standard)"')
    assert parked(text).drains["amplifier"] == pytest.approx(0.4e-3, rel=1e-12)


def test_part_ahead_of_the_switch_drains_on():
    text = REAL.replace('use = "light"', 'use = "light"\nfed_by = "battery"')
    assert parked(text).drains == {"load": pytest.approx(0.13, rel=1e-12)}


def test_receiver_behind_a_converter_costs_its_power():
    text = RAILS.replace(RAILS[RAILS.index("[switch]") : RAILS.index("[[rail]]")], "")
    outcome = outcome_of(text)
    volts = outcome.scenarios[0].curve.volts[0]
    drains = outcome.parked.drains
    assert drains["receiver"] == pytest.approx(0.045 * 5 / 0.87 / volts, rel=1e-9)
    assert drains["five"] == pytest.approx(0.09 / volts, rel=1e-9)
    assert "usb" not in drains


def test_shelf_time_by_hand():
    box = parked(BARE)
    label = 7 * 3600
    expected = shelf(label, box.drain.likely, end=0.2 * label, step=60.0)
    assert box.shelf.likely == pytest.approx(expected, rel=0.002)


def test_idling_board_behind_a_boost_costs_its_watts_and_the_converters_loss():
    text = RAILS.replace('[switch]\nresistance = "19 mΩ (standard)"', '[fuse]\nrating = "9 A"')
    box = parked(text)
    volts = outcome_of(text).scenario("background").curve.volts[0]
    assert box.drains["amplifier"] == pytest.approx(0.7 / 0.91 / volts, rel=1e-3)
    assert box.drains["high"] == pytest.approx(0.21 / volts, rel=1e-3)
    assert box.drains["receiver"] == pytest.approx(0.045 * 5 / 0.87 / volts, rel=1e-3)


def test_without_a_drain_self_discharge_alone_ends_it():
    # 3 % a month at 20 °C, doubling per 10 K, down to a fifth of the charge, at 25 °C.
    expected = np.log(5) / (0.03 * np.sqrt(2)) * MONTH
    assert parked(REAL).shelf.likely == pytest.approx(expected, rel=1e-6)


def test_after_the_cutoff_only_its_own_drain_is_left():
    outcome = outcome_of(BARE)
    expected = shelf(left_of(outcome, AGM_HOLDS), 1.1e-3, step=600.0)
    assert outcome.parked.shelf_after_cutoff.likely == pytest.approx(expected, rel=0.005)
    assert expected > 20 * 86400


def test_without_a_cutoff_the_drain_goes_on_below_it():
    outcome = outcome_of(BARE.replace(CUTOFF, ""))
    expected = shelf(left_of(outcome, AGM_HOLDS), outcome.parked.drain.likely, step=5.0)
    assert outcome.parked.shelf_after_cutoff.likely == pytest.approx(expected, rel=0.01)


def test_idling_board_ahead_of_the_cutoff_draws_by_the_batterys_own_volts():
    battery = AGM.replace("lead-agm", "li-ion-nmc").replace("cells = 6", "cells = 7")
    text = BARE.replace(AGM, battery).replace("10.8 V", "21 V")
    text = text.replace("[amplifier]", '[amplifier]\nfed_by = "battery"')
    text = text.replace('"27 V"', '"36 V"').replace("0.13 A", "1.3 A")
    outcome = outcome_of(text)
    run = outcome.wanted
    drain = 1.1e-3 + 0.7 / run.volts_end.likely
    charge = left_of(outcome, NMC_HOLDS)
    loss = 0.025 * 2**0.5 / MONTH
    expected = np.log((loss * charge + drain) / drain) / loss
    assert outcome.parked.shelf_after_cutoff.likely == pytest.approx(expected, rel=0.01)


def test_supply_has_no_shelf():
    supply = '[supply]\nvoltage = "12 V (standard)"\ncurrent_limit = "3 A"\n'
    box = parked(BARE.replace(AGM, supply))
    assert box.shelf.likely == np.inf
    assert box.drain.likely > 0.1
