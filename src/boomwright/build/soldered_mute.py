"""How long a soldered mute holds an amplifier silent, at switch-on and after a short break."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from boomwright.build.circuits import MuteCircuit
from boomwright.build.devices import Spread, capacitor_spread, resistor_spread
from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.quantities import Quantity, parse_quantity
from boomwright.build.soldered_values import part_problems, written
from boomwright.circuit.values import Floats, thermal_voltage
from boomwright.errors import Problem
from boomwright.physics.smoothing import charging_time

__all__ = ["delay_after_break", "mute_problems", "mute_quantities"]

_VERSIONS = 200
_LONGEST = 30.0
# Collector current of the first transistor at which the sound comes, by what it works on; typical
# of class, from memory.
_TURNS_AT = {"mute-low": 60e-6, "mute-high": 0.25e-3, "relay": 0.3e-3}
_SATURATION, _BASE_SPREAD = 1e-14, 0.04
_GAIN = parse_quantity("150 [75 to 300] (typical)", "ratio")
_DIODE = 0.6


def mute_problems(circuit: MuteCircuit, drawer: Drawer) -> list[tuple[str, Problem]]:
    """What keeps a mute from being worked out, with the key it stands at.

    Parameters
    ----------
    circuit : MuteCircuit
        As the build file has it.
    drawer : Drawer
        Where its diode is looked up.

    Returns
    -------
    list of (key, Problem)
        Empty where all is there.
    """
    found = []
    for key in ("divider_top", "divider_bottom"):
        there = getattr(circuit, key) is not None
        means = (MuteCircuit.model_fields[key].description or "").rstrip(".")
        if circuit.kind == "pin" and there:
            says = "a capacitor at the mute pin itself has no divider"
            hint = "Take it out, or say which transistor it feeds: kind = 'mute-low'."
            found.append((key, Problem(says, got=str(getattr(circuit, key)), hint=hint)))
        elif circuit.kind != "pin" and not there:
            says = f"a mute of kind {circuit.kind!r} needs it: {means}"
            found.append((key, Problem(says, hint="Add it.")))
    if circuit.discharge:
        found += part_problems("discharge", circuit.discharge, ("diode",), drawer)
    return found


def mute_quantities(
    circuit: MuteCircuit, *, name: str, lowest: float, highest: float
) -> dict[str, Any]:
    """Entries of an amplifier's table that follow from its mute.

    Parameters
    ----------
    circuit : MuteCircuit
        As the build file has it, without problems.
    name : str
        Name of the amplifier, which the draws hang on.
    lowest, highest : float
        Battery at its emptiest and its fullest [V].

    Returns
    -------
    dict
        ``mute_delay``; empty where the likely mute never lets sound pass.
    """
    spread = Spread(Draws(_VERSIONS), name)
    middle = 0.5 * (lowest + highest)
    supply = spread.take("mute_supply", Quantity(middle, lowest, highest, "voltage", "typical"))
    delay = charging_time(
        spread.take("mute.resistor", resistor_spread(circuit.resistor)),
        spread.take("mute.capacitor", capacitor_spread(circuit.capacitor)),
        divider=_divider(circuit, spread),
        voltage=supply,
        threshold=_threshold(circuit, spread),
    )
    if not np.isfinite(delay[0]):
        return {}
    return {"mute_delay": written(np.minimum(delay, _LONGEST), "s")}


def delay_after_break(circuit: MuteCircuit, *, supply: float, off: float, rail: float) -> float:
    """Likely delay when the box is switched on again after a short break [s].

    With a diode to the supply the capacitor falls with the amplifier's rail, without one it empties
    through its own resistors alone.

    Parameters
    ----------
    circuit : MuteCircuit
        As the build file has it, without problems.
    supply : float
        The supply [V].
    off : float
        How long it was off [s].
    rail : float
        Time constant of the rail that falls [s].

    Returns
    -------
    float

    Examples
    --------
    >>> values = {"resistor": "10 kΩ", "capacitor": "470 µF", "threshold": "5 V"}
    >>> guarded = MuteCircuit.model_validate(values)
    >>> bare = MuteCircuit.model_validate({**values, "discharge": ""})
    >>> def again(circuit):
    ...     return round(delay_after_break(circuit, supply=12.0, off=1.0, rail=0.1), 2)
    >>> again(guarded), again(bare)
    (2.29, 0.0)
    """
    spread = Spread(Draws(0), "")
    divider = float(np.asarray(_divider(circuit, spread)).flat[0])
    ohms, farads = circuit.resistor.likely, circuit.capacitor.likely
    full = supply / (1.0 + ohms / divider)
    own = full * float(np.exp(-off * (1.0 + ohms / divider) / (farads * ohms)))
    fallen = supply * float(np.exp(-off / rail)) + _DIODE if rail > 0.0 else _DIODE
    start = min(own, fallen) if circuit.discharge else own
    threshold = float(np.asarray(_threshold(circuit, spread)).flat[0])
    again = charging_time(
        ohms, farads, divider=divider, voltage=supply, threshold=threshold, start=start
    )
    return float(again)


def _divider(circuit: MuteCircuit, spread: Spread) -> Floats:
    if circuit.divider_top is None or circuit.divider_bottom is None:
        return np.array([np.inf])
    return _top(circuit.divider_top, spread) + _bottom(circuit.divider_bottom, spread)


def _top(quantity: Quantity, spread: Spread) -> Floats:
    return spread.take("mute.divider_top", resistor_spread(quantity))


def _bottom(quantity: Quantity, spread: Spread) -> Floats:
    return spread.take("mute.divider_bottom", resistor_spread(quantity))


def _threshold(circuit: MuteCircuit, spread: Spread) -> Floats:
    """Volts on the capacitor at which sound passes: the pin's, or what opens the transistor."""
    if circuit.divider_top is None or circuit.divider_bottom is None:
        return spread.take("mute.threshold", circuit.threshold)
    top, bottom = _top(circuit.divider_top, spread), _bottom(circuit.divider_bottom, spread)
    amps = _TURNS_AT[circuit.kind]
    volts = float(thermal_voltage()) * math.log(amps / _SATURATION)
    around = Quantity(volts, volts - _BASE_SPREAD, volts + _BASE_SPREAD, "voltage", "typical")
    drawn = amps / spread.take("mute.gain", _GAIN)
    return spread.take("mute.base", around) * (1.0 + top / bottom) + drawn * top
