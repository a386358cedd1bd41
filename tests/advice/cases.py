"""Builds for tests of rules: a good one, edits of it, and what a rule says of the result."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import tomlkit

from boomwright.advice.finding import Finding
from boomwright.advice.mend import mended_text
from boomwright.advice.rules import Case, all_rules
from boomwright.build.drawer import load_drawer
from boomwright.build.read import parse_build
from boomwright.outcome.run import run_build

VERSIONS = 24
"""Versions a test works out: enough for a range, few enough for hundreds of cases."""

EXAMPLES = Path(__file__).parents[2] / "examples"

BASE = """\
name = "Garden table"

[want]
level = "68 dB(A) at 2 m"
hours = "6 h"
programme = "pop"
place = "floor"
outside = "20 °C [15 to 25]"
shelf = "30 d"

[battery]
part = "agm-12v-9ah"
vented_bay = true

[charger]
part = "lead-12v-0a8"
through = "fuse"

[fuse]
part = "blade-5a"
distance = "10 cm"
lead = "1.5 mm², 0.1 m, spade-6mm3"

[polarity]
part = "p-mosfet-10a"
lead = "1.5 mm², 0.1 m"

[switch]
part = "rocker-automotive"
lead = "1.5 mm², 0.2 m"

[cutoff]
part = "lead-12v-latching"
off = "11.7 V (measured)"
lead = "1.5 mm², 0.2 m"

[rail]
part = "buck-1a-small"
lead = "0.5 mm², 0.2 m"

[receiver]
part = "bt-receiver-5v"
lead = "0.5 mm², 0.2 m"

[amplifier]
part = "class-ab-bridge-2x20"
input = "sum"
input_pad = "6 dB (standard)"
sink_outside = true
lead = "1.5 mm², 0.3 m"

[driver]
part = "driver-5in-8ohm"
count = 2
lead_area = "0.75 mm²"
lead_length = "0.4 m"

[cabinet]
part = "bookshelf-closed-14l"
electronics_apart = true
air_holes = true
leaks = "tight"
"""
"""A plain build that no rule finds fault with."""


def example(name: str) -> str:
    """Text of one of the builds in ``examples``."""
    return (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")


@cache
def case_of(text: str) -> Case:
    """A build file's text after physics."""
    build = parse_build(text, file="case.toml")
    return Case(build, run_build(build, versions=VERSIONS), load_drawer())


def with_(base: str, table: Mapping[str, Any] | None = None, remove: Iterable[str] = ()) -> str:
    """A build file's text with tables changed, added or taken out.

    ``table`` gives a dict by kind whose keys are laid over the table of that kind; a list of
    dicts takes the whole place of it as ``[[kind]]``, any other value is written as it is.
    ``remove`` names tables, or keys as ``kind.key``; it comes first.
    """
    document: dict[str, Any] = tomlkit.parse(base)
    for path in remove:
        kind, _, key = path.partition(".")
        if key:
            del document[kind][key]
        else:
            del document[kind]
    for kind, content in (table or {}).items():
        if isinstance(content, Mapping) and isinstance(document.get(kind), dict):
            for key, value in content.items():
                document[kind][key] = value
        elif isinstance(content, list):
            array = tomlkit.aot()
            for row in content:
                array.append(tomlkit.item(dict(row)))
            document[kind] = array
        else:
            document[kind] = content
    return tomlkit.dumps(document)


SUPPLY = with_(BASE, {"supply": {"part": "brick-12v-5a"}}, remove=["battery", "charger", "cutoff"])
"""The plain build on a supply from the mains."""

LITHIUM = with_(
    BASE,
    {
        "battery": {"part": "li-ion-3s2p-6ah"},
        "charger": {"part": "li-ion-3s-2a"},
        "cutoff": {"part": "li-ion-3s-latching"},
    },
    remove=["cutoff.off"],
)
"""The plain build on a lithium pack."""


def findings(rule_id: str, text: str) -> list[Finding]:
    """What one rule says of a build file's text."""
    rules = {rule.id: rule for rule in all_rules()}
    return rules[rule_id].findings(case_of(text))


def only(rule_id: str, text: str) -> Finding:
    """The one thing a rule says of a build file's text."""
    found = findings(rule_id, text)
    assert len(found) == 1, f"{rule_id} says {[(item.where, item.says) for item in found]}"
    return found[0]


def mended(text: str, finding: Finding) -> str:
    """A build file's text after the edits that a finding offers."""
    assert finding.fix is not None, f"{finding.id} offers no edit"
    return mended_text(text, finding.fix, drawer=load_drawer(), file="case.toml")


def first_attempt_is_caught(rule_id: str, level: str, where: str, fragment: str) -> None:
    """Hold that a rule finds one fault with the first attempt, and that its edit mends it."""
    text = example("first-attempt")
    found = only(rule_id, text)
    assert (found.level, found.where) == (level, where)
    assert fragment in found.says
    assert found.numbers
    assert findings(rule_id, mended(text, found)) == []
