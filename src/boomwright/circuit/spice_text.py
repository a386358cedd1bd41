"""Names, numbers and waveforms as netlists for simulators of the SPICE family write them."""

from __future__ import annotations

import re

import numpy as np

from boomwright.circuit.values import Value
from boomwright.circuit.waveforms import PiecewiseLinear, Pulse, Sine, Waveform
from boomwright.errors import NetlistError, Problem

__all__ = ["number", "plain", "settings_text", "waveform_text"]


def plain(name: str) -> str:
    """A name with everything but letters, digits and underscores made underscores."""
    return re.sub(r"\W", "_", name, flags=re.ASCII)


def number(value: Value) -> str:
    """A number with up to twelve digits."""
    return f"{float(np.asarray(value)):.12g}"


def settings_text(**values: Value) -> str:
    """Settings of a model, the names in capitals."""
    return " ".join(f"{key.upper()}={number(value)}" for key, value in values.items())


def waveform_text(wave: Waveform, name: str) -> str:
    """A waveform as the words behind a source of some name."""
    if isinstance(wave, Sine):
        values = [wave.offset, wave.amplitude, wave.frequency]
        return f"SIN({' '.join(number(value) for value in values)})"
    if isinstance(wave, Pulse) and wave.period is not None:
        # SPICE reads a width of nothing as a width without end.
        width = wave.width if wave.width > 0.0 else 1e-6 * wave.rise
        times = [wave.delay, wave.rise, wave.fall, width, wave.period]
        values = [wave.low, wave.high, *times]
        return f"PULSE({' '.join(number(value) for value in values)})"
    if isinstance(wave, Pulse | PiecewiseLinear):
        return _points(wave)
    raise NetlistError(
        [
            Problem(
                "SPICE has no such waveform",
                got=type(wave).__name__,
                expected="Sine, Pulse or PiecewiseLinear",
                key=name,
            )
        ]
    )


def _points(wave: Pulse | PiecewiseLinear) -> str:
    """Straight lines from time 0 on, for what comes once."""
    if isinstance(wave, Pulse):
        times = np.cumsum([wave.delay, wave.rise, wave.width, wave.fall])
    else:
        times = np.asarray(wave.times, dtype=np.float64)
    later = [float(time) for time in np.unique(times) if time > 0.0]
    words = [f"{number(time)} {number(wave.at(time))}" for time in (0.0, *later)]
    return f"PWL({' '.join(words)})"
