"""Each curved part of a netlist with its law, its values at a temperature and its junctions."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np

from boomwright.circuit import chip_laws, laws
from boomwright.circuit.bound import Curved, Junction
from boomwright.circuit.parts import Bipolar, Diode, Mosfet, Regulator, ShuntReference, Zener
from boomwright.circuit.values import NOMINAL_TEMPERATURE, Floats, Value, thermal_voltage

__all__ = ["CurvedPart", "curved_part"]

CurvedPart: TypeAlias = Bipolar | Diode | Mosfet | Regulator | ShuntReference | Zener
"""A part whose current does not follow its voltage in proportion."""

# Greatest change of volts in one of Newton's steps, where no junction rules [V].
_MOSFET_STEP = 1.0
_REFERENCE_STEP = 0.3


def curved_part(
    part: CurvedPart, rows: tuple[int, ...], *, temperature: Floats, sloped: bool
) -> Curved:
    """Part bound to its rows at a temperature.

    Parameters
    ----------
    part : CurvedPart
        The part.
    rows : tuple of int
        Unknowns at its terminals, behind its own resistance where it has a row for that.
    temperature : array, shape (1,) or (samples,)
        Temperature [K].
    sloped : bool
        Whether a zener's slope stands outside, as a resistance of its own.

    Returns
    -------
    Curved
    """
    if isinstance(part, Diode):
        return _diode(part, rows, temperature)
    if isinstance(part, Zener):
        return _zener(part, rows, temperature, sloped)
    if isinstance(part, Bipolar):
        return _bipolar(part, rows, temperature)
    if isinstance(part, Mosfet):
        return _mosfet(part, rows, temperature)
    if isinstance(part, ShuntReference):
        values = _values(
            voltage=part.voltage,
            transconductance=part.transconductance,
            cathode_least=part.cathode_least,
            reference_current=part.reference_current,
            idle_current=part.idle_current,
            leakage=part.leakage,
        )
        law = chip_laws.reference_currents
        return Curved(part.name, rows, law, values, {}, (), _REFERENCE_STEP)
    values = _values(
        voltage=part.voltage,
        dropout=part.dropout,
        quiescent=part.quiescent,
        resistance=part.resistance,
    )
    return Curved(part.name, rows, chip_laws.regulator_currents, values, {}, (), _MOSFET_STEP)


def _values(**values: Value) -> dict[str, Floats]:
    return {key: np.atleast_1d(np.asarray(value, np.float64)) for key, value in values.items()}


def _junction(
    plus: int,
    minus: int,
    turn: float,
    saturation: Floats,
    scale: Floats,
    *,
    moves: int,
    offset: Floats | None = None,
) -> Junction:
    critical = laws.junction_critical_voltage(saturation, scale)
    none = np.zeros(1) if offset is None else offset
    return Junction(plus, minus, turn, none, scale, critical, moves)


def _diode(part: Diode, rows: tuple[int, ...], temperature: Floats) -> Curved:
    saturation = laws.junction_saturation_current(
        part.saturation_current,
        temperature=temperature,
        energy_gap=part.energy_gap,
        exponent=part.current_exponent,
        emission=part.emission,
    )
    values = _values(saturation=saturation, scale=part.emission * thermal_voltage(temperature))
    junction = _junction(0, -1, 1.0, values["saturation"], values["scale"], moves=0)
    return Curved(part.name, rows, laws.junction_currents, values, {}, (junction,))


def _zener(part: Zener, rows: tuple[int, ...], temperature: Floats, sloped: bool) -> Curved:
    rise = temperature - NOMINAL_TEMPERATURE
    slope = np.asarray(part.slope) if sloped else 0.0
    values = _values(
        saturation=laws.junction_saturation_current(
            part.saturation_current, temperature=temperature, energy_gap=1.11, exponent=3.0
        ),
        scale=thermal_voltage(temperature),
        breakdown=np.asarray(part.voltage)
        + np.asarray(part.temperature_coefficient) * rise
        - slope * np.asarray(part.test_current),
        test=part.test_current,
        knee=part.knee,
    )
    junctions = (
        _junction(0, -1, 1.0, values["saturation"], values["scale"], moves=0),
        _junction(0, -1, -1.0, values["test"], values["knee"], moves=0, offset=values["breakdown"]),
    )
    return Curved(part.name, rows, laws.zener_currents, values, {}, junctions)


def _bipolar(part: Bipolar, rows: tuple[int, ...], temperature: Floats) -> Curved:
    warmth = (temperature / NOMINAL_TEMPERATURE) ** part.gain_exponent
    values = _values(
        saturation=laws.junction_saturation_current(
            part.saturation_current,
            temperature=temperature,
            energy_gap=part.energy_gap,
            exponent=part.current_exponent,
        ),
        scale=thermal_voltage(temperature),
        gain=part.gain * warmth,
        gain_reverse=part.gain_reverse * warmth,
    )
    sign = 1.0 if part.polarity == "npn" else -1.0
    junctions = (
        _junction(1, -1, sign, values["saturation"], values["scale"], moves=1),
        _junction(1, 0, sign, values["saturation"], values["scale"], moves=0),
    )
    return Curved(part.name, rows, laws.bipolar_currents, values, {"sign": sign}, junctions)


def _mosfet(part: Mosfet, rows: tuple[int, ...], temperature: Floats) -> Curved:
    rise = temperature - NOMINAL_TEMPERATURE
    values = _values(
        threshold=part.threshold + np.asarray(part.threshold_coefficient) * rise,
        transconductance=part.transconductance * (temperature / NOMINAL_TEMPERATURE) ** -1.5,
    )
    sign = {"sign": 1.0 if part.polarity == "n" else -1.0}
    return Curved(part.name, rows, laws.mosfet_currents, values, sign, (), _MOSFET_STEP)
