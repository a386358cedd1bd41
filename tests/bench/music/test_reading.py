"""Sound files found and read: what serves, and everything that does not, each by its name."""

import os
import random

import numpy as np
import pytest
from tests.bench.music.sounds import noise, sine, write

from boomwright.bench.music.analysis import measure
from boomwright.bench.music.reading import BLOCK, read_blocks, read_header, sound_files
from boomwright.errors import InputError

WRITTEN = ("a.wav", "b.flac", "c.ogg", "d.mp3", "e.aiff", "f.w64")


def read(path):
    return np.concatenate(list(read_blocks(read_header(path))), axis=1)


def refused(path):
    with pytest.raises(InputError) as caught:
        read(path)
    (problem,) = caught.value.problems
    assert problem.file == str(path)
    assert problem.hint or problem.expected
    return problem


class TestFinding:
    def test_files_stay_in_order_and_folders_are_walked(self, tmp_path):
        for name in ("z.wav", "b/two.flac", "b/deep/one.OGG", "b/notes.txt", "b/.hidden.wav"):
            (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
            (tmp_path / name).touch()
        files, problems = sound_files([tmp_path / "z.wav", tmp_path / "b"])
        assert [file.name for file in files] == ["z.wav", "one.OGG", "two.flac"]
        assert problems == ()

    def test_everything_wrong_is_told_at_once(self, tmp_path):
        (tmp_path / "a.wav").touch()
        (tmp_path / "hollow").mkdir()
        (tmp_path / "link.wav").symlink_to(tmp_path / "a.wav")
        os.mkfifo(tmp_path / "pipe.wav")
        names = ("a.wav", "gone.wav", "hollow", "link.wav", "pipe.wav", "a.wav")
        files, problems = sound_files([tmp_path / name for name in names])
        assert files == (tmp_path / "a.wav",)
        assert {problem.file.rpartition("/")[2]: problem.says for problem in problems[:-2]} == {
            "gone.wav": "there is no such file",
            "hollow": "there is no sound file in this folder",
            "pipe.wav": "neither a file nor a folder",
        }
        assert problems[-2].says == f"given twice, the first time as {tmp_path / 'a.wav'}"
        assert problems[-1].says == "given twice"

    def test_nothing_given(self):
        assert [problem.says for problem in sound_files([])[1]] == ["no sound file was given"]


class TestReading:
    @pytest.mark.parametrize("name", WRITTEN)
    def test_every_kind_gives_back_what_was_written(self, tmp_path, name):
        samples = sine(440.0, 7.0, rate=44_100, peak=0.4)
        path = write(tmp_path / name, samples)
        header = read_header(path)
        assert (header.rate, header.channels, header.holds) == (44_100, 2, "")
        assert header.lossy == (name[-3:] in {"ogg", "mp3"})
        found = read(path)
        assert abs(found.shape[1] - samples.shape[1]) <= 2400
        power = np.mean(found.astype(float) ** 2)
        assert power == pytest.approx(0.08, rel=0.02 if header.lossy else 1e-4)
        assert header.frames > BLOCK

    @pytest.mark.parametrize("rate", [8_000, 22_050, 192_000])
    def test_rates(self, tmp_path, rate):
        path = write(tmp_path / "a.wav", noise(1.0, rate=rate, channels=1), rate=rate)
        assert read_header(path).duration == pytest.approx(1.0, rel=1e-3)

    def test_a_name_that_lies_is_told(self, tmp_path):
        path = write(tmp_path / "a.mp3", noise(1.0))
        (tmp_path / "a.mp3").rename(tmp_path / "a.wav")
        assert read_header(tmp_path / "a.wav").holds == "MP3"
        assert read(tmp_path / "a.wav").shape[1] > 40_000
        assert not path.exists()


class TestRefusing:
    def test_not_a_sound(self, tmp_path):
        path = tmp_path / "letter.wav"
        path.write_text("dear all,", encoding="utf-8")
        assert "format not recognised" in refused(path).says

    def test_empty(self, tmp_path):
        (tmp_path / "a.mp3").touch()
        assert refused(tmp_path / "a.mp3").got == "0 bytes"

    def test_bare_samples(self, tmp_path):
        (tmp_path / "a.raw").write_bytes(b"1234" * 5000)
        assert "without a header" in refused(tmp_path / "a.raw").says

    @pytest.mark.parametrize("name", [*WRITTEN, "g.caf"])
    def test_cut_short(self, tmp_path, name):
        path = write(tmp_path / name, noise(8.0))
        whole = path.read_bytes()
        path.write_bytes(whole[: len(whole) * 5 // 8])
        says = refused(path).says
        assert says.startswith(("cut short", "damaged", "not a sound file"))

    def test_a_file_written_into_a_pipe_is_whole(self, tmp_path):
        path = write(tmp_path / "a.wav", noise(1.0))
        data = bytearray(path.read_bytes())
        data[4:8] = b"\xff\xff\xff\xff"
        path.write_bytes(data)
        assert read(path).shape == (2, 44_100)

    def test_too_short(self, tmp_path):
        assert refused(write(tmp_path / "a.wav", noise(0.3))).got == "0.3 s"
        assert refused(write(tmp_path / "b.wav", [[0.5]])).says == "too short to measure"

    def test_six_channels(self, tmp_path):
        path = write(tmp_path / "a.wav", noise(1.0, channels=6))
        assert refused(path).got == "6 channels"

    def test_too_slow(self, tmp_path):
        path = write(tmp_path / "a.wav", noise(1.0, rate=4_000), rate=4_000)
        assert refused(path).got == "4000 samples a second"

    @pytest.mark.parametrize(
        ("value", "got"), [(np.nan, "nan at 0:07"), (np.inf, "inf at 0:07"), (-9.5, "-9.5 at 0:07")]
    )
    def test_a_sample_that_is_none(self, tmp_path, value, got):
        samples = noise(9.0, rate=16_000)
        samples[1, 16_000 * 7 + 5] = value
        path = write(tmp_path / "a.wav", samples, rate=16_000, subtype="FLOAT")
        assert refused(path).got == got


@pytest.mark.parametrize("name", ["a.wav", "b.flac", "c.ogg", "d.mp3", "e.aiff", "f.w64", "g.au"])
def test_damaged_bytes_end_in_words_or_figures(tmp_path, name):
    path = write(tmp_path / name, noise(1.0, rate=8_000), rate=8_000)
    whole, draws = path.read_bytes(), random.Random(name)
    outcomes = set()
    for _ in range(40):
        data = bytearray(whole)
        for _ in range(draws.choice((1, 3, 20))):
            # The header is where damage hurts most.
            at = draws.randrange(draws.choice((60, len(data) - 50)))
            data[at] = draws.randrange(256)
        path.write_bytes(data)
        try:
            outcomes.add(np.isfinite(measure([path]).whole.loudness))
        except InputError as error:
            outcomes.add(error.problems[0].file == str(path))
    assert outcomes == {True}
