"""Rules on the way of the sound from receiver to drivers, and on gauges."""

import numpy as np
import pytest
from tests.advice.cases import BASE, case_of, example, findings, mended, only, with_

from boomwright.design.ground.advice import ground_advice
from boomwright.outcome.ground_data import HEARD_FROM

FIRST = example("first-attempt")
LAUNCH = example("rowing-launch")


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def receiver(**values):
    return with_(BASE, {"receiver": values})


def board(**values):
    return with_(BASE, {"amplifier": values})


def test_shared_lead_whines():
    found = only("shared-negative", receiver(negative="shared"))
    assert (found.level, found.where) == ("mind", "receiver")
    # 85 mA through 0.3 m of 1.5 mm2 (3.45 mOhm) after 0.2 m of 0.5 mm2 (6.9 mOhm) beside a screen
    # of 50 mOhm; 26 dB of gain less 6 dB of divider
    ohms = 3.448e-3 + 1.0 / (1.0 / 6.897e-3 + 1.0 / 50e-3)
    assert figures(found)["as in one lead of"] == pytest.approx(ohms, rel=1e-3)
    assert figures(found)["at the drivers"] == pytest.approx(0.085 * ohms * 10.0, rel=1e-3)
    # 87.5 dB for 1 W in 8 Ohm, that is for 2.83 V
    level = 87.5 + 20 * np.log10(0.085 * ohms * 10.0 / np.sqrt(8.0))
    assert figures(found)["level at 1 m"] == pytest.approx(level, rel=1e-3)
    assert "37 dB at 1 m" in found.says
    assert "as loud as whispering" in found.says


def test_long_thin_shared_lead_is_louder_than_talk():
    found = only("shared-negative", FIRST)
    assert found.level == "stop"
    assert "louder than talk" in found.says
    # Neither is enough alone: the ring through the screen stays, or 60 dB of isolation fall short.
    assert [(edit.key, edit.value) for edit in found.fix.changes] == [
        ("negative", "own"),
        ("isolated", True),
    ]
    after = mended(FIRST, found)
    assert findings("shared-negative", after) == findings("receiver-whines", after) == []
    assert case_of(after).ground.loudest.level.likely < HEARD_FROM


def test_lead_of_its_own_is_offered_where_it_is_enough():
    stout = {"lead": "1.5 mm², 0.05 m"}
    text = with_(
        receiver(negative="shared", **stout), {"rail": stout, "amplifier": {"lead": "0.5 mm², 1 m"}}
    )
    found = only("shared-negative", text)
    assert [(edit.key, edit.value) for edit in found.fix.changes] == [("negative", "own")]
    assert "alone" not in found.do
    assert case_of(mended(text, found)).ground.loudest.level.likely < HEARD_FROM


def test_transformer_is_offered_where_a_lead_of_its_own_is_not_enough():
    text = receiver(negative="shared")
    found = only("shared-negative", text)
    assert [(edit.key, edit.value) for edit in found.fix.changes] == [("isolated", True)]
    alone = case_of(BASE).ground.whine("receiver", "amplifier").level.likely
    assert f"With its own minus lead alone it is {alone:.0f} dB." in found.do
    assert "less than 0 dB at 1 m" in found.do
    assert findings("shared-negative", mended(text, found)) == []


def test_isolation_that_falls_short_is_told():
    text = with_(FIRST, {"receiver": {"isolated": True}})
    found = only("shared-negative", text)
    assert found.level == "mind"
    assert [(edit.key, edit.value) for edit in found.fix.changes] == [("negative", "own")]


def test_receiver_on_its_own_thin_lead_spoils_the_music():
    text = with_(receiver(lead="AWG 26, 0.5 m"), {"amplifier": {"input_pad": "0 dB (standard)"}})
    found = only("receiver-whines", text)
    assert (found.level, found.where) == ("stop", "receiver")
    assert "as loud as talk" in found.says
    assert findings("shared-negative", text) == []
    assert findings("receiver-whines", mended(text, found)) == []
    # 6 dB of divider take it below what spoils the music.
    assert findings("receiver-whines", receiver(lead="AWG 26, 0.5 m")) == []


def test_what_no_edit_of_the_receiver_mends():
    text = with_(
        FIRST,
        {
            "receiver": {"negative": "own", "isolated": True, "burst": "2 A (measured)"},
            "amplifier": {"gain": "46 dB (standard)"},
        },
    )
    found = only("receiver-whines", text)
    assert found.fix is None
    assert found.do.startswith("Shorten the leads")


@pytest.mark.parametrize("text", [receiver(negative="shared"), FIRST, LAUNCH, BASE])
def test_rules_and_the_design_of_the_wiring_say_the_same(text):
    case = case_of(text)
    assert ground_advice(case.build, case.outcome).plan == case.ground
    for rule in ("shared-negative", "receiver-whines"):
        for found in findings(rule, text):
            whine = max(
                (item for item in case.ground.whines if item.load == found.where),
                key=lambda item: item.level.likely,
            )
            assert figures(found) == {
                "as in one lead of": whine.resistance.likely,
                "at the drivers": whine.volts.likely,
                "level at 1 m": whine.level.likely,
            }


def test_isolation_or_little_current_is_quiet():
    assert findings("shared-negative", BASE) == []
    assert findings("shared-negative", receiver(negative="shared", isolated=True)) == []
    quiet = receiver(negative="shared", burst="5 mA")
    assert findings("shared-negative", quiet) == []


def test_gain_far_too_high():
    found = only("gain-mismatch", FIRST)
    assert (found.level, found.where) == ("mind", "amplifier")
    assert "18 %" in found.says
    assert "123 mV" in found.says
    assert figures(found)["excess"] == pytest.approx(15.1, rel=0.02)
    # 15 dB is a ratio of 5.62: 4.6 kOhm over 1 kOhm, the nearest in the shop is 4.7 kOhm.
    assert "4.7 kΩ in series" in found.do
    after = with_(FIRST, {"amplifier": {"input_pad": found.fix.changes[0].value}})
    assert findings("gain-mismatch", after) == []


def test_gain_too_low_for_the_board():
    found = only("gain-mismatch", board(input_pad="16 dB (standard)"))
    assert found.level == "mind"
    assert "below the" in found.says
    assert figures(found)["excess"] < -6.0
    after = board(input_pad=found.fix.changes[0].value)
    assert findings("gain-mismatch", after) == []


def test_gain_too_low_without_a_divider():
    text = board(gain="10 dB (standard)", input_pad="0 dB (standard)")
    found = only("gain-mismatch", text)
    assert found.fix is None
    assert "dB higher" in found.do


def test_gain_within_six_decibels():
    assert findings("gain-mismatch", BASE) == []
    assert findings("gain-mismatch", board(input_pad="0 dB (standard)")) == []


def test_bass_left_and_treble_right():
    found = only("one-channel-band", FIRST)
    assert (found.level, found.where) == ("stop", "bass")
    assert "the bass hears only the left and the treble hears only the right" in found.says
    assert "2 of 2 bands" in found.says
    assert "never at the outputs" in found.do
    after = with_(FIRST, {"amplifier": {"input": found.fix.changes[0].value}})
    assert findings("one-channel-band", after) == []


def test_one_driver_on_a_stereo_board():
    text = with_(BASE, {"amplifier": {"input": "stereo"}, "driver": {"count": 1}})
    found = only("one-channel-band", text)
    assert (found.level, found.where) == ("mind", "driver")
    assert "only the left" in found.says


@pytest.mark.parametrize("side", ["left", "right"])
def test_board_fed_from_one_side(side):
    assert f"only the {side}" in only("one-channel-band", board(input=side)).says


def test_stereo_pair_sum_and_mono_sources_miss_nothing():
    assert findings("one-channel-band", BASE) == []
    assert findings("one-channel-band", board(input="stereo")) == []
    mono = with_(board(input="left"), {"receiver": {"sound": "mono"}})
    assert findings("one-channel-band", mono) == []


def test_gauge_for_another_chemistry():
    found = only("meter-chemistry", FIRST)
    assert (found.level, found.where) == ("mind", "gauge")
    assert "12.9 V when full" in found.says
    after = with_(FIRST, {"load": {"part": found.fix.changes[0].value}})
    assert findings("meter-chemistry", after) == []


def test_gauge_for_the_other_kind_of_lead():
    text = with_(BASE, {"load": {"part": "meter-bar-lead", "shows": "lead-flooded"}})
    assert findings("meter-chemistry", text) == []
    assert findings("meter-chemistry", LAUNCH) == []


def test_gauge_on_a_sagging_flat_battery():
    found = only("meter-sags", with_(LAUNCH, {"battery": {"resistance": "0.5 Ω (measured)"}}))
    assert (found.level, found.where) == ("mind", "gauge")
    # 0.23 A over 0.5 Ohm is 0.11 V, a part of it after minutes only; half of the charge lies
    # within 0.23 V.
    assert 0.08 < figures(found)["sag"] < 0.113
    assert 0.15 < figures(found)["reading error"] < 0.3


def test_gauge_on_a_stiff_battery_and_no_gauge():
    assert findings("meter-sags", LAUNCH) == []
    assert findings("meter-sags", BASE) == []
