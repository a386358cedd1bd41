"""What to move in the minus wiring: every move is worked out again, and the best comes first."""

from __future__ import annotations

import pytest
from tests.advice.cases import BASE, SUPPLY, case_of, example, with_
from tests.outcome.builds import RAILS, build_of
from tests.proof.sensible import sensible_build

from boomwright.advice.finding import Fix
from boomwright.advice.mend import mended_text
from boomwright.build.drawer import load_drawer
from boomwright.design.ground.advice import ground_advice, star_table, stars
from boomwright.outcome.data import Range
from boomwright.outcome.ground import ground_plan
from boomwright.outcome.ground_data import HEARD_FROM

EXAMPLES = ("first-attempt", "market-stall", "allotment-day", "rowing-launch")
SHARED = with_(BASE, {"receiver": {"negative": "shared"}, "amplifier": {"lead": "0.75 mm², 0.6 m"}})


def advice_of(text: str):
    return ground_advice(build_of(text))


@pytest.mark.parametrize("text", [*map(example, EXAMPLES), SHARED, SUPPLY, RAILS])
def test_moves_help_and_the_best_comes_first(text):
    advice = advice_of(text)
    levels = [move.after.level.likely for move in advice.moves]
    assert levels == sorted(levels)
    for move in advice.moves:
        assert move.before == advice.plan.loudest
        assert move.after.level.likely < move.before.level.likely
        assert move.loudest == move.plan.loudest
        assert move.plan.whine(move.before.load, move.before.amplifier) == move.after
        assert " → " in move.result


def test_shared_lead_is_told_with_its_numbers():
    advice = advice_of(SHARED)
    loudest = advice.plan.loudest
    # 85 mA through 0.6 m of 0.75 mm² (13.8 mΩ), and 6.9 mΩ of the receiver's own beside 50 mΩ.
    assert loudest.resistance.likely == pytest.approx(19.85e-3, rel=1e-3)
    assert "the minus lead of amplifier (60 cm of 0.75 mm²)" in advice.says
    assert "85 mA make 1.7 mV there, as in 20 mΩ" in advice.says
    assert "17 mV at the speaker: about 43 dB at 1 m" in advice.says
    assert "as loud as whispering" in advice.says
    says = [move.says for move in advice.moves]
    assert any("on its own beside its plus lead" in said for said in says)
    assert any("straight to cutoff minus" in said for said in says)
    assert any("isolating transformer" in said for said in says)
    assert any("isolated converter" in said for said in says)
    assert any("differential input" in said for said in says)
    assert any("fatter" in said for said in says)


def test_isolation_beats_copper():
    for text in (SHARED, example("first-attempt"), example("market-stall")):
        kinds = [move.kind for move in advice_of(text).moves]
        assert kinds == sorted(kinds)
        assert kinds.count("part") == 3
        assert "wire" in kinds


@pytest.mark.parametrize("text", [SHARED, example("first-attempt"), example("rowing-launch")])
def test_edits_of_the_file_give_what_was_promised(text):
    told = 0
    for move in advice_of(text).moves:
        if not move.changes:
            continue
        told += 1
        changed = mended_text(
            text, Fix(move.says, move.changes), drawer=load_drawer(), file="case.toml"
        )
        found = ground_plan(build_of(changed)).whine(move.before.load, move.before.amplifier)
        assert found.level.likely == pytest.approx(move.after.level.likely, rel=1e-6)
    assert told >= 3


def test_own_lead_for_the_first_attempt():
    moves = advice_of(example("first-attempt")).moves
    own = next(move for move in moves if "straight to cutoff minus" in move.says)
    # Both own leads of 0.4 m beside the plus, 1.5 mm² in place of bell wire.
    assert own.plan.edge("receiver").length == pytest.approx(0.8, rel=1e-9)
    assert own.before.level.likely - own.after.level.likely > 20.0
    assert own.kind == "wire"


def test_moves_come_with_their_caution():
    assert advice_of(SHARED).caution.startswith("Disconnect battery and charger")


def test_quiet_build_gets_no_moves():
    advice = advice_of(example("allotment-day"))
    assert advice.caution == ""
    assert advice.moves == ()
    assert advice.plan.loudest.level.high < HEARD_FROM
    assert "below what a quiet room hides" in advice.says


def test_nothing_to_whine():
    start, end = RAILS.index("[receiver]"), RAILS.index("[amplifier]")
    advice = advice_of(RAILS[:start] + RAILS[end:])
    assert advice.moves == ()
    assert advice.says.startswith("Nothing pulses")


def test_star_list():
    plan = ground_plan(build_of(SHARED), versions=0)
    (star,) = stars(ground_plan(build_of(BASE), versions=0))
    assert (star.label, star.at) == ("J1", "cutoff")
    assert {edge.start for edge in star.leads} == {"rail", "amplifier"}
    table = star_table(plan)
    assert "J1  star point at cutoff minus, leads from" in table
    assert "      amplifier, 0.75 mm², 60 cm, 14 mΩ" in table
    assert "      receiver, 0.5 mm², 20 cm, 6.9 mΩ to amplifier" in table
    assert "Ring of" in table
    assert all(f"      {edge.start}" in table for edge in plan.edges)
    assert max(map(len, table.splitlines())) <= 80


def test_ranges_rest_on_the_versions_of_the_outcome():
    case = case_of(SHARED)
    advice = ground_advice(case.build, case.outcome)
    assert advice.plan == ground_plan(case.build, versions=case.outcome.versions - 1)
    assert isinstance(advice.plan.loudest.level, Range)


def test_sensible_builds_never_fall_over():
    for number in range(12):
        text = sensible_build(number).replace(
            'part = "bt-receiver-5v"', 'part = "bt-receiver-5v"\nnegative = "shared"'
        )
        advice = advice_of(text)
        loudest = advice.plan.loudest
        assert bool(advice.moves) == (loudest.level.high >= HEARD_FROM), number
        assert advice.says.endswith(".")
        assert advice.table.startswith("J1")
