"""From a response over frequency to what it does in time: group delay and step."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.physics.arrays import Complexes, Floats, FloatsLike, above_zero, floats

__all__ = ["StepResponse", "group_delay", "step_response"]

_DECAY = 0.02
"""Where the share that is taken out by hand falls off, over the highest frequency of the grid.

Any value far from both ends does: what is taken out in one domain is put back in the other."""


@dataclass(frozen=True, eq=False)
class StepResponse:
    """Answer to a step.

    Parameters
    ----------
    time : array, shape (m,)
        Time since the step [s].
    step : array, shape (..., m)
        Answer for a step of one, in the unit of the response.
    """

    time: Floats
    step: Floats


def group_delay(transfer: Complexes, frequency: FloatsLike) -> Floats:
    """Delay of each frequency's envelope.

    From the slope of the phase between neighbours, so that no unwrapping over a wide stretch is
    needed; the grid must be so fine that the phase turns by less than half a turn from point to
    point.

    Parameters
    ----------
    transfer : array of complex, shape (..., n)
        Response [any unit].
    frequency : array, shape (n,)
        Rising frequencies [Hz], at least three.

    Returns
    -------
    array, shape (..., n)
        Delay [s].

    Raises
    ------
    ValueError
        If the frequencies do not rise from above 0, or are fewer than three.

    Notes
    -----
    -d phase/d(2 pi f), second order in the spacing.

    References
    ----------
    .. [1] A. V. Oppenheim, R. W. Schafer, Discrete-Time Signal Processing, Prentice Hall, 1989
       (definition of group delay, from memory).

    Examples
    --------
    Sound takes 2.9 ms for a metre at every frequency:

    >>> hertz = np.geomspace(20.0, 200.0, 50)
    >>> delays = group_delay(np.exp(-2j * np.pi * hertz * 0.0029), hertz)
    >>> bool(np.allclose(delays, 0.0029))
    True
    """
    hertz = above_zero(frequency, "frequency", "Hz")
    if hertz.ndim != 1 or hertz.size < 3 or not np.all(np.diff(hertz) > 0.0):
        raise ValueError("frequency: must be three or more that rise, along one axis")
    turned = np.angle(transfer[..., 1:] * np.conj(transfer[..., :-1]))
    start = np.angle(transfer[..., :1])
    phase = np.concatenate([start, start + np.cumsum(turned, axis=-1)], axis=-1)
    return floats(-np.gradient(phase, 2.0 * np.pi * hertz, axis=-1, edge_order=2))


def step_response(transfer: Complexes, spacing: FloatsLike) -> StepResponse:
    """Answer to a step of a response known on an even grid.

    For responses that fall towards 0 Hz, as every loudspeaker's does. The answer repeats after one
    over the spacing and must have died out by then.

    Parameters
    ----------
    transfer : array of complex, shape (..., n)
        Response at 1, 2, ... n times the spacing [any unit].
    spacing : float
        Step of the grid [Hz], above 0.

    Returns
    -------
    StepResponse
        2 n times, over half a period.

    Raises
    ------
    ValueError
        If the spacing is not above 0.

    Notes
    -----
    Inverse Fourier transform of H/s. The jump at 0 would ring on any grid (Gibbs), so a decay of
    that height, H(top)/(s + a), is taken out before and put back as its exponential.

    References
    ----------
    .. [1] A. V. Oppenheim, R. W. Schafer, Discrete-Time Signal Processing, Prentice Hall, 1989
       (from memory).

    Examples
    --------
    A first-order high-pass of 50 Hz has fallen to 1/e after 3.18 ms:

    >>> hertz = np.arange(1.0, 20001.0)
    >>> found = step_response(1j * hertz / (50.0 + 1j * hertz), 1.0)
    >>> round(float(np.interp(0.00318, found.time, found.step)), 3)
    0.368
    """
    gap = float(above_zero(spacing, "spacing", "Hz"))
    count = transfer.shape[-1]
    s = 2j * np.pi * gap * np.arange(1, count + 1)
    decay = 2.0 * np.pi * gap * count * _DECAY
    height = np.real(transfer[..., -1:])
    rest = transfer / s - height / (s + decay)
    # The real part is even about 0 Hz, so two points give its value there.
    still = (4.0 * rest[..., :1].real - rest[..., 1:2].real) / 3.0
    spectrum = np.concatenate([still, rest], axis=-1)
    samples = 2 * count
    time = np.arange(samples) / (samples * gap)
    whole = np.fft.irfft(spectrum, n=samples, axis=-1) * samples * gap
    # What was taken out repeats with the period as the grid's answer does; it has long died out.
    step = whole + height * np.exp(-decay * time)
    half = samples // 2
    return StepResponse(time=time[:half], step=floats(step[..., :half]))
