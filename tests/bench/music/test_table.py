"""Measured music as a table: nothing of it is lost on the way through a build file."""

import tomllib
from pathlib import Path

import pytest
from tests.bench.music.sounds import noise, write

from boomwright.bench.music.analysis import measure
from boomwright.bench.music.table import music_of, table_values, title_of
from boomwright.build.edit import with_values
from boomwright.build.music import Music


@pytest.fixture
def analysis(tmp_path):
    paths = [
        write(tmp_path / name, noise(4.0, rate=16_000, seed=seed) * 0.8, rate=16_000)
        for seed, name in enumerate(("fern.wav", "moss.flac"))
    ]
    return measure(paths)


def test_holds_what_was_measured(analysis):
    music, sound = music_of(analysis, "Hedges"), analysis.whole
    assert music.title == "Hedges"
    assert music.files == ("fern.wav", "moss.flac")
    assert music.duration.likely == pytest.approx(8.0, rel=1e-6)
    assert music.loudness.likely == pytest.approx(sound.loudness, abs=0.051)  # LU
    assert music.loudness.basis == "measured"
    assert music.mono_loss.likely == pytest.approx(3.0, abs=0.2)  # dB
    programme = music.programme
    assert programme.crest_factor_db == pytest.approx(sound.crest_factor_db, abs=0.05)  # dB
    assert programme.levels == pytest.approx(sound.levels, rel=5e-3)
    assert programme.exceedance == pytest.approx(sound.time_above, rel=1e-4)
    assert programme.spectrum_db == pytest.approx(sound.spectrum_db, abs=0.051)  # dB
    assert programme.status == "measured"


def test_comes_back_from_a_file(analysis):
    music = music_of(analysis, 'Hedges, "live"')
    values = {("music", key): value for key, value in table_values(music).items()}
    text = with_values('name = "x"\n\n[want]\nhours = "5 h"\n', values)
    again = Music.model_validate(tomllib.loads(text)["music"])
    assert again == music
    assert max(map(len, text.splitlines())) <= 100


def test_many_files_are_counted(analysis):
    many = type(analysis)(analysis.files * 30, analysis.whole)
    assert music_of(many, "x").files[-2:] == ("moss.flac", "and 20 more")


@pytest.mark.parametrize(
    ("given", "files", "title"),
    [
        (["dusk.ogg"], ["dusk.ogg"], "dusk"),
        (["dusk.ogg", "dawn.ogg", "noon.ogg"], ["dusk.ogg", "dawn.ogg", "noon.ogg"],
         "dusk and 2 more"),
    ],
)  # fmt: skip
def test_title(given, files, title):
    assert title_of([Path(each) for each in given], [Path(each) for each in files]) == title


def test_title_of_a_folder(tmp_path):
    folder = tmp_path / "Evening set"
    folder.mkdir()
    assert title_of([folder], [folder / "a.ogg", folder / "b.ogg"]) == "Evening set"
