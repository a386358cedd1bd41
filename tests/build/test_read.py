"""From a build file to a build: every problem at once, each with its line, never a traceback."""

from __future__ import annotations

import random
import re
import time
from pathlib import Path

import pytest

from boomwright.build.drawer import DRAWER_KINDS, Drawer, load_drawer
from boomwright.build.model import MANY_KINDS, ONE_KINDS, Build
from boomwright.build.read import parse_build, read_build, read_parts
from boomwright.errors import BuildFileError, Problem

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))

SHORT = """\
name = "Stall"
[battery]
chemistry = "lead-agm"
cells = 6
capacity = "7 Ah"
[amplifier]
amplifier_class = "D"
topology = "bridge"
supply_min = "8 V"
supply_max = "24 V"
load_min = "4 Ω"
[driver]
impedance = "8 Ω"
"""

DRAWER = Drawer(
    {
        "fuse": {"main-5a": {"rating": "5.5 A"}, "broken": {"rating": "6 V", "distance": "7 cm"}},
        "battery": {
            "bad-rows": {
                "chemistry": "lead-agm",
                "cells": 6,
                "capacity": "7 Ah",
                "rate_table": [{"hours": "1 h", "capacity": "5 V"}],
            }
        },
        "driver": {"cone": {"impedance": "8 Ω"}},
    }
)


def _problems(text: str, drawer: Drawer | None = None) -> tuple[Problem, ...]:
    with pytest.raises(BuildFileError) as caught:
        parse_build(text, file="stall.toml", drawer=drawer or DRAWER)
    for problem in caught.value.problems:
        _well_formed(problem, text)
        assert problem.file == "stall.toml"
    return caught.value.problems


def _only(text: str) -> Problem:
    (problem,) = _problems(text)
    return problem


def _well_formed(problem: Problem, text: str) -> None:
    """A problem that a person can read: words, one line, nothing left unfilled, not endless."""
    line = str(problem)
    assert problem.says.strip()
    assert len(line.splitlines()) == 1
    assert len(line) < 2500
    for brace in re.findall(r"\{\w*\}", line):
        assert brace in text or brace == "{}"
    if "{}" in line:
        assert re.search(r"=\s*\{\s*\}|\{\}", text)
    assert "Traceback" not in line
    assert "Input should" not in line
    assert "literal[" not in problem.key
    if problem.line is not None:
        assert 1 <= problem.line <= text.count("\n") + 1


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_example_is_a_build(file):
    build = read_build(file)
    assert build == parse_build(file.read_text(encoding="utf-8"))
    assert build.name
    assert all(part.fed_by for _, part in build.fed())


def test_shortest_build():
    build = parse_build(SHORT)
    assert build.source.name == "battery"
    assert build.amplifier[0].fed_by == "battery"
    assert build.driver[0].amplifier == "amplifier"
    assert build.want.hours.likely == 18000.0


def test_build_on_a_supply():
    text = SHORT.replace("[battery]", "[supply]").replace('chemistry = "lead-agm"\ncells = 6\n', "")
    text = text.replace('capacity = "7 Ah"', 'voltage = "12 V"\ncurrent_limit = "3 A"')
    assert parse_build(text).source.name == "supply"


def test_value_of_the_drawer_gives_way_to_the_file():
    build = parse_build(SHORT + "[fuse]\npart = 'main-5a'\nrating = '3.5 A'\n", drawer=DRAWER)
    assert build.fuse[0].rating.likely == 3.5
    assert build.fuse[0].rating.basis == "label"
    filled = parse_build(SHORT + "[fuse]\npart = 'main-5a'\n", drawer=DRAWER)
    assert (filled.fuse[0].rating.likely, filled.fuse[0].rating.basis) == (5.5, "typical")


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
    found = [(problem.line, problem.key, problem.says) for problem in _problems(EIGHT)]
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
    problems = {problem.key: problem for problem in _problems(EIGHT)}
    assert problems["want.place"].hint == "Did you mean 'floor'?"
    assert problems["want.place"].got == "'flor'"
    assert problems["battery.cells"].got == "99"
    assert problems["battery.cells"].expected == "less than or equal to 30"
    assert "in quotes" in problems["battery.capacity"].hint
    assert "Did you mean 'main-5a'?" in problems["fuse.1.part"].hint
    assert problems["load.1.fed_by"].hint == "Did you mean 'fuse'?"
    assert problems["amplifier.gian"].hint == "Did you mean 'gain'?"


def test_what_is_missing_is_told_beside_the_rest():
    found = _problems("[want]\nhours = '5 V'\n[driver]\nimpedance = '8 Ω'\n")
    assert [(problem.line, problem.key, problem.says) for problem in found] == [
        (None, "", "no source of power"),
        (None, "", "nothing that makes sound"),
        (None, "name", "missing: what you call the build"),
        (2, "want.hours", "'V' is a unit of voltage, not of time"),
    ]
    assert found[2].hint == "Add it."


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment", "# a\n# b\n"])
def test_empty_file(text):
    found = _problems(text)
    assert [problem.says for problem in found] == [
        "no source of power",
        "nothing that makes sound",
        "missing: what you call the build",
    ]


def test_both_sources_and_neither():
    supply = "[supply]\nvoltage = '12 V'\ncurrent_limit = '3 A'\n"
    assert _only(SHORT + supply).says == "both a battery and a supply"
    text = 'name = "x"\n' + SHORT[SHORT.index("[amplifier]") :]
    assert _only(text).says == "no source of power"


@pytest.mark.parametrize("table", ["amplifier", "driver"])
def test_nothing_that_makes_sound(table):
    start = SHORT.index(f"[{table}]")
    end = SHORT.index("[driver]") if table == "amplifier" else len(SHORT)
    problem = _only(SHORT[:start] + SHORT[end:])
    assert problem.says == "nothing that makes sound"
    assert problem.expected == f"a [{table}] table"


@pytest.mark.parametrize("value", ['"text"', "5", "2.5", "true", "[1, 2]", "1979-05-27"])
@pytest.mark.parametrize("kind", [*ONE_KINDS, *MANY_KINDS, "want"])
def test_table_of_another_type(kind, value):
    text = f"{kind} = {value}\n" + re.sub(rf"\[{kind}\][^\[]*", "", SHORT)
    problems = [problem for problem in _problems(text) if problem.key.split(".")[0] == kind]
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
    problem = _only(text)
    assert (problem.line, problem.key, problem.says) == (5, key, says)
    assert problem.expected.startswith(expected)
    assert line.split(" = ")[1].strip("'") in problem.got.replace("True", "true")


def test_wrong_feeder_is_told_once():
    problem = _only(SHORT + "[load]\ncurrent = '1 A'\nfed_by = 5\n")
    assert (problem.line, problem.key, problem.got) == (16, "load.fed_by", "5")
    assert "text" in problem.expected


def test_missing_field_says_what_it_is_for():
    problem = _only(SHORT.replace("cells = 6\n", ""))
    assert problem.says == "missing: cells in series; six in a 12 V lead battery"
    assert (problem.line, problem.key) == (2, "battery.cells")
    assert "part =" in problem.hint


def test_unknown_part_is_told_without_all_that_it_would_fill():
    problem = _only(SHORT + "[rail]\npart = 'nothing'\n")
    assert (problem.line, problem.key) == (15, "rail.part")


def test_rows_of_a_nested_table():
    rows = "[[battery.rate_table]]\nhours = '1 h'\ncapacity = '4 Ah'\n[[battery.rate_table]]\n"
    text = SHORT + rows + "hour = '2 h'\ncapacity = '5 V'\n"
    found = [(problem.line, problem.key, problem.says) for problem in _problems(text)]
    assert found == [
        (17, "battery.rate_table.2.hours", "missing: length of the discharge"),
        (18, "battery.rate_table.2.hour", "unknown key"),
        (19, "battery.rate_table.2.capacity", "'V' is a unit of voltage, not of charge"),
    ]
    hints = {problem.key: problem.hint for problem in _problems(text)}
    assert hints["battery.rate_table.2.hours"] == "Add it."
    assert hints["battery.rate_table.2.hour"] == "Did you mean 'hours'?"


def test_choice_out_of_several_lists_is_told_once():
    problem = _only(SHORT + "[load]\ncurrent = '1 A'\nshows = 'lifepo'\n")
    assert (problem.line, problem.key) == (16, "load.shows")
    assert problem.hint == "Did you mean 'lifepo4'?"
    assert "'lead-agm'" in problem.expected


def test_mistake_in_the_drawer_names_the_part():
    problem = _only(SHORT + "[fuse]\npart = 'broken'\n")
    assert problem.says == "'V' is a unit of voltage, not of current (in the drawer part 'broken')"
    assert (problem.line, problem.key) == (14, "fuse.rating")
    row = _only(re.sub(r"\[battery\][^\[]*", "[battery]\npart = 'bad-rows'\n", SHORT))
    assert "(in the drawer part 'bad-rows')" in row.says
    assert row.key == "battery.rate_table.1.capacity"
    own = _only(SHORT + "[fuse]\npart = 'broken'\nrating = '7 A'\ndistance = '7 V'\n")
    assert "drawer part" not in own.says


def test_names_taken_twice_and_rings_are_told_with_their_lines():
    text = SHORT + "[[load]]\ncurrent = '1 A'\nname = 'amplifier'\n"
    problem = next(problem for problem in _problems(text) if "taken" in problem.says)
    assert problem.says == "the name 'amplifier' is taken by another load"
    assert (problem.key, problem.line) == ("amplifier.name", 6)
    ring = _only(SHORT + "[switch]\nfed_by = 'switch'\n")
    assert (ring.line, ring.says) == (15, "the power runs in a ring: switch ← switch")


def test_keys_with_control_codes_do_not_reach_the_terminal():
    problem = _only('"a\\u001b[31m\\nb" = 1\n' + SHORT)
    assert "\x1b" not in str(problem)
    assert problem.line == 1


def test_long_pieces_are_cut():
    word = "w" * 200_000
    text = (
        f"{word} = 1\n" + SHORT + f"[load]\ncurrent = '1 A'\nfed_by = '{word}'\nname = '{word}'\n"
    )
    assert len(_problems(text)) >= 2


def test_many_tables_take_no_time():
    start = time.perf_counter()
    with pytest.raises(BuildFileError) as caught:
        parse_build(SHORT + "[[fuse]]\n" * 3000)
    assert time.perf_counter() - start < 5.0
    assert len(caught.value.problems) == 3000


@pytest.mark.parametrize("hole", ["'''\u2028'''", '"{says}"', '"{0}"', '"%s"', '"{}"'])
def test_braces_of_the_file_are_no_placeholders(hole):
    problem = _only(SHORT.replace('"bridge"', hole))
    assert problem.says == "not one of the choices"
    assert "bridge" in problem.expected


# --- a person's own parts -----------------------------------------------------------------------

OWN = """\
[fuse.my-fuse]
rating = "3.3 A"
[driver.cone]
power = "17 W"
"""


def _with_parts(folder: Path, own: str, parts: str = "my-parts.toml", name: str = "") -> Path:
    (folder / (name or "my-parts.toml")).write_text(own, encoding="utf-8")
    file = folder / "stall.toml"
    text = f"parts = '{parts}'\n" + re.sub(
        r"\[driver\].*", "[driver]\npart = 'cone'\n", SHORT, flags=re.DOTALL
    )
    file.write_text(text + "[fuse]\npart = 'my-fuse'\n", encoding="utf-8")
    return file


def test_own_parts_are_laid_over_the_drawer(tmp_path):
    build = read_build(_with_parts(tmp_path, OWN), drawer=DRAWER)
    assert (build.fuse[0].rating.likely, build.fuse[0].rating.basis) == (3.3, "label")
    assert (build.driver[0].power.likely, build.driver[0].power.basis) == (17.0, "label")
    assert (build.driver[0].impedance.likely, build.driver[0].impedance.basis) == (8.0, "typical")
    assert "my-fuse" not in DRAWER.names("fuse")


def test_own_parts_in_a_folder_below(tmp_path):
    (tmp_path / "below").mkdir()
    file = _with_parts(tmp_path, OWN, "below/p.toml", "below/p.toml")
    assert read_build(file, drawer=DRAWER).fuse[0].rating.likely == 3.3


def _parts_problems(file: Path) -> tuple[Problem, ...]:
    with pytest.raises(BuildFileError) as caught:
        read_build(file, drawer=DRAWER)
    assert all(problem.says for problem in caught.value.problems)
    return caught.value.problems


@pytest.mark.parametrize("parts", ["../my-parts.toml", "below/../../x.toml", "/etc/parts.toml"])
def test_own_parts_outside_the_folder(tmp_path, parts):
    (problem,) = _parts_problems(_with_parts(tmp_path, OWN, parts))
    assert problem.says == "a parts file outside the build's folder"
    assert (problem.line, problem.key, problem.got) == (1, "parts", repr(parts))
    assert problem.file == "stall.toml"


@pytest.mark.parametrize("parts", ["missing.toml", "no\\folder", "a/b/c"])
def test_own_parts_that_are_missing(tmp_path, parts):
    (problem,) = _parts_problems(_with_parts(tmp_path, OWN, parts))
    assert problem.says == "there is no such parts file"
    assert (problem.line, problem.key, problem.got) == (1, "parts", repr(parts))
    assert "boomwright new" not in str(problem)


def test_own_parts_that_are_no_toml_or_a_folder(tmp_path):
    (problem,) = _parts_problems(_with_parts(tmp_path, "[fuse.x]\nrating == 1\n"))
    assert (problem.file, problem.line) == ("my-parts.toml", 2)
    assert problem.says.startswith("not TOML")
    (tmp_path / "folder").mkdir()
    (problem,) = _parts_problems(_with_parts(tmp_path, OWN, "folder"))
    assert "folder" in problem.says


def test_own_parts_with_mistakes_are_told_at_once(tmp_path):
    own = '[fuse.a]\nrating = "3 V"\n[fuse.b]\nratign = "4 A"\n[driver.cone]\npower = "18 parsec"\n'
    found = _parts_problems(_with_parts(tmp_path, own))
    assert [(problem.file, problem.line, problem.key) for problem in found] == [
        ("my-parts.toml", 2, "fuse.a.rating"),
        ("my-parts.toml", 3, "fuse.b.rating"),
        ("my-parts.toml", 4, "fuse.b.ratign"),
        ("my-parts.toml", 6, "driver.cone.power"),
    ]
    assert found[2].hint == "Did you mean 'rating'?"


@pytest.mark.parametrize(
    ("own", "line", "says"),
    [
        ("x = 1\n[fuze.a]\nrating = '3 A'\n", 1, "unknown kind of part"),
        ("\n[fuze.a]\nrating = '3 A'\n", 2, "unknown kind of part"),
        ("\n\n[fuse]\nrating = '3 A'\n", 3, "not a table of parts"),
        ("[[fuse]]\nrating = '3 A'\n", 1, "not a table of parts"),
        ("fuse = 7\n", 1, "not a table of parts"),
    ],
)
def test_own_parts_that_are_no_parts(tmp_path, own, line, says):
    problem = _parts_problems(_with_parts(tmp_path, own))[0]
    assert (problem.line, problem.says) == (line, says)
    assert problem.hint or problem.expected


def test_own_parts_that_are_empty_change_nothing(tmp_path):
    file = tmp_path / "empty.toml"
    file.write_text("# nothing yet\n")
    assert read_parts(file, drawer=DRAWER).tables == DRAWER.tables


@pytest.mark.parametrize("wrong", ["5", "true", "['a.toml']", "{a = 1}"])
def test_parts_that_are_no_text(wrong):
    problem = _only(f"parts = {wrong}\n" + SHORT)
    assert (problem.line, problem.key, problem.expected) == (1, "parts", "text in quotes")


# --- mutations ----------------------------------------------------------------------------------

WORDS = (
    "1|1.5|true|[]|{}|[1]|[[1]]|''|'x'|nan|inf|-1|1979-05-27|07:32:00|'nan V'|'1e999 V'|'99 to 1 V'"
    "|'5 V\\u0000'|{a = 1}|[{a = 1}]|'{x}'|'AWG ²/0'|" + "9" * 30 + "|1e400|'² V'|0x" + "f" * 5000
).split("|")
MARKS = "{}[]=\"'#.,±() \tx0²\x00\x1b\u2028é\\\r\ud7ff"


def _change(lines: list[str], chance: random.Random, others: list[str]) -> None:
    """One change of the kinds that a slip of the hand, a bad merge or a broken disk makes."""
    row = chance.randrange(len(lines))
    line = lines[row]
    column = chance.randrange(len(line) + 1)
    match chance.randrange(10):
        case 0 if len(lines) > 1:
            del lines[row]
        case 1:
            lines.insert(row, chance.choice(lines))
        case 2:
            other = chance.randrange(len(lines))
            lines[row], lines[other] = lines[other], lines[row]
        case 3:
            lines[row] = line[:column] + chance.choice(MARKS) + line[column + 1 :]
        case 4:
            lines[row] = line[:column] + line[column + 1 :]
        case 5:
            lines[row] = line[:column] + chance.choice(MARKS) + line[column:]
        case 6 | 7 if "=" in line:
            lines[row] = f"{line.split('=')[0]}= {chance.choice(WORDS)}"
        case 8 if line.startswith("["):
            name = line.split("#")[0].strip("[] ")
            forms = ("[[{}]]", "[{}]", "[x{}]", "{} = 3", "[{}.sub]", "[[{}.name]]")
            lines[row] = chance.choice(forms).replace("{}", name)
        case _:
            lines.insert(row, chance.choice(others))


def _build_problems(text: str) -> tuple[Problem, ...]:
    """Problems of a text, none where it is a build; any other error goes through."""
    try:
        build = parse_build(text)
    except BuildFileError as error:
        return error.problems or (Problem(""),)
    assert isinstance(build, Build)
    return ()


def test_no_mutation_of_the_examples_ends_in_a_traceback():
    chance = random.Random(1987)
    texts = [file.read_text(encoding="utf-8") for file in EXAMPLES]
    others = [line for text in texts for line in text.split("\n")]
    read, refused = 0, 0
    for _ in range(2000):
        lines = chance.choice(texts).split("\n")
        for _ in range(chance.choice((1, 1, 2, 4, 9))):
            _change(lines, chance, others)
        text = "\n".join(lines)
        problems = _build_problems(text)
        refused += bool(problems)
        read += not problems
        order = [problem.line or 0 for problem in problems]
        assert order == sorted(order)
        for problem in problems:
            _well_formed(problem, text)
    assert read > 100
    assert refused > 1000


def test_no_bytes_end_in_a_traceback(tmp_path):
    chance = random.Random(2024)
    file = tmp_path / "x.toml"
    start = EXAMPLES[0].read_bytes()
    says: list[str] = []
    for number in range(150):
        data = bytearray(chance.randbytes(200) if number % 3 == 0 else start)
        for _ in range(chance.randrange(1, 4)):
            data[chance.randrange(len(data))] = chance.randrange(256)
        file.write_bytes(bytes(data[: chance.randrange(1, len(data) + 1)]))
        try:
            read_build(file)
        except BuildFileError as error:
            says += [problem.says for problem in error.problems]
    assert all(says)
    assert len(says) > 100


def test_no_mutation_of_own_parts_ends_in_a_traceback(tmp_path):
    chance = random.Random(77)
    tables = load_drawer().tables
    lines = [
        line
        for kind in DRAWER_KINDS
        for name in list(tables[kind])[:2]
        for line in (
            f"[{kind}.{name}]",
            *(f"{key} = {value!r}" for key, value in tables[kind][name].items()
              if isinstance(value, str) and "'" not in value),
        )
    ]  # fmt: skip
    file = tmp_path / "p.toml"
    refused = 0
    for _ in range(150):
        changed = list(lines)
        for _ in range(3):
            _change(changed, chance, lines)
        text = "\n".join(changed)
        file.write_text(text, encoding="utf-8", newline="")
        try:
            read_parts(file)
        except BuildFileError as error:
            refused += 1
            for problem in error.problems:
                _well_formed(problem, text)
    assert refused > 50
