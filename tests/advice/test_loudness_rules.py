"""Rules on how loud: the wish, its end, and ears."""

import pytest
from tests.advice.cases import BASE, case_of, example, findings, only, with_

FIRST = example("first-attempt")


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def want(**values):
    return with_(BASE, {"want": values})


def at_start():
    return case_of(BASE).outcome.wanted.clean_start


def test_level_out_of_reach():
    found = only("level-not-reached", FIRST)
    assert (found.level, found.where) == ("stop", "want")
    assert "96 dB(A) at 4 m" in found.says
    assert "24 dB short" in found.says
    mended = with_(FIRST, {"want": {"level": found.fix.changes[0].value}})
    assert findings("level-not-reached", mended) == []
    assert findings("level-fades", mended) == []


def test_box_that_gives_next_to_nothing_has_no_lower_wish():
    found = only("level-not-reached", with_(BASE, {"driver": {"filter": ["series 5 kΩ"]}}))
    assert found.level == "stop"
    assert found.fix is None


@pytest.mark.parametrize(("above", "level"), [(3.5, "stop"), (2.5, "mind"), (0.5, "mind")])
def test_level_short_by_some_decibels(above, level):
    asked = at_start().likely + above
    found = only("level-not-reached", want(level=f"{asked:.2f} dB(A) at 2 m"))
    assert found.level == level
    assert "short" in found.says


def test_level_reached_with_lucky_parts_only():
    value = at_start()
    asked = (value.likely + value.low) / 2
    found = only("level-not-reached", want(level=f"{asked:.2f} dB(A) at 2 m"))
    assert found.level == "mind"
    assert "less lucky" in found.says


def test_level_reached_by_every_version():
    assert (
        findings("level-not-reached", want(level=f"{at_start().low - 0.1:.2f} dB(A) at 2 m")) == []
    )
    assert findings("level-not-reached", BASE) == []


def test_level_that_fades():
    wanted = case_of(BASE).outcome.wanted
    asked = (wanted.clean_start.likely + wanted.clean_end.likely) / 2
    found = only("level-fades", want(level=f"{asked:.2f} dB(A) at 2 m"))
    assert (found.level, found.where) == ("mind", "want")
    assert f"{wanted.clean_end.likely:.1f} dB(A)" in found.says
    mended = want(level=found.fix.changes[0].value)
    assert findings("level-fades", mended) == []


def test_level_that_lasts_or_was_never_reached():
    assert findings("level-fades", BASE) == []
    assert findings("level-fades", FIRST) == []


def test_ears_of_adults_over_a_day():
    found = only("hearing", want(level="95 dB(A) at 2 m", hours="6 h"))
    assert (found.level, found.where) == ("mind", "want")
    # 8 h at 85 dB(A), half for every 3 dB: 47.6 minutes at 95.
    assert figures(found)["time allowed in a day"] == pytest.approx(2857.5, rel=1e-3)
    assert "48 min" in found.says


def test_ears_of_adults_at_the_limit():
    assert findings("hearing", want(level="85 dB(A) at 2 m", hours="8 h")) == []
    assert only("hearing", want(level="85 dB(A) at 2 m", hours="8.1 h")).level == "mind"


def test_ears_of_children_over_a_week():
    # 75 dB(A) for 40 h a week: 12.6 h at 80.
    loud = {"level": "80 dB(A) at 2 m", "audience": "children"}
    found = only("hearing", want(**loud, hours="13 h"))
    assert "13 h" in found.says
    assert "a week" in found.says
    assert findings("hearing", want(**loud, hours="12 h")) == []


def test_first_attempt_is_too_loud_for_children():
    found = only("hearing", FIRST)
    assert "children's ears" in found.says
    assert "19 min" in found.says


def test_level_that_nobody_may_be_exposed_to():
    found = only("hearing", want(level="116 dB(A) at 2 m", hours="1 min"))
    assert found.level == "stop"


def test_ears_close_to_a_box_that_can_be_very_loud():
    loud = with_(BASE, {"driver": {"sensitivity": "108 dB (standard)"}})
    found = only("hearing", loud)
    assert found.level == "mind"
    assert figures(found)["level at 1 m, flat out"] > 100.0
    assert "at 1 m" in found.says


def test_children_close_to_a_box_need_less():
    text = with_(BASE, {"driver": {"sensitivity": "104 dB (standard)"}})
    assert findings("hearing", text) == []
    assert "at 1 m" in only("hearing", with_(text, {"want": {"audience": "children"}})).says


def test_quiet_box():
    assert findings("hearing", BASE) == []
