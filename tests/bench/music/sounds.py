"""Sounds to measure, made by the tests themselves."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import soundfile

__all__ = ["noise", "sine", "write"]


def sine(frequency, seconds, *, rate=48_000, peak=0.5, channels=2):
    """A sine on every channel, shape (channels, frames)."""
    wave = peak * np.sin(2.0 * np.pi * frequency * np.arange(round(rate * seconds)) / rate)
    return np.tile(wave, (channels, 1))


def noise(seconds, *, rate=44_100, rms=0.1, channels=2, seed=11):
    """White Gaussian noise, unlike on each channel, shape (channels, frames)."""
    return rms * np.random.default_rng(seed).standard_normal((channels, round(rate * seconds)))


def write(path: Path, samples, *, rate=44_100, subtype=None) -> Path:
    """A sound file of the kind that its name says."""
    soundfile.write(path, np.asarray(samples).T, rate, subtype=subtype)
    return path
