"""How long a soldered mute holds an amplifier silent, at switch-on and after a short break."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from boomwright.build.circuits import MuteCircuit
from boomwright.build.devices import Spread, resistor_spread
from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.quantities import Quantity, parse_quantity
from boomwright.build.soldered_values import part_problems, written
from boomwright.circuit.values import Floats, Value, thermal_voltage
from boomwright.errors import Problem

__all__ = ["charging_time", "delay_after_break", "mute_problems", "mute_quantities"]

_VERSIONS = 200
_LONGEST = 30.0
_CAPACITOR_SPREAD = (0.8, 1.5)
# Collector current of the first transistor at which the sound comes, by what it works on; typical
# of class, from memory.
_TURNS_AT = {"mute-low": 60e-6, "mute-high": 0.25e-3, "relay": 0.3e-3}
_SATURATION, _BASE_SPREAD = 1e-14, 0.04
_GAIN = parse_quantity("150 [75 to 300] (typical)", "ratio")
_DIODE = 0.6


def charging_time(
    resistor: Value,
    capacitor: Value,
    *,
    divider: Value,
    supply: Value,
    threshold: Value,
    start: Value = 0.0,
) -> Floats:
    """Time until a capacitor charged through a resistor reaches a threshold [s].

    Parameters
    ----------
    resistor, capacitor : float or array
        From the supply, and to minus [Ω, F].
    divider : float or array
        Across the capacitor [Ω]; inf for none.
    supply, threshold, start : float or array
        Supply, threshold and first volts of the capacitor [V].

    Returns
    -------
    array, broadcast shape
        inf where the threshold is never reached, 0 where it is passed from the start.

    Notes
    -----
    t = τ ln((V_f - V_0) / (V_f - V_t)), τ = C R / (1 + R/R_d), V_f = V / (1 + R/R_d).

    Examples
    --------
    >>> share = 1.0 - np.exp(-1.0)
    >>> time = charging_time(22e3, 47e-6, divider=np.inf, supply=9.0, threshold=9.0 * share)
    >>> round(float(time), 3)
    1.034
    """
    ratio = np.asarray(resistor, dtype=np.float64) / divider
    constant = capacitor * resistor / (1.0 + ratio)
    final = supply / (1.0 + ratio)
    left, whole = np.broadcast_arrays(final - threshold, final - start)
    passed = np.broadcast_to(np.asarray(threshold) <= np.asarray(start), left.shape)
    reached = (left > 0.0) & ~passed
    share = np.divide(whole, left, out=np.ones(left.shape), where=reached)
    never = np.where(passed, 0.0, np.inf)
    return np.asarray(np.where(reached, constant * np.log(share), never), dtype=np.float64)


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
        spread.take("mute.capacitor", _capacitor_spread(circuit.capacitor)),
        divider=_divider(circuit, spread),
        supply=supply,
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
        ohms, farads, divider=divider, supply=supply, threshold=threshold, start=start
    )
    return float(again)


def _capacitor_spread(quantity: Quantity) -> Quantity:
    if quantity.basis != "label" or any(mark in quantity.text for mark in "±["):
        return quantity
    low, high = (quantity.likely * share for share in _CAPACITOR_SPREAD)
    return Quantity(quantity.likely, low, high, quantity.kind, quantity.basis, quantity.text)


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
