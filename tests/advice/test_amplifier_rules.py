"""Rules on amplifier boards: claims, joined leads, capacitors, supply volts."""

import pytest
import tomlkit
from tests.advice.cases import BASE, example, findings, only, with_

FIRST = example("first-attempt")

# A board of the builder's own, so that the drawer fills in no output capacitor and no mute.
SINGLE_ENDED = with_(
    BASE,
    {
        "amplifier": [
            {
                "amplifier_class": "AB",
                "topology": "single-ended",
                "input": "sum",
                "supply_min": "7 V (standard)",
                "supply_max": "19 V (standard)",
                "load_min": "4 Ω (standard)",
                "lead": "1.5 mm², 0.3 m",
            }
        ]
    },
)

BEHIND_A_RAIL = with_(
    BASE,
    {
        "rail": [
            {"name": "low", "part": "buck-1a-small"},
            {"name": "high", "part": "boost-5a-sink", "voltage": "24 V (standard)"},
        ],
        "receiver": {"fed_by": "low"},
        "amplifier": {"fed_by": "high"},
    },
)


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def board(**values):
    return with_(BASE, {"amplifier": values})


def single(**values):
    return with_(SINGLE_ENDED, {"amplifier": [_only_board(**values)]})


def _only_board(**values):
    return {**tomlkit.parse(SINGLE_ENDED)["amplifier"][0], **values}


def test_claim_at_volts_that_cannot_make_it():
    found = only("claim-hollow", FIRST)
    assert (found.level, found.where) == ("mind", "amplifier")
    assert "Sold as 200 W" in found.says
    assert figures(found)["share of the claim"] == pytest.approx(0.26, rel=0.05)


def test_claim_hollow_at_its_own_volts_even_when_the_wish_is_met():
    text = board(claim="200 W (claim)", claim_voltage="14.4 V (standard)")
    assert "200 W" in only("claim-hollow", text).says


def test_honest_claim_is_left_alone_while_the_wish_is_met():
    assert findings("claim-hollow", BASE) == []


def test_honest_claim_is_named_once_the_wish_counts_on_it():
    text = with_(BASE, {"want": {"level": "86 dB(A) at 2 m"}})
    assert "Sold as 50 W" in only("claim-hollow", text).says


def test_claim_for_four_outputs_of_which_two_are_used():
    found = only("claim-hollow", board(part="class-ab-bridge-4x20"))
    assert "160 W on 4 outputs, 2 in use" in found.says


def test_claim_that_the_board_keeps():
    text = with_(board(claim="18 W (claim)"), {"want": {"level": "86 dB(A) at 2 m"}})
    assert findings("claim-hollow", text) == []


@pytest.mark.parametrize(("how", "words"), [("common", "each other"), ("chassis", "chassis")])
def test_joined_negatives_on_a_bridge(how, words):
    found = only("bridge-negatives-joined", board(speaker_negatives=how))
    assert (found.level, found.where) == ("stop", "amplifier")
    assert words in found.says
    assert "6.4 V" in found.says
    assert found.fix.changes[0].value == "separate"


def test_joined_negatives_are_fine_on_a_single_ended_board():
    assert findings("bridge-negatives-joined", single(speaker_negatives="common")) == []
    assert findings("bridge-negatives-joined", BASE) == []


def test_bridge_of_two_single_ended_outputs_counts_as_a_bridge():
    text = single(speaker_negatives="common", use="bridged")
    assert only("bridge-negatives-joined", text).level == "stop"


@pytest.mark.parametrize(
    ("use", "words"), [("paralleled", "2 outputs are paralleled"), ("bridged", "a bridge already")]
)
def test_outputs_joined(use, words):
    found = only("outputs-joined", board(use=use))
    assert (found.level, found.where) == ("stop", "amplifier")
    assert words in found.says
    assert findings("outputs-joined", board(use=found.fix.changes[0].value)) == []


def test_documented_mono_mode_is_fine_but_not_for_a_second_bridge():
    assert findings("outputs-joined", board(use="paralleled", mono_mode=True)) == []
    assert only("outputs-joined", board(use="bridged", mono_mode=True)).level == "stop"


def test_missing_output_capacitor_puts_half_the_supply_on_the_driver():
    found = only("output-capacitor", SINGLE_ENDED)
    assert (found.level, found.where) == ("stop", "amplifier")
    assert "6.4 V of direct voltage" in found.says
    assert "25 V or more" in found.do
    mended = single(output_capacitor=found.fix.changes[0].value)
    assert findings("output-capacitor", mended) == []


def test_output_capacitor_that_takes_the_bass():
    found = only("output-capacitor", single(output_capacitor="100 µF (standard)"))
    assert found.level == "mind"
    # 1/(2 pi 8.02 ohm 100 uF)
    assert figures(found)["corner of the capacitor"] == pytest.approx(198.5, rel=1e-3)
    assert findings("output-capacitor", single(output_capacitor="1000 µF")) == []
    assert findings("output-capacitor", BASE) == []


def test_small_supply_capacitor():
    found = only("supply-capacitor-small", board(supply_capacitor="47 µF (standard)"))
    assert (found.level, found.where) == ("mind", "amplifier")
    assert "47 µF" in found.says
    assert "2.6 A" in found.says
    mended = board(supply_capacitor=found.fix.changes[0].value)
    assert findings("supply-capacitor-small", mended) == []


def test_supply_capacitor_just_large_enough():
    assert findings("supply-capacitor-small", board(supply_capacitor="100 µF (standard)")) == []
    assert findings("supply-capacitor-small", BASE) == []


def test_first_attempt_has_too_small_a_supply_capacitor():
    assert "100 µF" in only("supply-capacitor-small", FIRST).says


def test_supply_dips_below_the_board_even_when_full():
    found = only("supply-dip", FIRST)
    assert (found.level, found.where) == ("stop", "amplifier")
    assert "even with a full battery" in found.says
    assert "10 V" in found.says
    assert figures(found)["volts on a peak, full battery"] < 10.0


def test_supply_dips_at_the_end_only():
    found = only("supply-dip", board(supply_min="11.5 V (standard)"))
    assert found.level == "mind"
    assert "end of the run" in found.says
    assert "11.5 V" in found.says


def test_advice_on_a_dip_speaks_of_leads_only_where_they_are_thin():
    stout = board(supply_min="11.5 V (standard)")
    assert "mm²" not in only("supply-dip", stout).do
    assert "1.5 mm²" in only("supply-dip", FIRST).do


def test_board_that_never_starts_is_no_matter_of_dips():
    assert findings("supply-dip", board(supply_min="20 V (standard)")) == []


def test_supply_that_holds():
    assert findings("supply-dip", BASE) == []


def test_rail_above_what_the_board_survives():
    found = only("amplifier-rail-volts", BEHIND_A_RAIL)
    assert (found.level, found.where) == ("stop", "amplifier")
    assert "24 V" in found.says
    assert "survives 18 V" in found.says
    (change,) = found.fix.changes
    assert (change.part, change.key) == ("high", "voltage")


def test_rail_inside_what_the_board_takes():
    text = BEHIND_A_RAIL.replace("24 V (standard)", "15 V (standard)")
    assert findings("amplifier-rail-volts", text) == []
    assert findings("amplifier-rail-volts", BASE) == []


def test_rail_below_what_the_board_works_from():
    text = with_(BEHIND_A_RAIL, {"amplifier": {"part": "class-ab-split-2x25"}})
    text = text.replace("24 V (standard)", "20 V (standard)")
    assert "works from 24 V" in only("amplifier-rail-volts", text).says


def test_mute_missing_on_a_single_ended_board():
    found = only("mute-missing", single(output_capacitor="1000 µF"))
    assert (found.level, found.where) == ("mind", "amplifier")
    assert "1000 µF charges to 6.4 V" in found.says


def test_mute_present_or_not_needed():
    assert findings("mute-missing", single(output_capacitor="1000 µF", mute_delay="1 s")) == []
    assert findings("mute-missing", board(part="class-d-bridge-2x15")) == []
