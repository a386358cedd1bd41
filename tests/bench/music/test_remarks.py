"""Remarks: each made to appear once, and quiet on plain music."""

import numpy as np
import pytest
from tests.bench.music.sounds import noise, sine, write

from boomwright.bench.music.analysis import measure
from boomwright.bench.music.remarks import remarks_of

RATE = 32_000


def music(seconds=6.0, **kwargs):
    """Noise whose level falls to and fro, peaks far above its average."""
    return noise(seconds, rate=RATE, **kwargs)


def said(tmp_path, samples, *, name="a.wav", rate=RATE, subtype="FLOAT"):
    path = write(tmp_path / name, samples, rate=rate, subtype=subtype)
    return [remark for remark in remarks_of(measure([path])) if remark.file]


def test_plain_music_has_none(tmp_path):
    assert said(tmp_path, music()) == []


@pytest.mark.parametrize(
    ("samples", "level", "words"),
    [
        (np.clip(music(rms=0.5), -0.7, 0.7), "mind", "clipped in the file"),
        (np.clip(music(rms=0.2), -0.6, 0.6), "fine", "clipped in the file"),
        (music(rms=0.005), "mind", "Very quiet at -4"),
        (sine(440.0, 5.0, rate=RATE), "mind", "steady tone"),
        (music() + 0.051, "mind", "A constant 5.1 %"),
        (np.stack([music()[0], -music()[0]]), "mind", "all of it is lost"),
        (np.stack([music()[0], -0.5 * music()[0]]), "mind", "10 dB of it is lost"),
    ],
)
def test_what_is_odd_is_told(tmp_path, samples, level, words):
    (remark,) = said(tmp_path, samples)
    assert (remark.level, remark.file) == (level, "a.wav")
    assert words in remark.says


def test_slow_sampling_is_told(tmp_path):
    (remark,) = said(tmp_path, noise(5.0, rate=11_025), rate=11_025)
    assert "nothing above 5.5125 kHz" in remark.says


def test_a_name_that_lies_is_told(tmp_path):
    write(tmp_path / "b.flac", music(), rate=RATE, subtype="PCM_16").rename(tmp_path / "b.wav")
    (remark,) = remarks_of(measure([tmp_path / "b.wav"]))[:-1]
    assert "it holds FLAC" in remark.says


def test_little_music_is_told_once(tmp_path):
    paths = [write(tmp_path / f"{name}.wav", music(), rate=RATE) for name in "ab"]
    (remark,) = remarks_of(measure(paths))
    assert (remark.file, remark.says) == ("", "0.2 minutes are little to go by.")
