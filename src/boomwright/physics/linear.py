"""Linear regulators: output, heat, and the load that their junction allows."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats

__all__ = [
    "linear_current_limit",
    "linear_heat",
    "linear_input_current",
    "linear_power_limit",
    "stepped_down_output",
]


def stepped_down_output(
    voltage_in: FloatsLike, *, voltage_set: FloatsLike, dropout: FloatsLike
) -> Floats:
    """Output voltage of a linear regulator or a step-down converter.

    Holds its set voltage while the input is above it by the dropout, then follows the input down;
    a converter's dropout is the headroom that its longest duty and its switch ask for.

    Parameters
    ----------
    voltage_in : float or array
        Input voltage [V].
    voltage_set : float or array
        Nominal output voltage [V].
    dropout : float or array
        Least difference of input and output at this current [V].

    Returns
    -------
    array, broadcast shape
        Output voltage [V], never below 0.

    Notes
    -----
    V_out = max(0, min(V_set, V_in - V_dropout)). Load and line regulation, some per cent, are
    left out, and so is a module's under-voltage lock-out.

    References
    ----------
    .. [1] A. S. Sedra and K. C. Smith, Microelectronic Circuits, Oxford (definition).
    .. [2] D. W. Hart, Introduction to Power Electronics, McGraw-Hill (from memory).

    Examples
    --------
    >>> stepped_down_output(np.array([12.0, 6.0, 1.0]), voltage_set=5.0, dropout=2.0).tolist()
    [5.0, 4.0, 0.0]
    """
    return np.maximum(0.0, np.minimum(floats(voltage_set), floats(voltage_in) - floats(dropout)))


def linear_input_current(current_out: FloatsLike, *, current_ground: FloatsLike) -> Floats:
    """Input current of a linear regulator.

    All the output current comes from the input, at any input voltage; so no battery life is won
    by the voltage it burns.

    Parameters
    ----------
    current_out : float or array
        Load current [A].
    current_ground : float or array
        The regulator's own current to ground [A].

    Returns
    -------
    array, broadcast shape
        Input current [A].

    Notes
    -----
    I_in = I_out + I_ground.

    References
    ----------
    .. [1] Kirchhoff's current law.

    Examples
    --------
    >>> round(float(linear_input_current(0.5, current_ground=0.006)), 3)
    0.506
    """
    return floats(current_out) + floats(current_ground)


def linear_heat(
    voltage_in: FloatsLike,
    *,
    voltage_out: FloatsLike,
    current_out: FloatsLike,
    current_ground: FloatsLike,
) -> Floats:
    """Heat made in a linear regulator.

    Everything that goes in and does not come out.

    Parameters
    ----------
    voltage_in : float or array
        Input voltage [V].
    voltage_out : float or array
        Output voltage [V].
    current_out : float or array
        Load current [A].
    current_ground : float or array
        The regulator's own current to ground [A].

    Returns
    -------
    array, broadcast shape
        Heat [W].

    Notes
    -----
    P = (V_in - V_out) I_out + V_in I_ground.

    References
    ----------
    .. [1] Definition; 12 V to 5 V at 0.5 A makes 3.5 W (computed).

    Examples
    --------
    >>> float(linear_heat(12.0, voltage_out=5.0, current_out=0.5, current_ground=0.0))
    3.5
    """
    through = (floats(voltage_in) - floats(voltage_out)) * floats(current_out)
    return through + floats(voltage_in) * floats(current_ground)


def linear_power_limit(
    *, junction_max: FloatsLike, ambient: FloatsLike, resistance_thermal: FloatsLike
) -> Floats:
    """Heat that brings a junction to its limit.

    Steady state; `ambient` is the air in the box, not in the room.

    Parameters
    ----------
    junction_max : float or array
        Highest junction temperature [K].
    ambient : float or array
        Air temperature [K].
    resistance_thermal : float or array
        Thermal resistance from junction to that air [K/W].

    Returns
    -------
    array, broadcast shape
        Heat [W], 0 where the air is already hotter than the limit.

    Raises
    ------
    ValueError
        If a thermal resistance is not positive.

    Notes
    -----
    P = (T_max - T_ambient) / R.

    References
    ----------
    .. [1] Definition; 150 °C, 25 °C and 62 K/W allow 2.02 W (computed).

    Examples
    --------
    >>> limit = linear_power_limit(junction_max=423.15, ambient=298.15, resistance_thermal=62.0)
    >>> round(float(limit), 2)
    2.02
    """
    path = above_zero(resistance_thermal, "thermal resistance", "K/W")
    return np.maximum(0.0, floats(junction_max) - floats(ambient)) / path


def linear_current_limit(
    voltage_in: FloatsLike,
    *,
    voltage_out: FloatsLike,
    current_ground: FloatsLike,
    junction_max: FloatsLike,
    ambient: FloatsLike,
    resistance_thermal: FloatsLike,
) -> Floats:
    """Load current at which a linear regulator reaches its junction limit.

    Steady state at this input voltage; the regulator's own current limit may come first.

    Parameters
    ----------
    voltage_in : float or array
        Input voltage [V].
    voltage_out : float or array
        Output voltage [V].
    current_ground : float or array
        The regulator's own current [A].
    junction_max : float or array
        Highest junction temperature [K].
    ambient : float or array
        Air temperature [K].
    resistance_thermal : float or array
        Thermal resistance from junction to that air [K/W].

    Returns
    -------
    array, broadcast shape
        Current [A]; 0 where its own current is too much already, inf where nothing is dropped.

    Raises
    ------
    ValueError
        If a thermal resistance is not positive.

    Notes
    -----
    I = (P_limit - V_in I_ground) / (V_in - V_out).

    References
    ----------
    .. [1] `linear_heat` turned round.

    Examples
    --------
    A bare part of 62 K/W in a box at 40 °C, from 12.6 V to 5 V, limit 125 °C:

    >>> amps = linear_current_limit(12.6, voltage_out=5.0, current_ground=0.0,
    ...     junction_max=398.15, ambient=313.15, resistance_thermal=62.0)
    >>> round(float(amps), 2)
    0.18
    """
    limit = linear_power_limit(
        junction_max=junction_max, ambient=ambient, resistance_thermal=resistance_thermal
    )
    left = np.maximum(0.0, limit - floats(voltage_in) * floats(current_ground))
    left, dropped = np.broadcast_arrays(left, floats(voltage_in) - floats(voltage_out))
    drops = dropped > 0.0
    current = left / np.where(drops, dropped, 1.0)
    return np.where(drops, current, np.where(left > 0.0, np.inf, 0.0))
