"""`boomwright programme` as a person meets it: words, data, files, refusals."""

import json
import re
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
from tests.bench.music.sounds import noise, write
from tests.cli.test_commands import ROOT, boomwright

from boomwright.bench.music.analysis import measure
from boomwright.build.read import read_build

STALL = ROOT / "examples" / "market-stall.toml"


@pytest.fixture
def folder(tmp_path):
    """Two pieces of made-up music in a folder."""
    (tmp_path / "set").mkdir()
    swell = 1.0 + 0.9 * np.sin(np.arange(16_000 * 12) / 16_000)
    for seed, name in enumerate(("first dance.wav", "last waltz.flac")):
        samples = 0.6 * swell * noise(12.0, rate=16_000, seed=seed)
        write(tmp_path / "set" / name, samples, rate=16_000)
    return tmp_path / "set"


@pytest.fixture
def stall(tmp_path):
    """A copy of the market stall that may be written to."""
    copy = tmp_path / "stall.toml"
    copy.write_bytes(STALL.read_bytes())
    return copy


def test_words(folder):
    done = boomwright("programme", folder, "--build", STALL)
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert max(map(len, lines)) <= 80
    assert lines[0] == "set"
    joined = " ".join(done.stdout.split())
    for words in (
        *("first dance.wav", "last waltz.flac", "all together", "LUFS", "31.5 Hz"),
        *("nothing above 8 kHz", "On Market stall", "clean limit", "10 dB over that"),
    ):
        assert words in joined
    assert "nan" not in done.stdout
    assert read_build(STALL).music is None


def test_data(folder):
    done = boomwright("programme", folder, "--json", "--build", STALL)
    values = json.loads(done.stdout)
    assert set(values) == {"title", "files", "whole", "remarks", "build", "written"}
    assert [Path(file["file"]).name for file in values["files"]] == [
        "first dance.wav",
        "last waltz.flac",
    ]
    whole = values["whole"]
    assert whole["duration"] == pytest.approx(24.0, rel=1e-9)
    assert len(whole["levels"]) == len(whole["time_above"]) > 40
    assert len(whole["bands"]) == len(whole["spectrum_db"])
    assert whole["crest_factor_db"] == pytest.approx(20.0 * np.log10(whole["levels"][-1]), abs=1e-9)
    assert len(values["build"]["volumes"]) == 5
    for volume in values["build"]["volumes"]:
        share = volume["outputs"][0]["clipped_at_start"]["likely"]
        assert 0.0 <= share < 0.5
        assert volume["duration"]["low"] <= volume["duration"]["likely"]


def test_put_and_back(folder, stall):
    before = stall.read_bytes()
    done = boomwright("programme", folder, "--put", stall, "--title", "Dance night")
    assert (done.returncode, done.stderr) == (0, "")
    text = stall.read_text(encoding="utf-8")
    assert text.startswith(before.decode().rstrip())
    assert "# it plays every other week" in text
    music = read_build(stall).music
    assert (music.title, music.files) == ("Dance night", ("first dance.wav", "last waltz.flac"))
    assert boomwright("check", stall).returncode in {0, 1}
    again = boomwright("programme", folder / "last waltz.flac", "--put", stall)
    assert again.returncode == 0
    assert read_build(stall).music.files == ("last waltz.flac",)
    assert stall.read_text(encoding="utf-8").count("[music]") == 1
    boomwright("undo", stall)
    boomwright("undo", stall)
    assert stall.read_bytes() == before


def test_put_keeps_line_ends(folder, stall):
    stall.write_bytes(stall.read_bytes().replace(b"\n", b"\r\n"))
    boomwright("programme", folder, "--put", stall)
    data = stall.read_bytes()
    assert data.count(b"\n") == data.count(b"\r\n") > 90
    assert read_build(stall).music is not None


def test_put_does_not_spoil_a_build_of_another_form(folder, stall):
    text = stall.read_text(encoding="utf-8")
    stall.write_text(
        'music = { title = "old", levels = [0.0, 1.0], time_above = [1.0, 0.0], '
        "bands = [100.0], spectrum_db = [0.0] }\n" + text,
        encoding="utf-8",
    )
    done = boomwright("programme", folder, "--put", stall)
    assert done.returncode == 0
    assert read_build(stall).music.title == "set"
    assert "# it plays every other week" in stall.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("ending", "start"),
    [("svg", b"<svg "), ("html", b"<!doctype html>"), ("pdf", b"%PDF-"), ("png", b"\x89PNG")],
)
def test_chart(folder, tmp_path, ending, start):
    chart = tmp_path / f"spread.{ending}"
    done = boomwright("programme", folder, "--chart", chart)
    assert (done.returncode, done.stderr) == (0, "")
    data = chart.read_bytes()
    assert data.startswith(start)
    if ending in {"svg", "html"}:
        assert b"share of time beyond it" in data
        assert re.search(rb"(src|href)=.?https?:", data) is None


def test_everything_wrong_is_told_before_anything_is_measured(folder, tmp_path, stall):
    stall.write_text("name = 7\n", encoding="utf-8")
    (tmp_path / "letter.wav").write_text("dear all", encoding="utf-8")
    done = boomwright(
        "programme", folder, folder / "first dance.wav", tmp_path / "letter.wav",
        tmp_path / "gone.ogg", "--put", stall, "--chart", tmp_path / "a.gif",
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stdout == ""
    for words in ("first dance.wav: given twice", "letter.wav: not a sound file",
                  "gone.ogg: there is no such file", "stall.toml", "'.gif'"):  # fmt: skip
        assert words in done.stderr
    assert "Traceback" not in done.stderr
    assert stall.read_text(encoding="utf-8") == "name = 7\n"


def test_a_bad_file_stops_all_and_writes_nothing(folder, stall):
    write(folder / "hush.wav", np.zeros((1, 16_000)), rate=16_000)
    before = stall.read_bytes()
    done = boomwright("programme", folder, "--put", stall, "--chart", folder / "a.png")
    assert done.returncode == 2
    assert "hush.wav: silence from end to end" in done.stderr
    assert stall.read_bytes() == before
    assert not (folder / "a.png").exists()


def test_help_says_what_it_does():
    done = boomwright("programme", "--help")
    assert done.returncode == 0
    for words in ("FILES", "--put", "--build", "--chart", "--json", "WAV, FLAC, OGG and MP3"):
        assert words in done.stdout


def test_memory_stays_flat(tmp_path):
    """Six times the music takes no more memory: it is measured block by block."""
    held = []
    for minutes in (1, 6):
        samples = np.tile(noise(60.0, rate=22_050), (1, minutes))
        path = write(tmp_path / f"{minutes}.wav", samples, rate=22_050)
        tracemalloc.start()
        measure([path])
        held.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    # The samples alone grow by 106 MB as numbers; what stays is three numbers a second.
    assert held[1] - held[0] < 1_000_000  # byte
