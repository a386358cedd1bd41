"""Mending from the command line: what it prints, writes, refuses and takes back."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from boomwright.cli import show
from boomwright.cli.check import check_file
from boomwright.cli.mend import mend_file, undo_file
from boomwright.errors import InputError, WriteError

ROOT = Path(__file__).resolve().parent.parent.parent
FIRST = ROOT / "examples" / "first-attempt.toml"


@pytest.fixture(autouse=True)
def plain(monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("NO_COLOR", "1")


@pytest.fixture
def box(tmp_path):
    return Path(shutil.copy(FIRST, tmp_path / "box.toml"))


def narrow(text):
    return max(len(line) for line in text.splitlines()) <= 80


def test_one_finding_mended(box, capsys):
    old = box.read_text()
    assert mend_file(box, ["fuse-missing"], json=False, parts=None) == 1
    words = capsys.readouterr().out
    assert narrow(words)
    line = box.read_text().split("\n").index('rating = "7.5 A"') + 1
    assert re.search(rf"line {line}\s+fuse\.rating\s+new: 7\.5 A", words)
    assert re.search(r"load\.fed_by\s+battery → fuse", words)
    assert "brings ▲ mind  branch-fuse: Usb hangs behind fuse" in words
    assert "how long  ■ stop" in words
    assert "which must stop" not in words
    assert re.findall("#.*", old) == re.findall("#.*", box.read_text())
    undo_file(box, redo=False, json=False)
    assert box.read_text() == old
    words = capsys.readouterr().out
    assert narrow(words)
    assert re.search(r"fuse\.rating\s+7\.5 A taken out", words)
    undo_file(box, redo=True, json=True)
    values = json.loads(capsys.readouterr().out)
    assert (values["back"], values["forward"]) == (1, 0)
    assert {"key": "load.fed_by", "before": "battery", "after": "fuse"}.items() <= next(
        change for change in values["changes"] if change["key"] == "load.fed_by"
    ).items()
    assert 'rating = "7.5 A"' in box.read_text()


def test_several_findings_and_one_that_went_along(box, capsys):
    asked = ["charger-voltage", "charger-no-limit", "fuse-missing", "charger-bypasses-fuse"]
    assert mend_file(box, asked, json=True, parts=None) == 1
    values = json.loads(capsys.readouterr().out)
    assert [item["id"] for item in values["mended"]] == [asked[0], asked[2], asked[3]]
    assert all(item["gone"] for item in values["mended"])
    ids = {finding["id"] for finding in values["verdict"]["findings"]}
    assert not ids & set(asked)
    assert values["changes"]
    assert all(change["line"] for change in values["changes"])


def test_all_safe_lists_what_is_left_and_why(box, capsys):
    assert mend_file(box, ["all-safe"], json=False, parts=None) == 0
    words = capsys.readouterr().out
    assert narrow(words)
    left = words.split("Left as they are")[1]
    for id in ("claim-hollow", "battery-second-hand", "off-by-button", "usb-eats-hours"):
        assert re.search(rf"▲ mind\s+{id}\s+\w+\s+no edit mends it", left)
    written = box.read_text()
    assert mend_file(box, ["all-safe"], json=False, parts=None) == 0
    assert "Nothing was mended" in capsys.readouterr().out
    assert box.read_text() == written


def two_cutoffs(box):
    text = FIRST.read_text().replace("[cutoff]", '[[cutoff]]\nname = "one"')
    second = '[[cutoff]]\nname = "two"\npart = "relay-one-threshold"\noff = "9 V"\non = "9 V"\n'
    box.write_text(text + "\n" + second)


def test_finding_at_several_parts_is_asked_for_by_its_part(box, capsys):
    two_cutoffs(box)
    with pytest.raises(InputError, match="cutoff-chatters@one or cutoff-chatters@two"):
        mend_file(box, ["cutoff-chatters"], json=True, parts=None)
    mend_file(box, ["cutoff-chatters@two"], json=True, parts=None)
    values = json.loads(capsys.readouterr().out)
    assert [change["key"] for change in values["changes"]] == ["cutoff.2.latching"]
    with pytest.raises(InputError, match="cutoff-chatters is found at one"):
        mend_file(box, ["cutoff-chatters@three"], json=True, parts=None)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["fuse-mising"], "read 'fuse-mising'.*Did you mean 'fuse-missing'"),
        (["fuse-far"], "fuse-far is no finding of this build"),
        (["claim-hollow"], "no edit of the file mends claim-hollow; by hand: Count on"),
        (["fuse-missing", "claim-hollow"], "no edit of the file mends claim-hollow"),
        (["all-safe", "nonsense"], "no finding has that name"),
    ],
)
def test_what_cannot_be_mended_is_said_and_nothing_written(box, asked, said):
    old = box.read_bytes()
    with pytest.raises(InputError, match=said) as raised:
        mend_file(box, asked, json=False, parts=None)
    assert raised.value.exit_code == 2
    assert box.read_bytes() == old
    assert not (box.parent / ".boomwright").exists()


def test_new_stop_is_said_clearly(box, capsys, monkeypatch):
    from boomwright.advice.effects import Effect, effect_between
    from boomwright.cli import mend

    def with_stop(before, after):
        effect = effect_between(before, after)
        stop = next(item for item in after.findings if item.level == "stop")
        return Effect(effect.answers, effect.goes, (*effect.comes, stop))

    monkeypatch.setattr(mend, "effect_between", with_stop)
    assert mend_file(box, ["gas"], json=False, parts=None) == 1
    words = " ".join(capsys.readouterr().out.split())
    assert "This mends gas but brings fuse-missing, which must stop: No fuse" in words


def test_nothing_is_written_where_the_history_cannot_be(box):
    (box.parent / ".boomwright").write_text("in the way")
    old = box.read_bytes()
    with pytest.raises(WriteError, match="cannot be made"):
        mend_file(box, ["gas"], json=True, parts=None)
    assert box.read_bytes() == old


def test_file_changed_meanwhile_is_left_alone(box, monkeypatch):
    from boomwright.cli import mend

    texts = iter([box.read_text(), "# somebody else\n"])
    monkeypatch.setattr(mend, "file_text", lambda _: next(texts))
    old = box.read_bytes()
    with pytest.raises(InputError, match="changed meanwhile"):
        mend_file(box, ["gas"], json=True, parts=None)
    assert box.read_bytes() == old


def test_own_parts_are_used_for_mending_too(box, capsys):
    (box.parent / "mine.toml").write_text(
        '[battery.shed]\nchemistry = "lead-agm"\ncells = 6\ncapacity = "7.2 Ah"\n'
    )
    text = box.read_text().replace('part = "agm-12v-7ah"', 'part = "shed"')
    box.write_text('parts = "mine.toml"\n' + text)
    mend_file(box, ["gas"], json=True, parts=None)
    values = json.loads(capsys.readouterr().out)
    assert [change["key"] for change in values["changes"]] == ["battery.vented_bay"]


def worked_out_once(likely_verdict):
    known = {}

    def verdict(text, *, drawer, file):
        if text not in known:
            known[text] = likely_verdict(text, drawer=drawer, file=file)
        return known[text]

    return verdict


def test_check_says_what_mending_would_change(capsys, monkeypatch):
    from boomwright.advice import effects

    # Words and data come from the same runs, which are worked out once.
    monkeypatch.setattr(effects, "likely_verdict", worked_out_once(effects.likely_verdict))
    options = {"full": False, "brief": False, "parts": None}
    assert check_file(FIRST, json=False, effects=True, **options) == 1
    words = capsys.readouterr().out
    assert narrow(words)
    flat = " ".join(words.split())
    wish = "mended by --fix level-not-reached (ask for 69 dB(A) at 4 m): how long 3 h → "
    assert wish in flat
    assert "--fix charger-voltage (use lead-12v-0a8): also mends charger-no-limit, " in flat
    assert "how hot over 200 °C → 69 °C" in flat
    assert "brings branch-fuse (mind)" in flat
    check_file(FIRST, json=True, effects=True, **options)
    values = json.loads(capsys.readouterr().out)
    for finding in values["findings"]:
        assert ("effect" in finding) == ("fix" in finding)
    effect = next(item for item in values["findings"] if item["id"] == "fuse-missing")["effect"]
    assert set(effect["answers"]) == {"loud", "long", "hot", "safe"}
    assert effect["answers"]["long"]["unit"] == "s"
    assert {"id": "fuse-missing", "where": "battery"} in effect["goes"]
    assert all(set(item) == {"id", "where", "level", "says"} for item in effect["comes"])


def test_effects_can_be_left_out(capsys):
    options = {"full": False, "brief": False, "parts": None}
    check_file(FIRST, json=False, effects=False, **options)
    assert "mended by" not in capsys.readouterr().out
    check_file(FIRST, json=True, effects=False, **options)
    values = json.loads(capsys.readouterr().out)
    assert not [finding for finding in values["findings"] if "effect" in finding]


def test_bar_shows_only_on_a_terminal_and_after_a_second(monkeypatch, capsys):
    shown = []

    class Bar:
        def __init__(self, *_, console, transient):
            assert transient
            shown.append(console.stderr)

        def add_task(self, says, total):
            shown.append((says, total))
            return 3

        def update(self, task, description, completed):
            shown.append((task, description, completed))

        def start(self):
            shown.append("start")

        def stop(self):
            shown.append("stop")

    monkeypatch.setattr("rich.progress.Progress", Bar)
    clock = iter([0.0, 0.9, 1.2, 1.3])
    monkeypatch.setattr(time, "monotonic", lambda: next(clock))
    with show.steps_shown(2) as steps:
        steps.step("one")
        steps.step("two")
    assert shown == []
    monkeypatch.setenv("FORCE_COLOR", "1")
    clock = iter([0.0, 0.9, 1.2])
    with show.steps_shown(2) as steps:
        steps.step("one")
        steps.step("two")
    assert shown == [True, ("two", 2), "start", (3, "two", 1), "stop"]


def test_exit_codes_and_words_from_outside(box):
    def run(*words):
        return subprocess.run(
            [sys.executable, "-c", "from boomwright.cli import main; main()", *map(str, words)],
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
            env={**os.environ, "COLUMNS": "80", "NO_COLOR": "1"},
        )

    wrong = run("check", box, "--fix", "fuse-mising")
    assert (wrong.returncode, wrong.stdout) == (2, "")
    assert "Did you mean 'fuse-missing'" in wrong.stderr
    right = run("check", box, "--fix", "gas")
    assert (right.returncode, right.stderr) == (1, "")
    assert "battery.vented_bay" in right.stdout
    assert run("undo", box).returncode == 0
    empty = run("undo", box)
    assert empty.returncode == 2
    assert "there is no mending to take back" in empty.stderr
