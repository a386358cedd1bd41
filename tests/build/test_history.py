"""History of a build file: nothing is lost, whatever the order and whenever it is killed."""

from __future__ import annotations

import hashlib
import os
import random
import signal
import time

import pytest

from boomwright.build.history import (
    file_text,
    history_folder,
    step_back,
    step_forward,
    write_kept,
)
from boomwright.errors import InputError, WriteError


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "box.toml"
    path.write_text("one\n")
    return path


def kept(path):
    return [file_text(name) for name in sorted(history_folder(path).glob("*.toml"))]


def test_back_and_forward(file):
    write_kept(file, "two\n")
    write_kept(file, "three\n")
    assert kept(file) == ["one\n", "two\n", "three\n"]
    step = step_back(file)
    assert (step.before, step.after, step.back, step.forward) == ("three\n", "two\n", 1, 1)
    assert step_back(file).after == "one\n"
    assert file.read_text() == "one\n"
    assert step_forward(file).after == "two\n"
    assert step_forward(file).after == "three\n"
    assert kept(file) == ["one\n", "two\n", "three\n"]


@pytest.mark.parametrize("step", [step_back, step_forward])
def test_nothing_to_take_back(file, step):
    with pytest.raises(InputError, match=r"box\.toml: (nothing was taken back|there is no mend)"):
        step(file)
    assert file.read_text() == "one\n"
    assert not history_folder(file).exists()


def test_ends_of_the_line(file):
    write_kept(file, "two\n")
    with pytest.raises(InputError, match="nothing was taken back"):
        step_forward(file)
    step_back(file)
    with pytest.raises(InputError, match="no mending to take back"):
        step_back(file)
    assert file.read_text() == "one\n"


def test_change_after_going_back_drops_nothing(file):
    write_kept(file, "two\n")
    step_back(file)
    write_kept(file, "other\n")
    assert kept(file) == ["one\n", "two\n", "one\n", "other\n"]
    assert [step_back(file).after for _ in range(3)] == ["one\n", "two\n", "one\n"]


def test_edit_by_hand_is_kept_and_taken_back_first(file):
    write_kept(file, "two\n")
    file.write_text("two, by hand\n")
    with pytest.raises(InputError, match="nothing was taken back"):
        step_forward(file)
    assert step_back(file).after == "two\n"
    assert step_back(file).after == "one\n"
    assert step_forward(file).after == "two\n"
    assert step_forward(file).after == "two, by hand\n"


def test_edit_by_hand_after_going_back(file):
    write_kept(file, "two\n")
    step_back(file)
    file.write_text("one, by hand\n")
    write_kept(file, "three\n")
    assert kept(file) == ["one\n", "two\n", "one\n", "one, by hand\n", "three\n"]
    assert step_back(file).after == "one, by hand\n"


@pytest.mark.parametrize("mark", ["", "9999\n", "one", None])
def test_lost_mark_is_found_again(file, mark):
    write_kept(file, "two\n")
    write_kept(file, "three\n")
    step_back(file)
    at = history_folder(file) / "at"
    at.unlink() if mark is None else at.write_text(mark)
    assert step_back(file).after == "one\n"


def test_line_ends_are_kept(file):
    file.write_bytes(b"one\r\n")
    write_kept(file, "two\r\n")
    step_back(file)
    assert file.read_bytes() == b"one\r\n"


def test_history_stands_beside_the_file_a_link_leads_to(file, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    link = tmp_path / "elsewhere" / "link.toml"
    link.symlink_to(file)
    write_kept(link, "two\n")
    assert link.is_symlink()
    assert history_folder(link) == tmp_path / ".boomwright" / "box.toml"
    assert step_back(file).after == "one\n"


def test_history_that_cannot_be_made_leaves_the_file(file, tmp_path):
    (tmp_path / ".boomwright").write_text("in the way")
    with pytest.raises(WriteError, match="cannot be made"):
        write_kept(file, "two\n")
    assert file.read_text() == "one\n"


def test_missing_file_is_said(tmp_path):
    with pytest.raises(InputError, match=r"gone\.toml: cannot be read"):
        write_kept(tmp_path / "gone.toml", "x")


def whole(body):
    """A text that shows by itself whether it is whole."""
    return f"{hashlib.sha256(body.encode()).hexdigest()}\n{body}"


def is_whole(text):
    head, _, body = text.partition("\n")
    return head == hashlib.sha256(body.encode()).hexdigest()


def work_for_ever(file, seed):
    """What the child does until it is killed: changes and steps in any order."""
    chance = random.Random(seed)
    while True:
        act = chance.choice([step_back, step_forward, None, None])
        try:
            if act is None:
                write_kept(file, whole(f"{seed}-{chance.random()}-" + "x" * chance.randrange(9000)))
            else:
                act(file)
        except InputError:
            continue


def test_killed_at_any_moment(file):
    file.write_text(whole("first"))
    chance, seen, busy = random.Random(7), {}, 0
    for kill in range(70):
        child = os.fork()
        if child == 0:
            try:
                work_for_ever(file, kill)
            finally:
                os._exit(1)
        time.sleep(chance.uniform(0.002, 0.06))
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        assert os.WTERMSIG(status) == signal.SIGKILL
        assert is_whole(file.read_text())
        now = {path.name: path.read_text() for path in history_folder(file).glob("*.toml")}
        assert all(is_whole(text) for text in now.values())
        assert {name: now.get(name) for name in seen} == seen, "a kept text was changed or lost"
        assert sorted(now) == [f"{number + 1:04}.toml" for number in range(len(now))]
        busy += len(now) > len(seen)
        seen = now
        held = file.read_text()
        write_kept(file, whole(f"after kill {kill}"))
        assert step_back(file).after == held
        assert step_forward(file).after == whole(f"after kill {kill}")
        seen = {path.name: path.read_text() for path in history_folder(file).glob("*.toml")}
    assert busy > 35, "the kills came before any work"
