"""Reading a text with clear errors, and writing one whole or not at all."""

from __future__ import annotations

import errno
import os
import random
import signal
import stat
import subprocess
import sys
import time
import tracemalloc
from pathlib import Path

import pytest

from boomwright.build.files import LARGEST, parse_toml, read_toml, write_whole
from boomwright.errors import BuildFileError, Problem, WriteError

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))


def _refused(text: str) -> Problem:
    with pytest.raises(BuildFileError) as caught:
        parse_toml(text, file="stall.toml")
    (problem,) = caught.value.problems
    assert problem.file == "stall.toml"
    assert "\n" not in str(problem)
    assert len(str(problem)) < 500
    return problem


def _unreadable(path: Path) -> Problem:
    with pytest.raises(BuildFileError) as caught:
        read_toml(path)
    (problem,) = caught.value.problems
    assert path.name in problem.file
    return problem


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_examples_are_read_with_lines(file):
    read = read_toml(file)
    assert read.file == file.name
    rows = read.text.split("\n")
    assert rows[read.lines[("name",)] - 1].startswith("name")
    assert rows[read.lines[("battery",)] - 1] == "[battery]"


def test_missing_file(tmp_path):
    problem = _unreadable(tmp_path / "none.toml")
    assert problem.says == "there is no such file"
    assert "boomwright new none.toml" in problem.hint


def test_folder(tmp_path):
    assert "folder" in _unreadable(tmp_path).says


def test_path_below_a_file(tmp_path):
    (tmp_path / "plain").write_text("x")
    assert "cannot be read: Not a directory" in _unreadable(tmp_path / "plain" / "b.toml").says


def test_path_that_cannot_be_a_path():
    with pytest.raises(BuildFileError, match=r"a\\x00b: cannot be read"):
        read_toml("a\0b")


def test_huge_file_is_refused_without_reading_it_all(tmp_path):
    file = tmp_path / "huge.toml"
    with file.open("wb") as stream:
        stream.truncate(50_000_000)
    tracemalloc.start()
    try:
        problem = _unreadable(file)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert "too large" in problem.says
    assert peak < 4 * LARGEST


def test_largest_file_is_read(tmp_path):
    file = tmp_path / "long.toml"
    line = "name = 'x'\n"
    file.write_text(line + "#" * (LARGEST - len(line)))
    assert read_toml(file).values == {"name": "x"}
    file.write_text(line + "#" * (LARGEST - len(line) + 1))
    assert "too large" in _unreadable(file).says


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_not_utf8_names_line_and_byte(tmp_path, mark):
    file = tmp_path / "latin.toml"
    file.write_bytes(mark + "name = 'x'\n\n# 5 µF\n".encode("latin-1"))
    problem = _unreadable(file)
    assert problem.line == 3
    assert problem.got == "byte 0xb5"
    assert "UTF-8" in problem.hint


def test_other_encoding_is_named(tmp_path):
    file = tmp_path / "wide.toml"
    file.write_bytes("name = 'x'".encode("utf-16"))
    assert _unreadable(file).line == 1


def test_byte_order_mark_and_windows_line_ends(tmp_path):
    file = tmp_path / "windows.toml"
    file.write_bytes(b"\xef\xbb\xbfname = 'x'\r\n\r\n[want]\r\nhours = '5 h'\r\n")
    read = read_toml(file)
    assert read.values == {"name": "x", "want": {"hours": "5 h"}}
    assert read.lines[("want", "hours")] == 4


@pytest.mark.parametrize("code", ["\0", "\x1b", "\x7f", "\r"])
def test_control_characters(code):
    problem = _refused(f"name = 'x'\nstory = 'a{code}b'\n")
    assert problem.line == 2
    assert code not in str(problem)


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 10_000,
        "a = " + "{b = " * 10_000,
        "a = " + "[" * 10_000 + "]" * 10_000,
        "a = " + "[" * 300 + "]" * 300,
        "a = [" + "{x.y = [" * 90 + "]}" * 90 + "]",
    ],
    ids=["arrays", "inline tables", "closed arrays", "300 arrays", "mixed"],
)
def test_deep_nesting(text):
    assert _refused(text).says == "brackets nested too deeply"


@pytest.mark.parametrize(
    "text",
    [
        "x = 1\n" + "a" + ".a" * 100_000 + " = 1",
        "x = 1\n[" + "a . " * 10_000 + "a]",
        "x = 1\n[[" + "'a'." * 10_000 + "a]]",
        "x = 1\nb = {" + '"a".' * 10_000 + "a = 1}",
    ],
    ids=["key", "table", "quoted", "inline"],
)
def test_key_of_many_parts_takes_no_time(text):
    start = time.perf_counter()
    problem = _refused(text)
    assert time.perf_counter() - start < 2.0
    assert problem.says == "a key of too many parts"
    assert problem.line == 2


def test_dots_elsewhere_are_no_key():
    text = f"a = '''{'x.' * 300}x'''\n# {'y.' * 300}y\nb = [{'1.5, ' * 300}2.5]\nc = '{'.' * 99}'"
    assert parse_toml(text, file="f").values["b"][-1] == 2.5


def test_long_word_takes_no_time():
    start = time.perf_counter()
    assert "not TOML" in _refused("a" * 500_000).says
    assert time.perf_counter() - start < 2.0


@pytest.mark.parametrize(
    ("number", "line"),
    [("9" * 5000, None), ("0x" + "f" * 6000, 2), ("9223372036854775808", 2), ("-" + "9" * 20, 2)],
)
def test_whole_number_beyond_what_toml_allows(number, line):
    problem = _refused(f"a = 1\nb = [1, {number}]\n")
    assert problem.says.startswith("a whole number")
    assert problem.line == line


def test_largest_whole_number():
    values = parse_toml("a = 9223372036854775807\nb = -9223372036854775808", file="f").values
    assert values == {"a": 2**63 - 1, "b": -(2**63)}


@pytest.mark.parametrize(
    ("text", "line", "got"),
    [
        ("name = 'x'\nname = 'y'\n# end\n", 2, "name = 'y'"),
        ("[a]\n\n[a]\n# end\n", 3, "[a]"),
        ("a = 1\nb = nonsense\n", 2, "b = nonsense"),
        ("a = 1\n\nno equals sign\n", 3, "no equals sign"),
        ("a = 'open\n# end\n", 1, "a = 'open"),
        ("x = 1\ny = 5 V\n", 2, "y = 5 V"),
    ],
)
def test_mistake_in_toml_names_the_line(text, line, got):
    problem = _refused(text)
    assert problem.says.startswith("not TOML: ")
    assert "(at " not in problem.says
    assert problem.line == line
    assert got[:-1] in problem.got
    assert "key =" in problem.hint


def test_end_in_the_middle():
    problem = _refused('x = 1\na = """open\n\nb = 2\n')
    assert "at the end of the file" in problem.says
    assert (problem.line, problem.got) == (2, repr('a = """open'))
    problem = _refused("x = 1\nx = 2")
    assert "at the end of the file" in problem.says
    assert problem.line == 2


# --- writing ------------------------------------------------------------------------------------


def _leftovers(folder: Path) -> list[str]:
    return [name for name in os.listdir(folder) if name.endswith(".part")]


def test_text_is_written_as_it_is(tmp_path):
    file = tmp_path / "stall.toml"
    text = "name = 'Ω µ €'\r\nline = 2\n\nlast"
    write_whole(file, text)
    assert file.read_bytes() == text.encode()
    write_whole(file, "")
    assert file.read_bytes() == b""
    assert os.listdir(tmp_path) == ["stall.toml"]


def test_mode_is_kept_and_a_new_file_follows_the_mask(tmp_path):
    file = tmp_path / "a.toml"
    old = os.umask(0o027)
    try:
        write_whole(file, "new")
        assert stat.S_IMODE(file.stat().st_mode) == 0o640
        file.chmod(0o604)
        write_whole(file, "newer")
    finally:
        os.umask(old)
    assert stat.S_IMODE(file.stat().st_mode) == 0o604
    assert file.read_text() == "newer"


def test_link_stays_and_its_target_is_replaced(tmp_path):
    (tmp_path / "real").mkdir()
    target = tmp_path / "real" / "stall.toml"
    target.write_text("old")
    link = tmp_path / "link.toml"
    link.symlink_to(target)
    write_whole(link, "new")
    assert link.is_symlink()
    assert target.read_text() == "new"
    assert os.listdir(tmp_path / "real") == ["stall.toml"]


def test_links_in_a_ring(tmp_path):
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    with pytest.raises(WriteError, match="cannot be written"):
        write_whole(tmp_path / "a", "x")


def test_existing_file_is_not_replaced_unless_allowed(tmp_path):
    file = tmp_path / "a.toml"
    write_whole(file, "first", replace=False)
    with pytest.raises(WriteError, match=r"a\.toml: a file of that name exists"):
        write_whole(file, "second", replace=False)
    assert file.read_text() == "first"
    assert os.listdir(tmp_path) == ["a.toml"]


def test_disk_without_hard_links_still_takes_a_new_file(tmp_path, monkeypatch):
    def refuse(*args, **kwargs):
        raise PermissionError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "link", refuse)
    file = tmp_path / "a.toml"
    write_whole(file, "first", replace=False)
    with pytest.raises(WriteError, match=r"a\.toml: a file of that name exists"):
        write_whole(file, "second", replace=False)
    assert file.read_text() == "first"
    assert os.listdir(tmp_path) == ["a.toml"]


def test_folder_in_the_way_and_folder_missing(tmp_path):
    (tmp_path / "folder").mkdir()
    with pytest.raises(WriteError, match="folder: cannot be written"):
        write_whole(tmp_path / "folder", "x")
    with pytest.raises(WriteError, match="No such file or directory"):
        write_whole(tmp_path / "none" / "a.toml", "x")
    (tmp_path / "plain").write_text("kept")
    with pytest.raises(WriteError, match="Not a directory"):
        write_whole(tmp_path / "plain" / "a.toml", "x")
    assert (tmp_path / "plain").read_text() == "kept"
    assert sorted(os.listdir(tmp_path)) == ["folder", "plain"]


def test_folder_that_is_missing_is_no_old_file(tmp_path):
    with pytest.raises(WriteError, match=r"No such file or directory; nothing was written"):
        write_whole(tmp_path / "gone" / "a.toml", "x")


def test_text_that_is_no_unicode_keeps_the_old(tmp_path):
    file = tmp_path / "a.toml"
    file.write_text("old")
    with pytest.raises(WriteError, match=r"a\.toml: cannot be written.*untouched"):
        write_whole(file, "half a pair: \ud800")
    assert file.read_text() == "old"
    assert not _leftovers(tmp_path)


@pytest.mark.parametrize("step", ["fsync", "replace", "chmod"])
def test_full_disk_keeps_the_old(tmp_path, monkeypatch, step):
    file = tmp_path / "a.toml"
    file.write_text("old")

    def full(*args):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, step, full)
    with pytest.raises(WriteError, match=r"a\.toml: cannot be written: No space left on device"):
        write_whole(file, "new" * 10_000)
    monkeypatch.undo()
    assert file.read_text() == "old"
    assert os.listdir(tmp_path) == ["a.toml"]


def test_device_that_is_full_keeps_the_old(tmp_path, monkeypatch):
    # The kernel's own full device gives ENOSPC at the write itself, not at a stand-in.
    file = tmp_path / "a.toml"
    file.write_text("old")
    part = tmp_path / ".a.toml-x.part"

    def on_full_device(*args, **kwargs):
        part.write_text("")
        return os.open("/dev/full", os.O_WRONLY), str(part)

    monkeypatch.setattr("boomwright.build.files.tempfile.mkstemp", on_full_device)
    with pytest.raises(WriteError, match="No space left on device"):
        write_whole(file, "new" * 10_000)
    assert file.read_text() == "old"
    assert os.listdir(tmp_path) == ["a.toml"]


WRITER = """
import sys
from boomwright.build.files import write_whole
path, letters = sys.argv[1:]
texts = [letter * 400_000 + "\\n" for letter in letters]
print("ready", flush=True)
while True:
    for text in texts:
        write_whole(path, text)
"""


def test_killed_writer_leaves_one_text_whole(tmp_path):
    chance = random.Random(20240)
    whole = {letter * 400_000 + "\n" for letter in "ab"}
    seen = set()
    kills = 0
    environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
    while kills < 60:
        # Several at once: most of the time goes into starting them. Each has its own file.
        files = [tmp_path / f"{number}.toml" for number in range(4)]
        for one in files:
            if not one.exists():
                one.write_text("a" * 400_000 + "\n")
        writers = [
            subprocess.Popen(
                [sys.executable, "-c", WRITER, str(one), "ab"],
                stdout=subprocess.PIPE,
                env=environment,
            )
            for one in files
        ]
        for writer in writers:
            assert writer.stdout is not None
            assert writer.stdout.readline() == b"ready\n"
        for writer, one in zip(writers, files, strict=True):
            time.sleep(chance.uniform(0.0, 0.02))
            writer.send_signal(signal.SIGKILL)
            assert writer.wait() == -signal.SIGKILL
            assert writer.stdout is not None
            writer.stdout.close()
            kills += 1
            text = one.read_text()
            assert text in whole
            seen.add(text)
    assert seen == whole
    others = set(os.listdir(tmp_path)) - {one.name for one in files}
    assert all(name.startswith(".") and name.endswith(".part") for name in others)
