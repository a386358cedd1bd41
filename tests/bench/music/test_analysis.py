"""Whole files measured: free music against ffmpeg's own statistics, and what several add up to."""

import math
import re
import subprocess
from functools import cache
from pathlib import Path

import numpy as np
import pyloudnorm
import pytest
import soundfile
from tests.bench.music.sounds import noise, sine, write

from boomwright.bench.music.analysis import blocks_of, measure
from boomwright.errors import InputError


@cache
def soundtrack() -> tuple[Path, ...]:
    """Free music that Debian ships in its package asc-music."""
    done = subprocess.run(["dpkg", "-L", "asc-music"], capture_output=True, text=True, check=True)
    files = [Path(line) for line in done.stdout.splitlines() if line.endswith((".mp3", ".ogg"))]
    assert len(files) >= 3
    return tuple(sorted(files))


@cache
def statistics(path: Path) -> dict[str, float]:
    """Peak, root mean square and loudness as ffmpeg measures them."""
    filters = "astats=measure_perchannel=none,ebur128"
    done = subprocess.run(
        ["ffmpeg", "-hide_banner", "-nostats", "-i", path, "-af", filters, "-f", "null", "-"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    wanted = {
        "peak_db": r"Peak level dB: (\S+)",
        "rms_db": r"RMS level dB: (\S+)",
        "loudness": r"\n\s+I:\s+(\S+) LUFS\n\s+Threshold",
        "loudness_range": r"\n\s+LRA:\s+(\S+) LU\n\s+Threshold",
    }
    return {key: float(re.findall(pattern, done.stderr)[-1]) for key, pattern in wanted.items()}


@cache
def measured():
    return {file.header.path: file.sound for file in measure(soundtrack()).files}


class TestFreeMusic:
    @pytest.mark.parametrize("number", [0, 1, 2])
    @pytest.mark.parametrize("key", ["peak_db", "rms_db", "loudness"])
    def test_agrees_with_ffmpeg(self, number, key):
        path = soundtrack()[number]
        found = getattr(measured()[path], key)
        assert found == pytest.approx(statistics(path)[key], abs=0.1)  # dB; loudness has one digit

    @pytest.mark.parametrize("number", [0, 1, 2])
    def test_range_agrees_with_ffmpeg(self, number):
        path = soundtrack()[number]
        found = measured()[path].loudness_range
        assert found == pytest.approx(statistics(path)["loudness_range"], abs=0.2)  # LU

    @pytest.mark.parametrize("number", [0, 1, 2])
    def test_agrees_with_pyloudnorm(self, number):
        path = soundtrack()[number]
        samples, rate = soundfile.read(path)
        theirs = pyloudnorm.Meter(rate, filter_class="DeMan").integrated_loudness(samples)
        assert measured()[path].loudness == pytest.approx(theirs, abs=0.01)  # LU

    def test_together_they_are_as_one_file(self, tmp_path):
        files = soundtrack()[1:]
        pieces = [soundfile.read(path)[0] for path in files]
        rate = soundfile.info(files[0]).samplerate
        joined = write(tmp_path / "all.wav", np.concatenate(pieces).T, rate=rate, subtype="FLOAT")
        together, one = measure(files).whole, measure([joined]).whole
        for key in ("duration", "rms_db", "peak_db", "crest_factor_db", "mono_loss_db"):
            assert getattr(together, key) == pytest.approx(getattr(one, key), abs=0.01), key  # dB
        assert together.a_weighted_db == pytest.approx(one.a_weighted_db, abs=0.02)  # dB
        assert together.loudness == pytest.approx(one.loudness, abs=0.02)  # LU
        # One file has blocks of 3 s that reach from one piece into the next.
        assert together.loudness_range == pytest.approx(one.loudness_range, abs=0.1)  # LU
        assert together.time_above == pytest.approx(one.time_above, abs=2e-3)  # share of time
        assert together.spectrum_db == pytest.approx(one.spectrum_db, abs=0.05)  # dB


class TestFigures:
    def test_sine(self, tmp_path):
        path = write(tmp_path / "a.wav", sine(1000.0, 3.0, peak=0.5), rate=48_000)
        sound = measure([path]).whole
        half_db = 20.0 * math.log10(0.5)
        assert sound.peak_db == pytest.approx(half_db, abs=0.001)  # dB
        assert sound.rms_db == pytest.approx(half_db - 10.0 * math.log10(2.0), abs=0.001)  # dB
        assert sound.a_weighted_db == pytest.approx(0.0, abs=0.01)  # dB
        assert sound.mono_loss_db == pytest.approx(0.0, abs=1e-6)  # dB
        assert sound.bands[np.argmax(sound.spectrum_db)] == 1000.0

    def test_unlike_sides_lose_3_db_and_opposite_ones_all(self, tmp_path):
        wave = noise(5.0, channels=1)
        unlike = write(tmp_path / "a.wav", noise(5.0), subtype="FLOAT")
        opposite = write(tmp_path / "b.wav", np.concatenate((wave, -wave)), subtype="FLOAT")
        first, second = measure([unlike, opposite]).files
        assert first.sound.mono_loss_db == pytest.approx(10.0 * math.log10(2.0), abs=0.05)  # dB
        assert second.sound.mono_loss_db == math.inf

    def test_offset_is_left_out(self, tmp_path):
        samples = noise(5.0, channels=1)
        plain = write(tmp_path / "a.wav", samples, subtype="FLOAT")
        lifted = write(tmp_path / "b.wav", samples + 0.2, subtype="FLOAT")
        one, two = measure([plain, lifted]).files
        assert two.sound.offset == pytest.approx(0.2, abs=1e-3)  # of full scale
        for key in ("rms_db", "crest_factor_db", "a_weighted_db"):
            assert getattr(two.sound, key) == pytest.approx(getattr(one.sound, key), abs=0.02)  # dB

    def test_slow_file_has_no_bands_that_it_cannot_hold(self, tmp_path):
        path = write(tmp_path / "a.wav", noise(2.0, rate=8_000), rate=8_000)
        assert measure([path]).whole.bands[-1] == 3150.0

    def test_one_file_counts_by_its_length(self, tmp_path):
        long = write(tmp_path / "a.wav", noise(9.0, rms=0.1, rate=8_000), rate=8_000)
        short = write(tmp_path / "b.wav", noise(1.0, rms=0.01))
        whole = measure([long, short]).whole
        expected = 10.0 * math.log10(0.9 * 0.1**2 + 0.1 * 0.01**2)
        assert whole.duration == pytest.approx(10.0, rel=1e-6)
        assert whole.rms_db == pytest.approx(expected, abs=0.05)  # dB

    def test_share_beyond(self, tmp_path):
        path = write(tmp_path / "a.wav", sine(441.0, 3.0, peak=0.6), rate=48_000)
        # A sine is beyond half of its peak for two thirds of the time.
        assert measure([path]).whole.share_beyond(20.0 * math.log10(2.0)) == pytest.approx(
            2.0 / 3.0, abs=0.005
        )  # share of time

    def test_steps_are_as_many_as_foretold(self, tmp_path):
        paths = [
            write(tmp_path / "a.wav", noise(14.0)),
            write(tmp_path / "b.flac", noise(2.0, rate=8_000), rate=8_000),
        ]
        told = []
        measure(paths, step=told.append)
        assert told == ["a.wav"] * 3 + ["b.flac"]
        assert blocks_of([*paths, tmp_path / "gone.wav"]) == 5


class TestRefusing:
    def test_all_bad_files_at_once(self, tmp_path):
        write(tmp_path / "silent.wav", np.zeros((2, 44_100)))
        write(tmp_path / "still.wav", np.full((1, 44_100), 0.25))
        write(tmp_path / "faint.wav", noise(1.0, rms=1e-5), subtype="FLOAT")
        write(tmp_path / "good.wav", noise(1.0))
        (tmp_path / "text.wav").write_text("no sound", encoding="utf-8")
        with pytest.raises(InputError) as caught:
            measure(sorted(tmp_path.iterdir()))
        assert {Path(problem.file).name: problem.says for problem in caught.value.problems} == {
            "silent.wav": "silence from end to end",
            "still.wav": "silence from end to end",
            "faint.wav": "too quiet to be music",
            "text.wav": "not a sound file that can be read: format not recognised",
        }
        assert "0.25 of full scale" in str(caught.value)
        assert re.search(r"peaks at 8\d dB below full scale", str(caught.value))
