"""What resistors ahead of an amplifier's input take away, and what they load the receiver with."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from boomwright.build.circuits import InputCircuit
from boomwright.build.devices import Spread, resistor_spread
from boomwright.build.draws import Draws
from boomwright.build.quantities import Quantity
from boomwright.build.soldered_values import written
from boomwright.circuit.values import Floats
from boomwright.errors import Problem

__all__ = ["bass_corner", "input_problems", "input_quantities", "receiver_load"]

_VERSIONS = 200
_USUAL_CHANNELS = 2


@dataclass(frozen=True)
class _Resistances:
    """Resistances along the way, as arrays (versions,), or one value each [Ω].

    ``source`` is what the pad sees behind it, ``way`` is in series, ``end`` the board with the
    pad's shunt; ``board`` is the board alone and ``shunt`` inf where there is none.
    """

    emf: Floats
    left: Floats
    right: Floats
    source: Floats
    way: Floats
    shunt: Floats
    board: Floats

    @property
    def end(self) -> Floats:
        return _beside(self.shunt, self.board)


def _beside(a: Floats, b: Floats) -> Floats:
    """Two resistances in parallel, either of which may be inf."""
    return np.asarray(1.0 / (1.0 / a + 1.0 / b))


def _resistances(circuit: InputCircuit, channels: int, spread: Spread) -> _Resistances:
    """A sum feeds all of the board's inputs; a pad stands in each channel by itself."""

    def take(field: str, none: float) -> Floats:
        quantity: Quantity | None = getattr(circuit, field)
        if quantity is None:
            return np.full(spread.draws.versions, none)
        return spread.take(f"input.{field}", resistor_spread(quantity))

    emf, board = take("source_impedance", 0.0), take("input_impedance", np.inf)
    left, right = take("left_resistor", 0.0), take("right_resistor", 0.0)
    summed = circuit.left_resistor is not None
    return _Resistances(
        emf=emf,
        left=left,
        right=right,
        source=_beside(emf + left, emf + right) if summed else emf,
        way=take("series_resistor", 0.0),
        shunt=take("shunt_resistor", np.inf),
        board=board / channels if summed else board,
    )


def _likely(circuit: InputCircuit, channels: int) -> _Resistances:
    return _resistances(circuit, channels, Spread(Draws(0), ""))


def input_problems(circuit: InputCircuit, table: Mapping[str, Any]) -> list[tuple[str, Problem]]:
    """What keeps resistors at an input from being worked out, with the key it stands at.

    Parameters
    ----------
    circuit : InputCircuit
        As the build file has it.
    table : mapping
        The amplifier as the file has it.

    Returns
    -------
    list of (key, Problem)
        Empty where all is there.
    """
    found = []
    both = ("left_resistor", "right_resistor")
    there = [key for key in both if getattr(circuit, key) is not None]
    if len(there) == 1:
        missing = next(key for key in both if key not in there)
        says = f"a sum wants two resistors, and only {there[0]} is given"
        found.append((missing, Problem(says, hint="Add the other, of the same value.")))
    pad = circuit.series_resistor is not None
    if circuit.shunt_resistor is not None and not pad:
        says = "a pad's shunt without its series resistor"
        found.append(("series_resistor", Problem(says, hint="Add it.")))
    if not there and not pad and not found:
        says = "no resistor in the input circuit"
        expected = "left_resistor and right_resistor for a sum, or series_resistor for a pad"
        found.append(("", Problem(says, expected=expected)))
    fed = table.get("input")
    if len(there) == len(both) and isinstance(fed, str) and fed != "sum":
        says = f"two summing resistors, but input = {fed!r}"
        hint = "Write input = 'sum', or leave it out; take the two out if nothing is summed."
        found.append((there[0], Problem(says, expected="input = 'sum'", hint=hint)))
    return found


def input_quantities(circuit: InputCircuit, table: Mapping[str, Any]) -> dict[str, Any]:
    """Entries of an amplifier's table that follow from the resistors at its input.

    Parameters
    ----------
    circuit : InputCircuit
        As the build file has it, without problems.
    table : mapping
        The amplifier as the file has it.

    Returns
    -------
    dict
        ``input_pad``: what the board gets of the receiver's unloaded volts, left and right alike;
        ``input`` where it is fed with a sum.

    Notes
    -----
    V_in / V = R_end / (R_source + R_way + R_end).
    """
    channels = table.get("channels", _USUAL_CHANNELS)
    count = channels if isinstance(channels, int) and channels > 0 else _USUAL_CHANNELS
    spread = Spread(Draws(_VERSIONS), str(table.get("name", "amplifier")))
    along = _resistances(circuit, count, spread)
    lost = 20.0 * np.log10((along.source + along.way + along.end) / along.end)
    found: dict[str, Any] = {"input_pad": written(np.maximum(lost, 0.0), "dB")}
    if circuit.left_resistor is not None:
        found["input"] = "sum"
    return found


def receiver_load(circuit: InputCircuit, channels: int) -> float:
    """Least resistance that one of the receiver's outputs sees, the other one silent [Ω].

    Parameters
    ----------
    circuit : InputCircuit
        As the build file has it, without problems.
    channels : int
        Inputs that a sum feeds.

    Returns
    -------
    float

    Examples
    --------
    >>> circuit = InputCircuit.model_validate({"series_resistor": "9 kΩ", "shunt_resistor": "1 kΩ"})
    >>> round(receiver_load(circuit, 2))
    9952
    """
    along = _likely(circuit, channels)
    behind = along.way + along.end
    if circuit.left_resistor is None:
        return float(behind[0])
    left = along.left + _beside(along.right + along.emf, behind)
    right = along.right + _beside(along.left + along.emf, behind)
    return float(min(left[0], right[0]))


def bass_corner(circuit: InputCircuit, channels: int) -> float:
    """Frequency below which a coupling capacitor takes the bass, 0 without one [Hz].

    Parameters
    ----------
    circuit : InputCircuit
        As the build file has it, without problems.
    channels : int
        Inputs that a sum feeds.

    Returns
    -------
    float

    Notes
    -----
    f = 1 / (2 π C R), R the board and all that stands ahead of the capacitor.

    Examples
    --------
    >>> circuit = InputCircuit.model_validate(
    ...     {"left_resistor": "1 kΩ", "right_resistor": "1 kΩ", "coupling_capacitor": "1 µF"}
    ... )
    >>> round(bass_corner(circuit, 2), 1)
    15.1
    """
    if circuit.coupling_capacitor is None:
        return 0.0
    along = _likely(circuit, channels)
    ahead = _beside(along.shunt, along.source + along.way)
    ohms = float((ahead + along.board)[0])
    return 1.0 / (2.0 * math.pi * ohms * circuit.coupling_capacitor.likely)
