"""Saves cut off by the power: whatever the moment, the file holds the old text or the new one."""

from __future__ import annotations

import os
import random
import signal
import time
import warnings
from pathlib import Path

from boomwright.build.files import write_whole
from boomwright.build.history import step_back, write_kept

KILLS = 250
"""For each way of saving: 500 in all."""

TEXTS = tuple(f'name = "{letter * 30_000}"\n' for letter in "ab")


def _killed_while(work, delay: float) -> None:
    """Run some work in a process of its own and kill that without warning."""
    started, ready = os.pipe()
    with warnings.catch_warnings():
        # The child only writes files; what other threads of this process hold is nothing to it.
        warnings.simplefilter("ignore", DeprecationWarning)
        child = os.fork()
    if child == 0:
        os.write(ready, b"x")
        try:
            work()
        finally:
            os._exit(1)
    os.close(ready)
    os.read(started, 1)
    os.close(started)
    time.sleep(delay)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), "the writer ended by itself"


def _left_over(folder: Path) -> set[str]:
    return {name for name in os.listdir(folder) if not name.startswith(".")}


def test_killed_save_leaves_old_or_new(tmp_path):
    file, chance, seen = tmp_path / "box.toml", random.Random(31), set()
    write_whole(file, TEXTS[0])

    def save() -> None:
        while True:
            for text in reversed(TEXTS):
                write_whole(file, text)

    for _ in range(KILLS):
        _killed_while(save, chance.uniform(0.0, 0.006))
        text = file.read_text(encoding="utf-8")
        assert text in TEXTS
        seen.add(text)
    assert seen == set(TEXTS)
    assert _left_over(tmp_path) == {"box.toml"}


def test_killed_save_with_history_leaves_old_or_new_and_a_way_back(tmp_path):
    chance, seen = random.Random(32), set()
    for kill in range(KILLS):
        file = tmp_path / f"{kill % 5}.toml"
        if kill < 5:
            write_whole(file, TEXTS[0])

        def save(file: Path = file) -> None:
            while True:
                for text in reversed(TEXTS):
                    write_kept(file, text)

        _killed_while(save, chance.uniform(0.0, 0.01))
        text = file.read_text(encoding="utf-8")
        assert text in TEXTS
        seen.add(text)
        # The next change still finds its way back to what the kill left.
        write_kept(file, 'name = "after"\n')
        assert step_back(file).after == text
        assert file.read_text(encoding="utf-8") == text
    assert seen == set(TEXTS)
