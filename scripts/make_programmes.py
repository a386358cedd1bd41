"""Write src/boomwright/physics/data/programmes.toml: the shapes of the typical programmes.

Run from the root of the project: ``python scripts/make_programmes.py``. Change the shapes
here, never in the data file; a test compares the two.

Amplitudes are generalised Gaussians, density exp(-|x/a|^beta) cut off at the crest factor,
with the width a chosen so that the root mean square is 1. beta 1 is a Laplace density, which
music of wide dynamics is near; beta 2 is Gaussian, which dense mixes are near. The test noise
is a Gaussian that is clipped, not cut off, so part of its time sits at the ceiling.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

TARGET = Path(__file__).parents[1] / "src/boomwright/physics/data/programmes.toml"
NODES = 49
STEPS = 20_000
BANDS = (
    25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800,
    1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000,
)  # fmt: skip


@dataclass(frozen=True)
class Shape:
    """One programme as it is described by hand."""

    name: str
    title: str
    crest_factor_db: float
    crest_factor_range_db: tuple[float, float]
    beta: float
    """Exponent of the density; 0 marks a sine, below 0 a clipped Gaussian."""
    spectrum: dict[float, float]
    """Corners of the long-term third-octave spectrum: frequency [Hz] to level [dB]."""
    source: str
    status: str = "typical"


LONG_TERM_SPEECH = {
    63: 38.6, 80: 43.5, 100: 54.4, 125: 57.7, 160: 56.8, 200: 60.2, 250: 60.3, 315: 59.0,
    400: 62.1, 500: 62.1, 630: 60.5, 800: 56.8, 1000: 53.7, 1250: 53.0, 1600: 52.0, 2000: 48.7,
    2500: 48.1, 3150: 46.8, 4000: 45.6, 5000: 44.5, 6300: 44.3, 8000: 43.7, 10000: 43.4,
    12500: 41.3, 16000: 40.7,
}  # fmt: skip
"""Third-octave levels of speech that adds up to 70 dB [dB]: Byrne et al. 1994, from memory."""

MEMORY = "typical of class, from memory"
SHAPES = (
    Shape(
        "speech", "Speech, unprocessed", 12.0, (10.0, 14.0), 0.8,
        {25: -60, 63: -40, 100: -12, 160: -4, 250: -1, 500: 0, 1000: -6, 2000: -10, 4000: -14,
         8000: -18, 16000: -30},
        "crest factor 12 dB within 2 dB: help page on crest factor of an audio analyser; "
        "shapes " + MEMORY,
    ),
    Shape(
        "acoustic", "Acoustic and classical music, wide dynamics", 18.0, (15.0, 20.0), 1.0,
        {25: -25, 40: -14, 63: -7, 100: -3, 200: 0, 500: 0, 1000: -3, 2000: -7, 4000: -13,
         8000: -21, 16000: -33},
        "crest factor 18 to 20 dB for music on the help page, 12 to 20 dB in a glossary; "
        "shapes " + MEMORY,
    ),
    Shape(
        "pop", "Pop and rock, as mixed", 14.0, (12.0, 16.0), 1.4,
        {25: -14, 40: -5, 63: 0, 100: 0, 250: -3, 1000: -6, 2000: -8, 4000: -11, 8000: -16,
         16000: -25},
        "crest factor 12 to 20 dB in a glossary; shapes " + MEMORY,
    ),
    Shape(
        "dance", "Dance and bass-heavy music, loud master", 10.0, (8.0, 12.0), 1.9,
        {25: -12, 40: -2, 50: 0, 63: 0, 100: -3, 200: -7, 1000: -11, 4000: -15, 8000: -19,
         16000: -28},
        MEMORY,
    ),
    Shape(
        "background", "Background radio, heavily compressed", 9.0, (7.0, 10.0), 2.0,
        {25: -22, 50: -4, 63: -1, 80: 0, 125: 0, 250: -2, 1000: -4, 4000: -8, 8000: -12,
         16000: -24},
        MEMORY,
    ),
    Shape(
        "sine", "Steady sine of 1 kHz", 10.0 * math.log10(2.0), (3.01, 3.02), 0.0,
        {1000: 0},
        "computed: share of time of a sine above each level",
        "standard",
    ),
    Shape(
        "noise", "Clipped noise, shaped like the standard's programme simulation", 6.0,
        (5.11, 6.85), -2.0,
        {25: -10.2, 31.5: -7.4, 40: -5.2, 50: -3.5, 63: -2.3, 80: -1.4, 100: -0.9, 125: -0.5,
         160: -0.2, 200: -0.1, 250: 0, 800: 0, 1000: -0.1, 1250: -0.3, 1600: -0.6, 2000: -1.0,
         2500: -1.6, 3150: -2.5, 4000: -3.7, 5000: -5.1, 6300: -7.0, 8000: -9.4, 10000: -11.9,
         12500: -14.8, 16000: -18.2},
        "peak over root mean square 1.8 to 2.2: IEC 60268-5 with IEC 60268-1; spectrum of the "
        "programme simulation of IEC 60268-1 (both from memory); amplitudes computed",
        "standard",
    ),
    Shape(
        "pink", "Pink noise, as a test signal", 12.0, (11.0, 13.0), 2.0,
        {25: 0, 16000: 0},
        "definition: equal power in every third-octave band; amplitudes computed, Gaussian, "
        "cut off at four times the root mean square",
        "standard",
    ),
    Shape(
        "speech-average", "Speech, long-term average of many talkers", 12.0, (10.0, 14.0), 0.8,
        {band: round(level - 62.1, 1) for band, level in LONG_TERM_SPEECH.items()},
        "spectrum: D. Byrne et al., An international comparison of long-term average speech "
        "spectra, J. Acoust. Soc. Am. 96 (1994) 2108, talkers of both sexes together (from "
        "memory); amplitudes as for speech, typical of class",
        "standard",
    ),
)  # fmt: skip


def amplitude(shape: Shape) -> tuple[np.ndarray, np.ndarray]:
    """Levels over the root mean square, and the share of time above each."""
    crest = 10.0 ** (shape.crest_factor_db / 20.0)
    steps = np.linspace(0.0, 1.0, NODES)
    if shape.beta == 0.0:
        return crest * np.sin(0.5 * np.pi * steps), 1.0 - steps
    levels = crest * steps**1.5
    if shape.beta < 0.0:
        return levels, clipped_gaussian(levels, crest)
    return levels, cut_off_gaussian(levels, crest, shape.beta)


def clipped_gaussian(levels: np.ndarray, crest: float) -> np.ndarray:
    """Exceedance of a Gaussian clipped at the crest, scaled to a root mean square of 1."""

    def mean_square(width: float) -> float:
        c = crest / width
        inside = math.erf(c / math.sqrt(2)) - c * math.sqrt(2 / math.pi) * math.exp(-(c**2) / 2)
        return width**2 * inside + crest**2 * math.erfc(c / math.sqrt(2))

    width = bisect(mean_square, 0.5, 50.0)
    return np.array([math.erfc(level / width / math.sqrt(2)) for level in levels])


def cut_off_gaussian(levels: np.ndarray, crest: float, beta: float) -> np.ndarray:
    """Exceedance of a generalised Gaussian cut off at the crest, root mean square 1."""
    # A grid that is fine near 0, where the density of a Laplace has its corner.
    grid = crest * np.linspace(0.0, 1.0, STEPS + 1) ** 1.5

    def integral(values: np.ndarray) -> float:
        return float(np.sum(0.5 * (values[1:] + values[:-1]) * np.diff(grid)))

    def mean_square(width: float) -> float:
        density = np.exp(-((grid / width) ** beta))
        return integral(grid**2 * density) / integral(density)

    density = np.exp(-((grid / bisect(mean_square, 0.05, 50.0)) ** beta))
    below = np.concatenate(([0.0], np.cumsum(0.5 * (density[1:] + density[:-1]) * np.diff(grid))))
    return 1.0 - np.interp(levels, grid, below / below[-1])


def bisect(rising: Callable[[float], float], low: float, high: float) -> float:
    """Argument at which a rising function passes 1."""
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if rising(middle) < 1.0 else (low, middle)
    return 0.5 * (low + high)


def spectrum(shape: Shape) -> tuple[np.ndarray, np.ndarray]:
    """Third-octave levels between the corners, straight over the logarithm of frequency."""
    corners = np.array(sorted(shape.spectrum), dtype=float)
    levels = np.array([shape.spectrum[corner] for corner in sorted(shape.spectrum)], dtype=float)
    if corners.size == 1:
        return corners, levels
    bands = np.array([band for band in BANDS if band >= corners[0]], dtype=float)
    return bands, np.interp(np.log(bands), np.log(corners), levels)


def array(name: str, values: np.ndarray, digits: int) -> str:
    """One TOML array, eight numbers to the line."""
    printed = [f"{float(f'{value:.{digits}g}'):.10g}" for value in values]
    printed = [text if set(text) & set(".e") else text + ".0" for text in printed]
    rows = [", ".join(printed[i : i + 8]) for i in range(0, len(printed), 8)]
    return f"{name} = [\n" + "".join(f"  {row},\n" for row in rows) + "]\n"


def document() -> str:
    """The whole data file."""
    parts = [
        "# Typical programmes: how their amplitude and their spectrum are spread.\n"
        "# Written by scripts/make_programmes.py; change the shapes there.\n"
        "#\n"
        "# crest_factor_db   peak over root mean square [dB], and the range seen for the class\n"
        "# levels            amplitude over root mean square [1]\n"
        "# exceedance        share of time with the signal beyond each level [1]; above 0 at\n"
        "#                   the last level: the share that sits at the ceiling\n"
        "# frequencies       third-octave bands [Hz]\n"
        "# spectrum_db       long-term level of each band [dB], the strongest at 0\n"
    ]
    for shape in SHAPES:
        levels, exceedance = amplitude(shape)
        frequencies, levels_db = spectrum(shape)
        low, high = shape.crest_factor_range_db
        parts.append(
            f"\n[{shape.name}]\n"
            f'title = "{shape.title}"\n'
            f'status = "{shape.status}"\n'
            f'source = "{shape.source}"\n'
            f"crest_factor_db = {round(shape.crest_factor_db, 4)}\n"
            + f"crest_factor_range_db = [{low}, {high}]\n"
            + array("levels", levels, 6)
            + array("exceedance", np.maximum(exceedance, 0.0), 6)
            + array("frequencies", frequencies, 6)
            + array("spectrum_db", np.round(levels_db, 1), 4)
        )
    return "".join(parts)


def main() -> None:
    TARGET.write_text(document(), encoding="utf-8")


if __name__ == "__main__":
    main()
