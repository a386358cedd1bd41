"""A passive filter between amplifier and driver: steps in series and across, into any load."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from boomwright.physics.arrays import (
    Complexes,
    Floats,
    FloatsLike,
    above_zero,
    laplace,
    not_negative,
)

__all__ = ["Ladder", "Place", "Step", "ladder", "step_impedance"]

Place = Literal["series", "across"]
"""Where a step stands: in the way of the current, or from there to the return."""


@dataclass(frozen=True, eq=False)
class Step:
    """One step of a filter: a resistor, a coil and a capacitor in a chain, or some of them.

    A frequency axis goes last: values of shape (..., 1) meet frequencies of shape (n,).

    Parameters
    ----------
    place : "series" or "across"
        Where it stands.
    resistance : float or array, any shape
        Resistors and windings together [Ω], 0 or above.
    inductance : float or array, any shape
        Coil [H], 0 or above.
    capacitance : float or array, any shape
        Capacitor [F], above 0; infinity for none.
    """

    place: Place
    resistance: FloatsLike = 0.0
    inductance: FloatsLike = 0.0
    capacitance: FloatsLike = np.inf


@dataclass(frozen=True, eq=False)
class Ladder:
    """What a filter and its load do with one volt at the amplifier's terminals.

    Parameters
    ----------
    transfer : array of complex
        Volts at the load [V/V].
    impedance : array of complex
        What the amplifier sees [Ω].
    volts : tuple of arrays of complex
        Across each step, first the one at the amplifier [V/V].
    currents : tuple of arrays of complex
        Through each step [A/V].
    """

    transfer: Complexes
    impedance: Complexes
    volts: tuple[Complexes, ...]
    currents: tuple[Complexes, ...]


def step_impedance(step: Step, frequency: FloatsLike) -> Complexes:
    """Impedance of one step of a filter.

    Ideal parts in a chain; a real coil's winding goes into the resistance.

    Parameters
    ----------
    step : Step
        The step.
    frequency : float or array, any shape
        Frequency [Hz], above 0.

    Returns
    -------
    array of complex, broadcast shape
        Impedance [Ω].

    Raises
    ------
    ValueError
        If a frequency or a capacitance is not above 0, or another value is below 0.

    Notes
    -----
    R + s L + 1/(s C).

    References
    ----------
    .. [1] Any text on circuits.

    Examples
    --------
    0.5066 mH and 5.066 µF cancel at 3.142 kHz and leave the 2 ohm:

    >>> trap = Step("across", resistance=2.0, inductance=0.5066e-3, capacitance=5.066e-6)
    >>> round(abs(complex(step_impedance(trap, 3141.6))), 3)
    2.0
    """
    s = laplace(frequency)
    resistance = not_negative(step.resistance, "resistance of a step", "Ω")
    inductance = not_negative(step.inductance, "inductance of a step", "H")
    capacitance = above_zero(step.capacitance, "capacitance of a step", "F")
    return np.asarray(resistance + s * inductance + (1.0 / capacitance) / s, dtype=np.complex128)


def ladder(steps: Sequence[Step], load: Complexes | Floats, frequency: FloatsLike) -> Ladder:
    """Response of a passive filter into its real load, and what every step carries.

    Linear parts and a source without resistance; a source with one is a first step in series.

    Parameters
    ----------
    steps : sequence of Step
        From the amplifier to the load; none is a plain wire.
    load : array of complex, any shape
        Impedance of the driver [Ω], not 0.
    frequency : float or array, any shape
        Frequency [Hz], above 0.

    Returns
    -------
    Ladder
        Arrays of the broadcast shape.

    Raises
    ------
    ValueError
        If the load or a step across is a short circuit at a frequency, or a value is out of range.

    Notes
    -----
    From one volt at the load backwards: a step across adds V/Z to the current, a step in series
    adds I Z to the voltage; at the end everything is divided by the voltage that has come about.

    References
    ----------
    .. [1] Continued fraction of a ladder network: any text on circuit theory (from memory).

    Examples
    --------
    Second order Butterworth low-pass at 1 kHz into 8 ohm, 1.8006 mH and 14.067 µF: -3.01 dB.

    >>> coil = Step("series", inductance=1.8006e-3)
    >>> capacitor = Step("across", capacitance=14.067e-6)
    >>> found = ladder([coil, capacitor], np.array(8.0), 1000.0)
    >>> round(20 * float(np.log10(abs(found.transfer))), 2)
    -3.01
    """
    impedances = [step_impedance(step, frequency) for step in steps]
    end = _conducting(np.asarray(load, dtype=np.complex128), "load", frequency)
    shape = np.broadcast_shapes(
        end.shape, np.shape(laplace(frequency)), *(one.shape for one in impedances)
    )
    voltage = np.ones(shape, dtype=np.complex128)
    current = voltage / end
    volts: list[Complexes] = []
    currents: list[Complexes] = []
    for position in range(len(steps) - 1, -1, -1):
        step, impedance = steps[position], impedances[position]
        if step.place == "across":
            _conducting(impedance, f"step {position + 1}, across", frequency)
            volts.append(voltage)
            currents.append(voltage / impedance)
            current = current + currents[-1]
        else:
            volts.append(current * impedance)
            currents.append(current)
            voltage = voltage + volts[-1]
    return Ladder(
        transfer=1.0 / voltage,
        impedance=voltage / current,
        volts=tuple(one / voltage for one in reversed(volts)),
        currents=tuple(one / voltage for one in reversed(currents)),
    )


def _conducting(impedance: Complexes, what: str, frequency: FloatsLike) -> Complexes:
    if not np.all(impedance):
        at = np.broadcast_arrays(impedance, np.asarray(frequency, dtype=np.float64))
        where = float(at[1][at[0] == 0.0].flat[0])
        raise ValueError(f"{what}: got 0 Ω at {where:g} Hz, must not be a short circuit")
    return impedance
