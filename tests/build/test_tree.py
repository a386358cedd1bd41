"""The power tree: who feeds whom."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from boomwright.build.drawer import Drawer
from boomwright.build.fill import fill
from boomwright.build.locate import Path
from boomwright.build.read import parse_build
from boomwright.build.tree import Node, power_tree, tree_problems
from boomwright.errors import Problem

SOUND = "[amplifier]\n[driver]\n"


def _problems(text: str) -> list[tuple[Path, Problem]]:
    return tree_problems(fill(tomllib.loads(text), Drawer()).values)


def _only(text: str) -> tuple[Path, Problem]:
    (found,) = _problems(text)
    return found


def test_usual_tree_has_no_problem():
    assert _problems(f"[battery]\n[fuse]\n[rail]\nvoltage = '5 V'\n[usb]\n{SOUND}") == []
    assert _problems(f"[supply]\n{SOUND}") == []


def test_unknown_feeder_names_the_nearest():
    path, problem = _only(
        f"[battery]\n[fuse]\nname='main fuse'\n[load]\nfed_by='man fuse'\n{SOUND}"
    )
    assert path == ("load", 0, "fed_by")
    assert problem.says == "fed by an unknown part"
    assert problem.got == "'man fuse'"
    assert problem.hint == "Did you mean 'main fuse'?"


@pytest.mark.parametrize("feeder", ["amplifier", "usb", "receiver", "lamp"])
def test_feeding_from_what_feeds_nothing(feeder):
    text = f"[battery]\n[usb]\n[receiver]\n[[load]]\nname='lamp'\n[[load]]\nfed_by='{feeder}'\n"
    path, problem = _only(text + SOUND)
    kind = "load" if feeder == "lamp" else feeder
    assert path == ("load", 1, "fed_by")
    assert problem.says == f"fed by {feeder!r}, but the kind {kind} feeds nothing"
    assert problem.hint == "These can: battery."


def test_driver_and_charger_are_no_feeders():
    text = "[battery]\n[charger]\n[[load]]\nfed_by = 'charger'\n[[load]]\nfed_by = 'driver'\n"
    assert [problem.got for _, problem in _problems(text + SOUND)] == ["'charger'", "'driver'"]


def test_part_that_feeds_itself():
    path, problem = _only(f"[battery]\n[fuse]\nfed_by = 'fuse'\n{SOUND}")
    assert path == ("fuse", 0, "fed_by")
    assert problem.says == "the power runs in a ring: fuse ← fuse"


def test_ring_is_told_at_each_of_its_parts_and_not_below():
    text = "[battery]\n[fuse]\nfed_by='switch'\n[switch]\nfed_by='rail'\n[rail]\nfed_by='fuse'\n"
    found = _problems(text + "[load]\nfed_by = 'rail'\n" + SOUND)
    assert [path[0] for path, _ in found] == ["fuse", "switch", "rail"]
    assert found[0][1].says == "the power runs in a ring: fuse ← switch ← rail ← fuse"


def test_long_chain_takes_no_time():
    fuses = "".join(f"[[fuse]]\nfed_by = '{i and f'fuse-{i}'}'\n" for i in range(2, 800))
    found = _problems(f"[battery]\n[[fuse]]\n[[fuse]]\n{fuses}{SOUND}")
    assert found == []


@pytest.mark.parametrize("wrong", ["5", "false", "[]", "{}", "['battery']"])
def test_feeder_that_is_no_text_is_left_to_the_model(wrong):
    assert _problems(f"[battery]\n[fuse]\nfed_by = {wrong}\n{SOUND}") == []


def test_driver_of_an_unknown_amplifier():
    text = "[battery]\n[[amplifier]]\nname='left amp'\n[[amplifier]]\nname='right amp'\n"
    path, problem = _only(text + "[driver]\namplifier = 'rigt amp'\n")
    assert path == ("driver", 0, "amplifier")
    assert (problem.says, problem.got) == ("driven by an unknown amplifier", "'rigt amp'")
    assert problem.hint == "Did you mean 'right amp'?"
    path, problem = _only(text + "[[driver]]\namplifier='left amp'\n[[driver]]\n")
    assert path == ("driver", 1, "amplifier")
    assert problem.says == "does not say which amplifier drives it"
    assert problem.hint == "Known here: left amp, right amp."
    assert _problems(text + "[driver]\namplifier = 5\n") == []


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (SOUND, "no source of power"),
        (f"[battery]\n[supply]\n{SOUND}", "both a battery and a supply"),
        ("[battery]\n[driver]\n", "nothing that makes sound"),
        ("[battery]\n[amplifier]\n", "nothing that makes sound"),
        ("[battery]\n", "nothing that makes sound"),
    ],
)
def test_file_that_lacks_something_as_a_whole(text, says):
    path, problem = _only(text)
    assert path == ()
    assert problem.says == says
    assert "table" in problem.expected
    missing = [kind for kind in ("amplifier", "driver") if f"[{kind}]" not in text]
    assert all(f"[{kind}]" in problem.expected for kind in missing)


@pytest.mark.parametrize("content", ["text", 5, [], ["a"], [[1]], {}, None])
@pytest.mark.parametrize("kind", ["battery", "supply", "fuse", "driver", "amplifier"])
def test_any_content_gives_problems_and_no_traceback(kind, content):
    values: dict[str, Any] = {"battery": {"name": "b"}, kind: content}
    assert all(problem.says for _, problem in tree_problems(values))


BUILD = """
name = "Tree"
[battery]
chemistry = "lead-agm"
cells = 6
capacity = "7 Ah"
[[load]]
name = "lamp"
current = "0.2 A"
[[rail]]
name = "five"
fed_by = "switch"
type = "buck"
voltage = "5 V"
current_limit = "1 A"
[usb]
[switch]
[amplifier]
amplifier_class = "D"
topology = "bridge"
supply_min = "8 V"
supply_max = "24 V"
load_min = "4 Ω"
[driver]
impedance = "8 Ω"
"""


def _tree(text: str) -> tuple[Node, ...]:
    return power_tree(parse_build(text))


def test_tree_has_each_part_after_what_feeds_it():
    nodes = _tree(BUILD)
    assert {node.part.name for node in nodes} == {"lamp", "five", "usb", "switch", "amplifier"}
    for place, node in enumerate(nodes):
        assert node.parent < place
        feeder = "battery" if node.parent == -1 else nodes[node.parent].part.name
        assert node.part.fed_by == feeder
        assert type(node.part).__name__.lower() == node.kind
    assert nodes[0].kind == "switch"


def test_tree_of_a_build_changed_by_hand_says_what_hangs_loose():
    build = parse_build(BUILD)
    lamp = build.load[0].model_copy(update={"fed_by": "nowhere"})
    loose = build.model_copy(update={"load": (lamp,)})
    with pytest.raises(ValueError, match="nothing leads from battery to lamp"):
        power_tree(loose)
