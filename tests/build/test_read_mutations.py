"""Files damaged at random: problems that a person can read, never a traceback."""

from __future__ import annotations

import random

from tests.build.readings import EXAMPLES, well_formed

from boomwright.build.drawer import DRAWER_KINDS, load_drawer
from boomwright.build.model import Build
from boomwright.build.read import parse_build, read_build, read_parts
from boomwright.errors import BuildFileError, Problem

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
            well_formed(problem, text)
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
                well_formed(problem, text)
    assert refused > 50
