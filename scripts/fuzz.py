"""Damage build files at random, and hold that each ends in a verdict or in a plain refusal.

    python scripts/fuzz.py --count 100000 --processes 2
    python scripts/fuzz.py --show 4711          print one mutant and what became of it

A mutant hangs on the seed and its number alone, so any of them can be made again.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from boomwright.advice.finding import LEVELS
from boomwright.advice.judge import Verdict, judge
from boomwright.build.model import Build
from boomwright.build.read import read_build
from boomwright.build.starts import start_names, start_text
from boomwright.errors import InputError
from boomwright.outcome.run import run_build

ROOT = Path(__file__).resolve().parent.parent
SEED = 1
CHUNK = 500

VALUES = (
    '""', '"nan"', '"inf"', '"-5 V"', '"0 V"', '"0 A"', '"0 Ω"', '"0 %"', '"1e9 V"', '"1e-12 F"',
    '"12"', '"12 V"', '"7 Ah (claim)"', '"7 Ah (guess)"', '"1 to 1000 Ah"', '"5 V [9 to 1]"',
    '"100 dB at 0 m"', '"120 dB(A) at 50 m"', '"AWG 40, 9 m"', '"0.01 mm², 30 m"', "0", "-1",
    "1e308", "nan", "inf", "true", "false", "[]", "{}", "[1, 2]", "1979-05-27", '"battery"',
    '"fuse"', '"rail"', '"cutoff"', '"\\u0000"', '"😀"', '"series"', '"parallel"', '"split"',
    '"single-ended"', '"bridged"', '"sine"', '"alkaline"', '"nimh"', '"lifepo4"', '"-30 °C"',
    '"60 °C"', '"1000 h"', '"1 min"', "20", "30", "8",
)  # fmt: skip
_TOKEN = re.compile(r"[\w.µΩ°²³%+-]+|\S")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_UNITS = ("V", "mV", "A", "mA", "Ω", "Ah", "W", "h", "d", "mm²", "m", "cm", "L", "dB", "°C", "%")


def sources() -> dict[str, str]:
    """Files that the mutants are made from, by name."""
    files = sorted((ROOT / "examples").glob("*.toml"))
    found = {file.stem: file.read_text(encoding="utf-8") for file in files}
    return found | {f"start {name}": start_text(name, build="Start") for name in start_names()}


def _lines(chance: random.Random, text: str, others: list[str]) -> str:
    lines = text.split("\n")
    at = chance.randrange(len(lines))
    kind = chance.randrange(5)
    if kind == 0:
        del lines[at]
    elif kind == 1:
        lines.insert(chance.randrange(len(lines) + 1), lines[at])
    elif kind == 2:
        lines.insert(at, chance.choice(chance.choice(others).split("\n")))
    elif kind == 3:
        to = chance.randrange(len(lines))
        lines[at], lines[to] = lines[to], lines[at]
    else:
        del lines[at : at + chance.randrange(2, 12)]
    return "\n".join(lines)


def _tables(chance: random.Random, text: str, others: list[str]) -> str:
    def cut(whole: str) -> list[str]:
        return re.split(r"(?m)^(?=\[)", whole)

    tables = cut(text)
    at = chance.randrange(len(tables))
    kind = chance.randrange(4)
    if kind == 0:
        del tables[at]
    elif kind == 1:
        tables.insert(at, chance.choice(cut(chance.choice(others))))
    elif kind == 2:
        tables[at] = tables[at].replace("[", "[[", 1).replace("]", "]]", 1)
    else:
        chance.shuffle(tables)
    return "".join(tables)


def _tokens(chance: random.Random, text: str, others: list[str]) -> str:
    tokens = list(_TOKEN.finditer(text))
    if not tokens:
        return text
    found = chance.choice(tokens)
    other = chance.choice(_TOKEN.findall(chance.choice(others)))
    return text[: found.start()] + other + text[found.end() :]


def _values(chance: random.Random, text: str, others: list[str]) -> str:
    spots = list(re.finditer(r"(?m)= (.+?)(?=  +#|$)", text))
    if not spots:
        return text
    found = chance.choice(spots)
    if chance.random() < 0.5:
        new = chance.choice(VALUES)
    else:
        new = chance.choice(re.findall(r"(?m)= (.+?)(?=  +#|$)", chance.choice(others)))
    return text[: found.start(1)] + new + text[found.end(1) :]


def _numbers(chance: random.Random, text: str, _: list[str]) -> str:
    spots = list(_NUMBER.finditer(text))
    if not spots:
        return text
    found = chance.choice(spots)
    times = chance.choice([0.0, 0.01, 0.1, 0.5, 0.8, 1.25, 2.0, 10.0, 100.0])
    new = f"{float(found[0]) * times:g}"
    if chance.random() < 0.2:
        new = f"{new} {chance.choice(_UNITS)}"
    return text[: found.start()] + new + text[found.end() :]


def _characters(chance: random.Random, text: str, _: list[str]) -> str:
    at = chance.randrange(len(text) + 1)
    new = chance.choice(['"', "'", "[", "]", "=", "#", "\n", "\r", "\x00", "\\", ".", "é", "-"])
    return text[:at] + new + text[at + chance.randrange(2) :]


def _part_names(chance: random.Random, text: str, others: list[str]) -> str:
    """Another part of the same kind: what people really do."""
    spots = list(re.finditer(r'(?m)^part = "(.+?)"', text))
    if not spots:
        return text
    found = chance.choice(spots)
    names = [name for other in others for name in re.findall(r'(?m)^part = "(.+?)"', other)]
    return text[: found.start(1)] + chance.choice(names) + text[found.end(1) :]


Mutation = Callable[[random.Random, str, list[str]], str]
MUTATIONS: tuple[tuple[Mutation, int], ...] = (
    (_lines, 3), (_tables, 3), (_tokens, 3), (_values, 4), (_numbers, 4), (_characters, 2),
    (_part_names, 1),
)  # fmt: skip


def mutant(number: int, *, seed: int = SEED) -> bytes:
    """A damaged build file."""
    chance = random.Random(f"{seed}/{number}")
    files = list(sources_once().values())
    text = chance.choice(files)
    kinds, weights = zip(*MUTATIONS, strict=True)
    for _ in range(chance.choice([1, 1, 2, 3, 5])):
        text = chance.choices(kinds, weights)[0](chance, text, files)
    data = bytearray(text.encode("utf-8", "surrogatepass"))
    if chance.random() < 0.15:
        for _ in range(chance.randrange(1, 4)):
            at = chance.randrange(len(data) + 1)
            data[at : at + chance.randrange(2)] = bytes([chance.randrange(256)])
    return bytes(data)


_SOURCES: dict[str, str] = {}


def sources_once() -> dict[str, str]:
    """The sources, read once."""
    if not _SOURCES:
        _SOURCES.update(sources())
    return _SOURCES


@dataclass
class Tally:
    """What became of some mutants."""

    counts: Counter[str] = field(default_factory=Counter)
    rules: Counter[str] = field(default_factory=Counter)
    crashes: list[tuple[int, str]] = field(default_factory=list)
    slowest: tuple[float, int] = (0.0, -1)

    def add(self, other: Tally) -> None:
        """Take another tally in."""
        self.counts += other.counts
        self.rules += other.rules
        self.crashes += other.crashes
        self.slowest = max(self.slowest, other.slowest)


_NO_NUMBER = re.compile(r"(?<![\w-])(?:nan|inf)(?![\w-])")


def sound_verdict(verdict: Verdict, names: Iterable[str] = ()) -> None:
    """Raise if a verdict is not what every verdict must be; parts may be called ``nan``."""

    def shows_no_number(words: str) -> bool:
        for name in names:
            words = words.replace(name, "")
        return _NO_NUMBER.search(words) is not None

    if verdict.level not in LEVELS:
        raise RuntimeError(f"level {verdict.level!r}")
    if [answer.question for answer in verdict.answers] != ["loud", "long", "hot", "safe"]:
        raise RuntimeError("not four answers")
    for finding in verdict.findings:
        for words in (
            finding.says,
            finding.why,
            finding.do,
            finding.fix.says if finding.fix else "",
        ):
            if shows_no_number(words):
                raise RuntimeError(f"{finding.id} says no number: {words}")
    for answer in verdict.answers:
        if shows_no_number(f"{answer.headline} {answer.detail}"):
            raise RuntimeError(f"answer says no number: {answer.headline}; {answer.detail}")


def _judged(build: Build) -> Verdict:
    verdict = judge(build, run_build(build, versions=0))
    others = (build.source, *build.driver)
    names = {part.name for part in (*others, *(part for _, part in build.fed()))}
    sound_verdict(verdict, names)
    return verdict


def try_mutants(
    numbers: Iterable[int], *, seed: int = SEED, known: dict[str, Verdict] | None = None
) -> Tally:
    """Read, run and judge mutants; one whose values were judged before is not run again."""
    tally = Tally()
    known = {} if known is None else known
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("error")
        file = Path(folder) / "mutant.toml"
        for number in numbers:
            began = time.perf_counter()
            file.write_bytes(mutant(number, seed=seed))
            try:
                build = read_build(file)
                told = build.model_copy(update={"name": "same", "story": ""})
                values = told.model_dump_json()
                verdict = known.get(values) or _judged(build)
                known[values] = verdict
                tally.counts[f"judged {verdict.level}"] += 1
                tally.rules.update({finding.id for finding in verdict.findings})
            except InputError as error:
                if not error.problems or not str(error).strip():
                    tally.crashes.append((number, "a refusal without words"))
                tally.counts["refused"] += 1
            except Exception:
                tally.counts["crashed"] += 1
                tally.crashes.append((number, traceback.format_exc(limit=-4)))
            tally.slowest = max(tally.slowest, (time.perf_counter() - began, number))
    return tally


_KNOWN: dict[str, Verdict] = {}


def _chunk(job: tuple[int, int, int]) -> Tally:
    seed, begin, end = job
    return try_mutants(range(begin, end), seed=seed, known=_KNOWN)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--count", type=int, default=2_000, help="mutants to make")
    parser.add_argument("--seed", type=int, default=SEED, help="another seed, other mutants")
    parser.add_argument("--first", type=int, default=0, help="number of the first mutant")
    parser.add_argument("--processes", type=int, default=1, help="processes to share the work")
    parser.add_argument("--show", type=int, metavar="NUMBER", help="one mutant and its end")
    asked = parser.parse_args()
    if asked.show is not None:
        sys.stdout.write(mutant(asked.show, seed=asked.seed).decode("utf-8", "replace"))
        tally = try_mutants([asked.show], seed=asked.seed)
        print(f"\n{dict(tally.counts)}", *(text for _, text in tally.crashes), sep="\n")
        return bool(tally.crashes)
    last = asked.first + asked.count
    jobs = [(asked.seed, begin, min(begin + CHUNK, last))
            for begin in range(asked.first, last, CHUNK)]  # fmt: skip
    tally, began = Tally(), time.perf_counter()
    with ProcessPoolExecutor(asked.processes) as pool:
        for done, found in enumerate(pool.map(_chunk, jobs), start=1):
            tally.add(found)
            for number, text in found.crashes:
                print(f"mutant {number} of seed {asked.seed}: {text}", flush=True)
            if done % 10 == 0:
                spent = time.perf_counter() - began
                print(f"{done * CHUNK} in {spent:.0f} s: {dict(tally.counts)}", flush=True)
    print(f"{asked.count} mutants of seed {asked.seed} from {len(sources())} files")
    for name, count in sorted(tally.counts.items()):
        print(f"  {name:18} {count:7}")
    print(f"  rules that fired   {len(tally.rules):7}")
    print(f"  slowest            {tally.slowest[0]:7.2f} s, mutant {tally.slowest[1]}")
    return bool(tally.crashes)


if __name__ == "__main__":
    sys.exit(main())
