"""Two builds side by side: what differs in the file, in the outcome and in the findings."""

import math
import tomllib

import pytest
from tests.advice.cases import BASE, SUPPLY, VERSIONS, case_of, example, with_

from boomwright.advice.compare import compare
from boomwright.advice.differences import file_changes
from boomwright.build.edit import with_values
from boomwright.build.read import parse_build

USB = with_(BASE, {"usb": {"fed_by": "rail", "current": "0.5 A"}})


def comparison(first, second):
    written = tomllib.loads(first), tomllib.loads(second)
    builds = parse_build(first), parse_build(second)
    return compare(*builds, written=written, versions=VERSIONS)


def differences(first, second):
    written = tomllib.loads(first), tomllib.loads(second)
    return file_changes(parse_build(first), parse_build(second), written=written)


def figure(found, key):
    (pair,) = [pair for pair in found.figures if pair.key == key]
    return pair


def part(found, name):
    (change,) = [change for change in found if change.name == name]
    return change


def values(change):
    return {value.key: (value.first, value.second, value.written) for value in change.values}


def test_same_builds_differ_in_nothing():
    found = comparison(BASE, BASE)
    assert found.same
    assert found.sentences == ()
    assert found.findings == ()
    for pair in found.figures:
        assert pair.first == pair.second
        if pair.difference is not None:
            ends = pair.difference.low, pair.difference.likely, pair.difference.high
            assert ends == (0.0, 0.0, 0.0), pair.key


@pytest.mark.parametrize(
    ("kind", "key", "spelled"),
    [("want", "hours", "360 min"), ("charger", "current", "800 mA ±10 % (typical)")],
)
def test_the_same_value_spelled_otherwise_is_no_difference(kind, key, spelled):
    assert differences(BASE, with_(BASE, {kind: {key: spelled}})) == ()


def test_what_was_written_is_told_from_what_follows():
    other = with_(BASE, {"battery": {"part": "agm-12v-7ah"}, "driver": {"count": 4}})
    found = differences(BASE, other)
    assert [change.name for change in found] == ["battery", "driver"]
    battery = values(part(found, "battery"))
    assert battery["part"] == ("agm-12v-9ah", "agm-12v-7ah", True)
    assert battery["capacity"] == ("9 Ah (label)", "7 Ah (label)", False)
    assert values(part(found, "driver")) == {"count": ("2", "4", True)}


def test_value_written_over_the_drawer_counts_as_written():
    found = differences(BASE, with_(BASE, {"battery": {"capacity": "8.2 Ah (measured)"}}))
    expected = ("9 Ah (label)", "8.2 Ah (measured)", True)
    assert values(part(found, "battery")) == {"capacity": expected}


def test_without_the_files_every_value_counts_as_written():
    other = with_(BASE, {"battery": {"part": "agm-12v-7ah"}})
    found = file_changes(parse_build(BASE), parse_build(other))
    assert {change.name for change in found} == {"battery"}
    assert all(value.written for change in found for value in change.values)


def test_lead_left_to_the_default_says_what_it_rests_on():
    found = differences(BASE, with_(BASE, remove=["switch.lead"]))
    first, second, written = values(part(found, "switch"))["lead"]
    assert first == "1.5 mm², 0.2 m"
    assert second == "0.5 mm² [0.35 to 0.75] (typical), 0.4 m [0.2 to 0.8] (typical)"
    assert written


def test_head_and_wish():
    found = differences(BASE, with_(BASE, {"name": "Stall", "want": {"level": "70 dB(A) at 3 m"}}))
    assert values(part(found, "build")) == {"name": ("Garden table", "Stall", True)}
    expected = ("68 dB(A) at 2 m", "70 dB(A) at 3 m", True)
    assert values(part(found, "want")) == {"level": expected}


@pytest.mark.parametrize(("swap", "change"), [(False, "added"), (True, "removed")])
def test_part_comes_or_goes(swap, change):
    found = comparison(USB, BASE) if swap else comparison(BASE, USB)
    (only,) = found.file
    assert (only.kind, only.name, only.change) == ("usb", "usb", change)
    pair = figure(found, "duration wanted+phone")
    missing, there = (pair.second, pair.first) if swap else (pair.first, pair.second)
    assert missing is None
    assert there is not None
    assert pair.difference is None
    assert pair.says == ""


def test_renamed_part_is_one_part_and_those_it_feeds_are_untouched():
    spelled = with_(BASE, {"amplifier": {"fed_by": "cutoff"}, "receiver": {"fed_by": "rail"}})
    other = with_(
        spelled,
        {
            "amplifier": {"fed_by": "guard"},
            "cutoff": {"name": "guard"},
            "driver": {"name": "front"},
        },
    )
    found = comparison(spelled, other)
    changes = {change.name: (change.change, change.before, change.values) for change in found.file}
    assert changes == {
        "guard": ("renamed", "cutoff", ()),
        "front": ("renamed", "driver", ()),
    }
    assert found.findings == ()


def test_unlike_parts_of_one_kind_are_not_one_renamed():
    lamp = {"name": "lamp", "current": "0.31 A", "use": "light", "on_share": "30 %"}
    fan = {"name": "fan", "current": "83 mA", "use": "fan", "title": "Fan", "part": ""}
    fan |= {"lead": "0.75 mm², 0.7 m", "fed_by": "fuse"}
    found = differences(with_(BASE, {"load": [lamp]}), with_(BASE, {"load": [fan]}))
    assert {(change.name, change.change) for change in found} == {
        ("lamp", "removed"),
        ("fan", "added"),
    }


def test_paired_difference_is_clear_where_the_ranges_overlap():
    other = with_(BASE, {"battery": {"capacity": "8.3 Ah"}})
    pair = figure(comparison(BASE, other), "duration wanted")
    assert pair.paired
    assert pair.overlap
    assert pair.clear
    unpaired = pair.second.high - pair.first.low - (pair.second.low - pair.first.high)
    assert pair.difference.high - pair.difference.low < 0.3 * unpaired
    assert pair.says.startswith("plays as wanted: ")
    assert " h shorter (" in pair.says
    assert "ranges overlap" in pair.says


def test_difference_within_what_nobody_knows_is_not_clear():
    # Another name means other draws: nothing is shared that could make the difference sure.
    other = with_(BASE, {"battery": {"capacity": "9.4 Ah", "name": "second battery"}})
    pair = figure(comparison(BASE, other), "duration wanted")
    assert pair.difference.low < 0 < pair.difference.likely < pair.difference.high
    assert not pair.clear
    assert "no clear difference" in pair.says


def test_ranges_apart():
    other = with_(BASE, {"battery": {"part": "agm-12v-7ah", "capacity": "3.5 Ah"}})
    pair = figure(comparison(BASE, other), "duration wanted")
    assert not pair.overlap
    assert pair.clear
    assert pair.says.endswith("the ranges do not overlap")


def test_figures_are_those_of_the_outcome():
    other = with_(BASE, {"driver": {"count": 4}, "rail": {"idle_power": "0.31 W"}})
    found = comparison(BASE, other)
    for side, text in (("first", BASE), ("second", other)):
        outcome = case_of(text).outcome
        for scenario in outcome.scenarios:
            key = scenario.key
            assert getattr(figure(found, f"duration {key}"), side) == scenario.duration
            assert getattr(figure(found, f"level {key}"), side) == scenario.level_start
            assert getattr(figure(found, f"watts {key}"), side) == scenario.watts
        loud = outcome.scenario("flat-out")
        assert getattr(figure(found, "air"), side) == loud.air
        assert getattr(figure(found, "junction"), side) == loud.part("amplifier").junction
        assert getattr(figure(found, "shelf"), side) == outcome.parked.shelf
        board = outcome.amplifiers[0]
        assert getattr(figure(found, "clean 0 1"), side) == board.outputs[1].clean_full


def test_likely_difference_is_that_of_the_likely_values():
    other = with_(BASE, {"driver": {"count": 4}, "battery": {"part": "agm-12v-7ah"}})
    found = comparison(BASE, other)
    paired = [pair for pair in found.figures if pair.paired]
    assert len(paired) >= 14
    for pair in paired:
        likely = pair.second.likely - pair.first.likely
        assert pair.difference.likely == pytest.approx(likely, rel=1e-6, abs=1e-9), pair.key


def test_battery_against_supply():
    found = comparison(BASE, SUPPLY)
    changes = {change.name: change.change for change in found.file}
    assert changes["battery"] == "removed"
    assert changes["supply"] == "added"
    pair = figure(found, "duration wanted")
    assert math.isinf(pair.second.likely)
    assert pair.difference is None
    assert "no limit" in pair.says
    assert figure(found, "watts wanted").paired


def test_supply_against_supply_has_no_hours_to_tell_apart():
    found = comparison(SUPPLY, with_(SUPPLY, {"driver": {"count": 4}}))
    pair = figure(found, "duration wanted")
    assert pair.difference is None
    assert pair.says == ""


def test_weight_counts_every_driver_and_only_what_differs():
    found = comparison(BASE, with_(BASE, {"driver": {"count": 5, "mass": "0.7 kg (standard)"}}))
    pair = figure(found, "mass")
    assert pair.first.likely < pair.second.likely
    assert pair.difference.likely == pytest.approx(3 * 0.7, rel=1e-9)
    assert pair.clear


def test_price_is_compared_only_where_both_know_it():
    priced = with_(BASE, {"driver": {"price": "17.50 (standard)"}})
    assert "price" not in {pair.key for pair in comparison(BASE, priced).figures}
    dearer = with_(BASE, {"driver": {"price": "19.25 (standard)"}})
    pair = figure(comparison(priced, dearer), "price")
    assert pair.difference.likely == pytest.approx(2 * 1.75)


def test_findings_come_go_and_change():
    without = with_(BASE, remove=["cutoff"])
    (came,) = [item for item in comparison(BASE, without).findings if item.id == "cutoff-missing"]
    assert (came.first, came.second) == (None, "stop")
    (gone,) = [item for item in comparison(without, BASE).findings if item.id == "cutoff-missing"]
    assert (gone.first, gone.second) == ("stop", None)
    assert gone.says == came.says
    some, far = (
        with_(BASE, {"want": {"level": level}}) for level in ("77 dB(A) at 2 m", "90 dB(A) at 2 m")
    )
    (worse,) = [item for item in comparison(some, far).findings if item.id == "level-not-reached"]
    assert (worse.first, worse.second) == ("mind", "stop")


def test_verdicts_and_answers_of_both():
    found = comparison(BASE, example("first-attempt"))
    assert found.names == ("Garden table", "First attempt")
    assert found.verdicts == ("fine", "stop")
    assert [first.question for first, _ in found.answers] == ["loud", "long", "hot", "safe"]
    assert found.answers[3][1].level == "stop"
    assert not found.same


MUSIC = {
    "title": "Hedges",
    "levels": [0.0, 1.0, 3.0],
    "time_above": [1.0, 0.4, 0.0],
    "bands": [63.0, 1000.0],
    "spectrum_db": [0.0, -6.0],
}


def with_music(**changes):
    values = {("music", key): value for key, value in {**MUSIC, **changes}.items()}
    return with_values(BASE, values)


def test_own_music_comes_goes_and_changes():
    (come,) = differences(BASE, with_music())
    assert (come.kind, come.change, come.title) == ("music", "added", "Hedges")
    (gone,) = differences(with_music(), BASE)
    assert (gone.kind, gone.change, gone.title) == ("music", "removed", "Hedges")
    changed = with_music(levels=[0.0, 1.0, 4.0])
    (change,) = differences(with_music(), changed)
    assert values(change) == {"levels": ("3 numbers from 0 to 3", "3 numbers from 0 to 4", True)}
    assert differences(changed, changed) == ()
