"""Sound files found, opened and read in blocks, so that an album takes no more room than a song."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from boomwright.errors import InputError, Problem

if TYPE_CHECKING:
    from soundfile import SoundFile

__all__ = ["BLOCK", "SUFFIXES", "Block", "Header", "read_blocks", "read_header", "sound_files"]

Block = NDArray[np.float32]
"""Samples over full scale, shape (channels, frames)."""

BLOCK = 1 << 18
"""Frames read at once: six seconds of a usual file."""

SUFFIXES = (
    *(".wav", ".flac", ".ogg", ".oga", ".opus", ".mp3"),
    *(".aif", ".aiff", ".w64", ".rf64", ".au", ".caf"),
)
"""Endings by which a folder's sound files are known."""

SHORTEST = 0.4
"""Shortest file measured [s]: one block of the loudness standard."""

_SLOWEST, _FASTEST = 8_000, 384_000
_MOST_CHANNELS = 2
_LOUDEST = 4.0
_READABLE = "a WAV, FLAC, OGG or MP3 file"
_SAVE_AS = "Save it as WAV, FLAC, OGG or MP3 with the program you play it with."
_COPY = "Copy it again from where it came, or leave it out."
_NO_END = "cut short: its end is missing"
_SLACK = 4096
_SPARE = 2.0
_TAIL = 1 << 17
_USUAL_SUFFIXES = {
    "WAV": (".wav",),
    "FLAC": (".flac",),
    "OGG": (".ogg", ".oga", ".opus"),
    "MP3": (".mp3",),
}


@dataclass(frozen=True)
class Header:
    """What a sound file says of itself.

    Parameters
    ----------
    path : Path
        The file.
    rate : int
        Samples a second.
    channels : int
        1 or 2.
    frames : int
        Samples of each channel.
    holds : str
        What is really inside, such as ``MP3``, where its name says otherwise; else empty.
    lossy : bool
        Whether the coding changes the samples, so that peaks may come out above full scale.
    """

    path: Path
    rate: int
    channels: int
    frames: int
    holds: str
    lossy: bool

    @property
    def duration(self) -> float:
        """Length [s]."""
        return self.frames / self.rate


def sound_files(
    given: Sequence[str | os.PathLike[str]],
) -> tuple[tuple[Path, ...], tuple[Problem, ...]]:
    """Files to measure: those given, and all sound files within a folder given.

    Parameters
    ----------
    given : sequence of path
        Files and folders.

    Returns
    -------
    files : tuple of Path
        In the order given, those of a folder by name, each once.
    problems : tuple of Problem
        Every path that leads nowhere, every folder without a sound file, and every file that comes
        twice.
    """
    found: list[Path] = []
    problems: list[Problem] = []
    for path in map(Path, given):
        if path.is_dir():
            inside = _within(path)
            if not inside:
                expected = f"files that end in {', '.join(SUFFIXES[:6])}"
                says = "there is no sound file in this folder"
                problems.append(Problem(says, expected=expected, file=str(path)))
            found += inside
        elif path.is_file():
            found.append(path)
        else:
            says = "neither a file nor a folder" if path.exists() else "there is no such file"
            problems.append(Problem(says, file=str(path)))
    seen: dict[Path, Path] = {}
    for path in found:
        real = path.resolve()
        if real in seen:
            same = "" if seen[real] == path else f", the first time as {seen[real]}"
            hint = "Its loudness would count twice: give it once."
            problems.append(Problem(f"given twice{same}", file=str(path), hint=hint))
            continue
        seen[real] = path
    if not given:
        problems.append(Problem("no sound file was given", expected=f"{_READABLE} or a folder"))
    return tuple(seen.values()), tuple(problems)


def read_header(path: Path) -> Header:
    """What a sound file says of itself, once it is clear that it can be measured.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Header

    Raises
    ------
    InputError
        If it is no sound file, cut short, too short, or of a rate or channels that do not serve.
    """
    if _mp3_cut_short(path):
        # Told before it is opened: the decoder would print warnings of its own.
        raise InputError([_of(path, Problem(_NO_END, hint=_COPY))])
    with _opened(path) as sound:
        rate, channels, frames = sound.samplerate, sound.channels, sound.frames
        kind = str(sound.format)
    kind = "WAV" if kind in {"WAVEX", "RF64"} else kind
    usual = _USUAL_SUFFIXES.get(kind, (path.suffix.lower(),))
    suffix = path.suffix.lower()
    named_otherwise = suffix in SUFFIXES and suffix not in usual and suffix != ".rf64"
    header = Header(
        path, rate, channels, frames, kind if named_otherwise else "", kind in {"OGG", "MP3"}
    )
    problems = []
    if _cut_short(path, kind):
        problems.append(Problem(_NO_END, hint=_COPY))
    if channels > _MOST_CHANNELS:
        hint = "Mix it down to stereo first; which speaker plays what of it is not for us to guess."
        says = "more channels than a stereo box plays"
        problems.append(Problem(says, f"{channels} channels", "1 or 2", hint=hint))
    if not _SLOWEST <= rate <= _FASTEST:
        expected = f"{_SLOWEST} to {_FASTEST} samples a second"
        hint = "Save it at 44100 or 48000 samples a second."
        says = "a sample rate that does not serve"
        problems.append(Problem(says, f"{rate} samples a second", expected, hint=hint))
    elif header.duration < SHORTEST:
        got = f"{header.duration:.2g} s"
        expected = f"{SHORTEST:g} s or more"
        problems.append(Problem("too short to measure", got, expected, hint="Leave it out."))
    if problems:
        raise InputError([_of(path, problem) for problem in problems])
    return header


def read_blocks(header: Header) -> Iterator[Block]:
    """Samples of a file, block by block, each checked.

    Parameters
    ----------
    header : Header
        From :func:`read_header`.

    Yields
    ------
    array of float32, (channels, frames)
        Samples over full scale [1].

    Raises
    ------
    InputError
        If the file ends early, cannot be decoded, or holds something that is no sample.
    """
    path, done = header.path, 0
    with _opened(path) as sound:
        while done < header.frames:
            try:
                read = sound.read(min(BLOCK, header.frames - done), dtype="float32", always_2d=True)
            except (RuntimeError, OSError) as error:
                at = _clock(done / header.rate)
                says = f"damaged: it cannot be decoded beyond {at} ({_reason(error)})"
                raise InputError([_of(path, Problem(says, hint=_COPY))]) from None
            block: Block = np.ascontiguousarray(read.T)
            if not block.size:
                # An MP3 tells its length by rule of thumb, with the silence around the music.
                if header.frames - done < _SPARE * header.rate:
                    return
                got = f"{_clock(done / header.rate)} of {_clock(header.duration)}"
                raise InputError([_of(path, Problem("cut short: it ends early", got, hint=_COPY))])
            _check(block, header, done)
            done += block.shape[1]
            yield block


def _check(block: Block, header: Header, done: int) -> None:
    low, high = float(block.min()), float(block.max())
    if low >= -_LOUDEST and high <= _LOUDEST:
        return
    wrong = ~(np.abs(block) <= _LOUDEST)
    place = int(np.flatnonzero(wrong.any(axis=0))[0])
    value = float(block[:, place][wrong[:, place]][0])
    at = f"{value:g} at {_clock((done + place) / header.rate)}"
    if np.isfinite(value):
        problem = Problem(
            "a sample far beyond full scale",
            at,
            f"from -{_LOUDEST:g} to {_LOUDEST:g}, with full scale as 1",
            hint="Save it again with its samples scaled to full scale.",
        )
    else:
        problem = Problem(
            "a sample that is no number",
            at,
            hint="Save it again, as 16 or 24 bit, or leave it out.",
        )
    raise InputError([_of(header.path, problem)])


@contextlib.contextmanager
def _opened(path: Path) -> Iterator[SoundFile]:
    import soundfile

    try:
        if path.stat().st_size == 0:
            raise InputError([_of(path, Problem("an empty file", "0 bytes", _READABLE))])
        sound: Any = soundfile.SoundFile(os.fspath(path))
    except (soundfile.SoundFileError, TypeError, ValueError) as error:
        says = f"not a sound file that can be read: {_reason(error)}"
        problem = Problem(says, expected=_READABLE, hint=_SAVE_AS)
        raise InputError([_of(path, problem)]) from None
    except OSError as error:
        says = f"cannot be read: {error.strerror or error}"
        raise InputError([_of(path, Problem(says))]) from None
    with sound:
        yield sound


def _reason(error: Exception) -> str:
    """What the reader says of a file, without the file's own name."""
    if isinstance(error, TypeError):
        return "bare samples without a header"
    says = str(error).rsplit("': ", maxsplit=1)[-1]
    return says.removeprefix("Error : ").rstrip(".").lower()


def _of(path: Path, problem: Problem) -> Problem:
    return Problem(problem.says, problem.got, problem.expected, file=str(path), hint=problem.hint)


def _within(folder: Path) -> list[Path]:
    return sorted(
        path
        for path in folder.rglob("*")
        if path.suffix.lower() in SUFFIXES
        and path.is_file()
        and not any(part.startswith(".") for part in path.relative_to(folder).parts)
    )


def _cut_short(path: Path, kind: str) -> bool:
    """Whether a file lacks its end, for the kinds whose reader does not notice."""
    size = path.stat().st_size
    with open(path, "rb") as stream:
        head = stream.read(24)
        stream.seek(max(size - _TAIL, 0))
        tail = stream.read(_TAIL)
    if kind == "WAV" and head[:4] == b"RIFF":
        said = int.from_bytes(head[4:8], "little") + 8
        # A program that writes into a pipe cannot know the length and leaves it at its greatest.
        return said < (1 << 32) and said > size + _SLACK
    if kind == "AIFF":
        return int.from_bytes(head[4:8], "big") + 8 > size + _SLACK
    if kind == "W64":
        return int.from_bytes(head[16:24], "little") > size + _SLACK
    if kind == "OGG":
        page = tail.rfind(b"OggS")
        return page < 0 or page + 5 >= len(tail) or not tail[page + 5] & 0x04
    return False


def _mp3_cut_short(path: Path) -> bool:
    """Whether an MP3 that tells its length in its first frame is shorter than that."""
    try:
        with open(path, "rb") as stream:
            start = stream.read(10)
            tag = 0
            if start[:3] == b"ID3" and len(start) == 10:
                # Its length has seven bits to the byte, so that no sync word turns up in it.
                tag = 10 + sum(byte << 7 * (3 - place) for place, byte in enumerate(start[6:]))
            stream.seek(tag)
            frame = stream.read(200)
    except OSError:
        return False
    place = max(frame.find(b"Xing"), frame.find(b"Info"))
    if frame[:1] != b"\xff" or place < 0 or len(frame) < place + 16:
        return False
    flags = int.from_bytes(frame[place + 4 : place + 8], "big")
    if not flags & 2:
        return False
    at = place + (12 if flags & 1 else 8)
    said = int.from_bytes(frame[at : at + 4], "big")
    return said > path.stat().st_size - tag + _SLACK


def _clock(seconds: float) -> str:
    """Place in a file as a player shows it."""
    whole = int(seconds)
    return f"{whole // 60}:{whole % 60:02}"
