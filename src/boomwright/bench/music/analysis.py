"""Music files measured, each alone and all together as if played one after the other."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from boomwright.bench.music.amplitudes import AmplitudeMeter, Amplitudes, amplitude_table
from boomwright.bench.music.loudness import LoudnessMeter, gated_loudness, loudness_range
from boomwright.bench.music.reading import BLOCK, Header, read_blocks, read_header
from boomwright.bench.music.spectrum import BANDS, Spectrum, SpectrumMeter
from boomwright.errors import InputError, Problem
from boomwright.physics.arrays import Floats

__all__ = ["Analysis", "FileSound", "Sound", "blocks_of", "measure"]

_QUIETEST = 1e-30
_FLOOR_DB = -100.0
_QUIETEST_PEAK = 1e-4


@dataclass(frozen=True, eq=False)
class Sound:
    """Figures of a file, or of several together.

    Parameters
    ----------
    duration : float
        Length [s].
    loudness : float
        Integrated loudness [LUFS].
    loudness_range : float
        Loudness range [LU]; not a number below 3 s.
    peak_db : float
        Greatest sample over full scale [dB].
    rms_db : float
        Root mean square over full scale, as which a sine at full scale has -3.01 dB [dB].
    a_weighted_db : float
        A-weighted level over the plain one [dB].
    crest_factor_db : float
        Peak over root mean square, constant offset taken off [dB].
    mono_loss_db : float
        What is lost where left and right are added into one: 0 for the same on both, 3 for unlike
        ones, infinite for opposite ones [dB].
    clipped : float
        Share of time that is clipped in the files already [1].
    offset : float
        Constant part over full scale, of the file that has most of it [1].
    levels : array
        Rising amplitudes from 0 to the peak, over the root mean square [1].
    time_above : array
        Share of time beyond each [1].
    bands : array
        Third-octave bands that the files can hold [Hz].
    spectrum_db : array
        Level of each, the strongest at 0, nothing below -100 [dB].
    band_db : array
        Level of each over full scale [dB].
    """

    duration: float
    loudness: float
    loudness_range: float
    peak_db: float
    rms_db: float
    a_weighted_db: float
    crest_factor_db: float
    mono_loss_db: float
    clipped: float
    offset: float
    levels: Floats
    time_above: Floats
    bands: Floats
    spectrum_db: Floats
    band_db: Floats

    def share_beyond(self, below_peak_db: float) -> float:
        """Share of time beyond a level that lies so far below the peak.

        Parameters
        ----------
        below_peak_db : float
            How far [dB].

        Returns
        -------
        float
            Share of time [1].
        """
        level = float(self.levels[-1]) * 10.0 ** (-below_peak_db / 20.0)
        return float(np.interp(level, self.levels, self.time_above))


@dataclass(frozen=True, eq=False)
class FileSound:
    """One file and its figures."""

    header: Header
    sound: Sound


@dataclass(frozen=True, eq=False)
class Analysis:
    """Every file, and all of them together."""

    files: tuple[FileSound, ...]
    whole: Sound


@dataclass(eq=False)
class _Tally:
    """Sums over time of one file or more."""

    seconds: float = 0.0
    mean_square: float = 0.0
    sum_square: float = 0.0
    peak: float = 0.0
    swing: float = 0.0
    offset: float = 0.0
    clipped: float = 0.0
    weighted: float = 0.0
    highest: float = 0.0
    counts: Floats | float = 0.0
    bands: Floats = field(default_factory=lambda: np.zeros(BANDS.size))
    tenths: list[Floats] = field(default_factory=list)

    def add(self, seconds: float, found: Amplitudes, heard: Spectrum, tenths: Floats) -> None:
        """Add a file that lasts so long."""
        self.seconds += seconds
        self.mean_square += seconds * found.mean_square
        self.sum_square += seconds * found.sum_square
        self.peak = max(self.peak, found.peak)
        self.swing = max(self.swing, found.swing)
        self.offset = max(self.offset, found.offset, key=abs)
        self.clipped += seconds * found.clipped
        self.weighted += seconds * heard.weighted
        self.highest = max(self.highest, heard.highest)
        self.counts = self.counts + seconds * found.counts
        self.bands = self.bands + seconds * heard.bands
        self.tenths.append(tenths)

    def sound(self) -> Sound:
        """Figures of all that was added."""
        mean_square = self.mean_square / self.seconds
        rms = float(np.sqrt(mean_square))
        levels, time_above = amplitude_table(np.asarray(self.counts) / self.seconds, self.swing)
        held = self.highest > BANDS
        band_db = _decibels(self.bands[held] / self.seconds)
        return Sound(
            duration=self.seconds,
            loudness=gated_loudness(*self.tenths),
            loudness_range=loudness_range(*self.tenths),
            peak_db=2.0 * float(_decibels(self.peak)),
            rms_db=float(_decibels(mean_square)),
            a_weighted_db=float(_decibels(self.weighted / self.mean_square)),
            crest_factor_db=2.0 * float(_decibels(self.swing / rms)),
            mono_loss_db=_loss(self.sum_square, self.mean_square),
            clipped=self.clipped / self.seconds,
            offset=self.offset,
            levels=levels / rms,
            time_above=time_above,
            bands=BANDS[held],
            spectrum_db=np.maximum(band_db - band_db.max(), _FLOOR_DB),
            band_db=band_db,
        )


def blocks_of(paths: Iterable[Path]) -> int:
    """How many blocks `measure` will read of some files; those that cannot be read count as one."""
    count = 0
    for path in paths:
        try:
            count += -(-read_header(path).frames // BLOCK)
        except InputError:
            count += 1
    return count


def measure(paths: Sequence[Path], *, step: Callable[[str], object] = str) -> Analysis:
    """Measure sound files, in blocks, whatever their length.

    Parameters
    ----------
    paths : sequence of Path
        The files.
    step : callable
        Told the name of the file at every block.

    Returns
    -------
    Analysis

    Raises
    ------
    InputError
        With every file that cannot be measured, and why.
    """
    problems: list[Problem] = []
    files: list[FileSound] = []
    whole = _Tally()
    for path in paths:
        try:
            files.append(_measured(path, whole, step))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return Analysis(tuple(files), files[0].sound if len(files) == 1 else whole.sound())


def _measured(path: Path, whole: _Tally, step: Callable[[str], object]) -> FileSound:
    header = read_header(path)
    found, heard, tenths = _read(header, step)
    alone = _Tally()
    _refuse_silence(path, found, tenths)
    seconds = found.frames / header.rate
    alone.add(seconds, found, heard, tenths)
    whole.add(seconds, found, heard, tenths)
    return FileSound(header, alone.sound())


def _read(header: Header, step: Callable[[str], object]) -> tuple[Amplitudes, Spectrum, Floats]:
    """Everything that one file gives, block by block."""
    loudness = LoudnessMeter(header.rate, header.channels)
    amplitudes = AmplitudeMeter(header.channels)
    spectrum = SpectrumMeter(header.rate, header.channels)
    for block in read_blocks(header):
        step(header.path.name)
        wide = block.astype(np.float64)
        loudness.take(wide)
        amplitudes.take(block, wide)
        spectrum.take(block)
    return amplitudes.found(), spectrum.found(), loudness.tenths()


def _refuse_silence(path: Path, found: Amplitudes, tenths: Floats) -> None:
    if found.swing >= _QUIETEST_PEAK and np.isfinite(gated_loudness(tenths)):
        return
    got = f"peaks at {2.0 * float(_decibels(found.swing)):.0f} dB below full scale".replace("-", "")
    if found.swing < 1e-6:
        got = "" if found.offset == 0.0 else f"a constant {found.offset:.3g} of full scale"
    problem = Problem(
        "silence from end to end" if found.swing < 1e-6 else "too quiet to be music",
        got,
        "something louder than -70 LUFS",
        file=str(path),
        hint="Leave it out.",
    )
    raise InputError([problem])


def _decibels(power: Floats | float) -> Floats:
    return np.asarray(10.0 * np.log10(np.maximum(power, _QUIETEST)))


def _loss(sum_square: float, mean_square: float) -> float:
    """What adding both channels loses [dB]; rounding may leave a hair of opposite ones."""
    left = sum_square / mean_square
    return max(0.0, -10.0 * float(np.log10(left))) if left > 1e-12 else np.inf
