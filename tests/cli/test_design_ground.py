"""``boomwright design ground`` as a person meets it: what is joined, what whines, what to move."""

import csv
import json
from pathlib import Path
from xml.etree import ElementTree

import pytest
from tests.cli.test_design_blocks import boomwright

from boomwright.outcome.data import Range
from boomwright.outcome.ground_data import Edge, GroundPlan
from boomwright.paper.ground_tree import ground_tree_svg
from boomwright.paper.look import DARK, LIGHT

ROOT = Path(__file__).resolve().parent.parent.parent
EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))
FIRST = ROOT / "examples" / "first-attempt.toml"


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_page_and_files_of_an_example(file, tmp_path):
    done = boomwright("ground", file, "-o", tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert "What is joined where" in done.stdout
    values = json.loads((tmp_path / "ground.json").read_text())
    rows = list(csv.DictReader((tmp_path / "ground.csv").read_text().splitlines()))
    assert [row["lead"] for row in rows] == [lead["name"] for lead in values["leads"]]
    said = list(ElementTree.parse(tmp_path / "ground.svg").getroot().itertext())
    for lead in values["leads"]:
        assert lead["from"] in said
    printed = json.loads(boomwright("ground", file, "--json").stdout)
    assert printed == values


def test_first_attempt_is_told_its_whine_and_its_best_moves():
    done = boomwright("ground", FIRST)
    text = " ".join(done.stdout.split())
    assert "16 mV" in text
    assert "84 dB (75 to 86)" in text
    assert text.index("Caution: Disconnect") < text.index("1. ")
    values = json.loads(boomwright("ground", FIRST, "--json").stdout)
    after = [move["after"]["likely"] for move in values["moves"]]
    assert after == sorted(after)
    assert len(after) >= 6
    assert all(move["before"]["likely"] > move["after"]["likely"] for move in values["moves"])
    assert 'in the file: receiver: negative = "own"' in done.stdout
    assert len(values["rings"]) == 1


def test_quiet_build_has_nothing_to_move():
    done = boomwright("ground", ROOT / "examples" / "allotment-day.toml")
    assert "What to move" not in done.stdout
    assert "No ring" in done.stdout
    assert "not heard" in done.stdout


def lead(start, end, *, kind="lead", name=""):
    size = (None, None) if kind == "screen" else (1.5e-6, 0.3)
    return Edge(name or start, kind, start, end, *size, Range(0.0034, 0.003, 0.004), (start,))


def test_drawing_bears_any_name_and_leads_that_close_on_themselves():
    nodes = ("battery", 'a "<b>" & \x07c', "x" * 60)
    edges = (
        lead(nodes[1], "battery"),
        lead(nodes[2], nodes[1]),
        lead(nodes[2], "battery", kind="join", name="second way"),
        lead("lost", "lost too"),
        lead("lost too", "lost"),
    )
    plan = GroundPlan((*nodes, "lost", "lost too"), edges, (), ())
    for look in (LIGHT, DARK):
        root = ElementTree.fromstring(ground_tree_svg(plan, look=look))
        said = list(root.itertext())
        assert 'a "<b>" & c' in said
        assert "join" in said
        assert sum(text.startswith("lost") for text in said) >= 2


def test_ring_is_marked_by_dash_and_colour():
    from boomwright.outcome.ground_data import Loop

    edges = (
        lead("radio", "battery"),
        lead("amplifier", "battery"),
        lead("lamp", "battery"),
        lead("radio", "amplifier", kind="screen", name="screen"),
    )
    ring = Loop(("radio", "amplifier", "screen"), 0.07)
    plan = GroundPlan(("battery", "radio", "amplifier", "lamp"), edges, (ring,), ())
    root = ElementTree.fromstring(ground_tree_svg(plan))
    paths = [item.attrib for item in root if item.tag.endswith("path")]
    dashed = [path for path in paths if "stroke-dasharray" in path]
    assert [len(paths), len(dashed)] == [4, 3]
    assert {path["stroke"] for path in dashed} == {LIGHT.stop}
    assert any("Ring of 70 mΩ" in text for text in root.itertext())
    inside = [float(number) for path in paths for number in path["d"].replace("M", " ").replace(
        "H", " ").replace("V", " ").split()]  # fmt: skip
    width, height = float(root.attrib["width"]), float(root.attrib["height"])
    assert min(inside) > 0.0
    assert max(inside) < max(width, height)
