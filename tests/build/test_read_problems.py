"""What is wrong with a build file: every problem at once, each with its line."""

from __future__ import annotations

import re
import time

import pytest
from tests.build.readings import SHORT, only, problems_of

from boomwright.build.model import MANY_KINDS, ONE_KINDS
from boomwright.build.read import parse_build
from boomwright.errors import BuildFileError

EIGHT = """\
name = "Eight"
colour = "red"
[want]
hours = "5 hh"
place = "flor"
[battery]
chemistry = "lead-agm"
cells = 99
capacity = 7
[[fuse]]
part = "main-5b"
[[load]]
name = "lamp"
current = "0.2 A"
fed_by = "fuze"
[amplifier]
amplifier_class = "D"
topology = "bridge"
supply_min = "8 V"
supply_max = "24 V"
load_min = "4 Ω"
gian = "26 dB"
[driver]
impedance = "8 Ω"
"""


def test_eight_mistakes_are_told_at_once_in_order():
    found = [(problem.line, problem.key, problem.says) for problem in problems_of(EIGHT)]
    assert found == [
        (2, "colour", "unknown key"),
        (4, "want.hours", "unknown unit 'hh'"),
        (5, "want.place", "not one of the choices"),
        (8, "battery.cells", "not what belongs here"),
        (9, "battery.capacity", "not a value with a unit"),
        (11, "fuse.1.part", "no such fuse in the drawer"),
        (15, "load.1.fed_by", "fed by an unknown part"),
        (22, "amplifier.gian", "unknown key"),
    ]
    problems = {problem.key: problem for problem in problems_of(EIGHT)}
    assert problems["want.place"].hint == "Did you mean 'floor'?"
    assert problems["want.place"].got == "'flor'"
    assert problems["battery.cells"].got == "99"
    assert problems["battery.cells"].expected == "less than or equal to 30"
    assert "in quotes" in problems["battery.capacity"].hint
    assert "Did you mean 'main-5a'?" in problems["fuse.1.part"].hint
    assert problems["load.1.fed_by"].hint == "Did you mean 'fuse'?"
    assert problems["amplifier.gian"].hint == "Did you mean 'gain'?"


def test_what_is_missing_is_told_beside_the_rest():
    found = problems_of("[want]\nhours = '5 V'\n[driver]\nimpedance = '8 Ω'\n")
    assert [(problem.line, problem.key, problem.says) for problem in found] == [
        (None, "", "no source of power"),
        (None, "", "nothing that makes sound"),
        (None, "name", "missing: what you call the build"),
        (2, "want.hours", "'V' is a unit of voltage, not of time"),
    ]
    assert found[2].hint == "Add it."


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment", "# a\n# b\n"])
def test_empty_file(text):
    found = problems_of(text)
    assert [problem.says for problem in found] == [
        "no source of power",
        "nothing that makes sound",
        "missing: what you call the build",
    ]


def test_both_sources_and_neither():
    supply = "[supply]\nvoltage = '12 V'\ncurrent_limit = '3 A'\n"
    assert only(SHORT + supply).says == "both a battery and a supply"
    text = 'name = "x"\n' + SHORT[SHORT.index("[amplifier]") :]
    assert only(text).says == "no source of power"


@pytest.mark.parametrize("table", ["amplifier", "driver"])
def test_nothing_that_makes_sound(table):
    start = SHORT.index(f"[{table}]")
    end = SHORT.index("[driver]") if table == "amplifier" else len(SHORT)
    problem = only(SHORT[:start] + SHORT[end:])
    assert problem.says == "nothing that makes sound"
    assert problem.expected == f"a [{table}] table"


@pytest.mark.parametrize("value", ['"text"', "5", "2.5", "true", "[1, 2]", "1979-05-27"])
@pytest.mark.parametrize("kind", [*ONE_KINDS, *MANY_KINDS, "want"])
def test_table_of_another_type(kind, value):
    text = f"{kind} = {value}\n" + re.sub(rf"\[{kind}\][^\[]*", "", SHORT)
    problems = [problem for problem in problems_of(text) if problem.key.split(".")[0] == kind]
    assert problems
    assert {problem.line for problem in problems} == {1}
    assert all("table" in problem.expected for problem in problems)


@pytest.mark.parametrize(
    ("line", "key", "says", "expected"),
    [
        ("second_hand = 'maybe'", "battery.second_hand", "not what belongs here", "true or false"),
        ("second_hand = 7", "battery.second_hand", "not what belongs here", "true or false"),
        ("strings = 'two'", "battery.strings", "not what belongs here", "a whole number"),
        ("strings = 1.5", "battery.strings", "not what belongs here", "a whole number"),
        ("title = 8", "battery.title", "not what belongs here", "text in quotes"),
        ("name = 9", "battery.name", "not what belongs here", "text in quotes"),
        ("health = true", "battery.health", "not a value with a unit", "text such as '80 %'"),
        ("health = '3 %'", "battery.health", "3 % cannot be right here", "from 5 % to 120 %"),
        ("rate_table = 'x'", "battery.rate_table", "not a table of values", "a table"),
    ],
)
def test_wrong_value_says_what_belongs_there(line, key, says, expected):
    text = SHORT.replace("cells = 6", f"cells = 6\n{line}")
    problem = only(text)
    assert (problem.line, problem.key, problem.says) == (5, key, says)
    assert problem.expected.startswith(expected)
    assert line.split(" = ")[1].strip("'") in problem.got.replace("True", "true")


def test_wrong_feeder_is_told_once():
    problem = only(SHORT + "[load]\ncurrent = '1 A'\nfed_by = 5\n")
    assert (problem.line, problem.key, problem.got) == (16, "load.fed_by", "5")
    assert "text" in problem.expected


def test_missing_field_says_what_it_is_for():
    problem = only(SHORT.replace("cells = 6\n", ""))
    assert problem.says == "missing: cells in series; six in a 12 V lead battery"
    assert (problem.line, problem.key) == (2, "battery.cells")
    assert "part =" in problem.hint


def test_unknown_part_is_told_without_all_that_it_would_fill():
    problem = only(SHORT + "[rail]\npart = 'nothing'\n")
    assert (problem.line, problem.key) == (15, "rail.part")


def test_rows_of_a_nested_table():
    rows = "[[battery.rate_table]]\nhours = '1 h'\ncapacity = '4 Ah'\n[[battery.rate_table]]\n"
    text = SHORT + rows + "hour = '2 h'\ncapacity = '5 V'\n"
    found = [(problem.line, problem.key, problem.says) for problem in problems_of(text)]
    assert found == [
        (17, "battery.rate_table.2.hours", "missing: length of the discharge"),
        (18, "battery.rate_table.2.hour", "unknown key"),
        (19, "battery.rate_table.2.capacity", "'V' is a unit of voltage, not of charge"),
    ]
    hints = {problem.key: problem.hint for problem in problems_of(text)}
    assert hints["battery.rate_table.2.hours"] == "Add it."
    assert hints["battery.rate_table.2.hour"] == "Did you mean 'hours'?"


def test_choice_out_of_several_lists_is_told_once():
    problem = only(SHORT + "[load]\ncurrent = '1 A'\nshows = 'lifepo'\n")
    assert (problem.line, problem.key) == (16, "load.shows")
    assert problem.hint == "Did you mean 'lifepo4'?"
    assert "'lead-agm'" in problem.expected


def test_mistake_in_the_drawer_names_the_part():
    problem = only(SHORT + "[fuse]\npart = 'broken'\n")
    assert problem.says == "'V' is a unit of voltage, not of current (in the drawer part 'broken')"
    assert (problem.line, problem.key) == (14, "fuse.rating")
    row = only(re.sub(r"\[battery\][^\[]*", "[battery]\npart = 'bad-rows'\n", SHORT))
    assert "(in the drawer part 'bad-rows')" in row.says
    assert row.key == "battery.rate_table.1.capacity"
    own = only(SHORT + "[fuse]\npart = 'broken'\nrating = '7 A'\ndistance = '7 V'\n")
    assert "drawer part" not in own.says


def test_names_taken_twice_and_rings_are_told_with_their_lines():
    text = SHORT + "[[load]]\ncurrent = '1 A'\nname = 'amplifier'\n"
    problem = next(problem for problem in problems_of(text) if "taken" in problem.says)
    assert problem.says == "the name 'amplifier' is taken by another load"
    assert (problem.key, problem.line) == ("amplifier.name", 6)
    ring = only(SHORT + "[switch]\nfed_by = 'switch'\n")
    assert (ring.line, ring.says) == (15, "the power runs in a ring: switch ← switch")


def test_keys_with_control_codes_do_not_reach_the_terminal():
    problem = only('"a\\u001b[31m\\nb" = 1\n' + SHORT)
    assert "\x1b" not in str(problem)
    assert problem.line == 1


def test_long_pieces_are_cut():
    word = "w" * 200_000
    text = (
        f"{word} = 1\n" + SHORT + f"[load]\ncurrent = '1 A'\nfed_by = '{word}'\nname = '{word}'\n"
    )
    assert len(problems_of(text)) >= 2


def test_many_tables_take_no_time():
    start = time.perf_counter()
    with pytest.raises(BuildFileError) as caught:
        parse_build(SHORT + "[[fuse]]\n" * 3000)
    assert time.perf_counter() - start < 5.0
    assert len(caught.value.problems) == 3000


@pytest.mark.parametrize("hole", ["'''\u2028'''", '"{says}"', '"{0}"', '"%s"', '"{}"'])
def test_braces_of_the_file_are_no_placeholders(hole):
    problem = only(SHORT.replace('"bridge"', hole))
    assert problem.says == "not one of the choices"
    assert "bridge" in problem.expected
