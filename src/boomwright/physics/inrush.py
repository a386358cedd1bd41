"""The pulse that fills an empty capacitor at switch-on."""

from __future__ import annotations

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats

__all__ = ["inrush_charge", "inrush_integral", "inrush_peak"]


def inrush_peak(voltage: FloatsLike, *, resistance_loop: FloatsLike) -> Floats:
    """Peak current when an empty capacitor is switched onto a battery.

    Loop inductance is left out, which makes the figure an upper bound.

    Parameters
    ----------
    voltage : float or array
        Battery voltage [V].
    resistance_loop : float or array
        Battery, leads, contacts, fuse and the capacitor's series resistance [Ω].

    Returns
    -------
    array, broadcast shape
        Current [A].

    Raises
    ------
    ValueError
        If the loop resistance is not positive.

    Notes
    -----
    I = V / R.

    References
    ----------
    .. [1] Ohm's law.

    Examples
    --------
    >>> round(float(inrush_peak(12.6, resistance_loop=0.15)))
    84
    """
    return floats(voltage) / above_zero(resistance_loop, "loop resistance", "Ω")


def inrush_charge(voltage: FloatsLike, *, capacitance: FloatsLike) -> Floats:
    """Charge that flows when an empty capacitor is switched onto a battery.

    Whatever the resistance.

    Parameters
    ----------
    voltage : float or array
        Battery voltage [V].
    capacitance : float or array
        Capacitance [F].

    Returns
    -------
    array, broadcast shape
        Charge [C].

    Notes
    -----
    Q = C V.

    References
    ----------
    .. [1] Definition of capacitance.

    Examples
    --------
    >>> round(float(inrush_charge(12.6, capacitance=2200e-6)) * 1e3, 2)
    27.72
    """
    return floats(capacitance) * floats(voltage)


def inrush_integral(
    voltage: FloatsLike, *, capacitance: FloatsLike, resistance_loop: FloatsLike
) -> Floats:
    """Joule integral of the pulse that fills an empty capacitor.

    Exponential decay through the loop resistance; compare with
    `boomwright.physics.fuse.survives_inrush`.

    Parameters
    ----------
    voltage : float or array
        Battery voltage [V].
    capacitance : float or array
        Capacitance [F].
    resistance_loop : float or array
        All resistance in the loop [Ω].

    Returns
    -------
    array, broadcast shape
        Integral of current squared over time [A² s].

    Raises
    ------
    ValueError
        If the loop resistance is not positive.

    Notes
    -----
    W = C V² / (2 R).

    References
    ----------
    .. [1] RC charge, any circuits text.

    Examples
    --------
    >>> round(float(inrush_integral(12.6, capacitance=2200e-6, resistance_loop=0.15)), 2)
    1.16
    """
    loop = above_zero(resistance_loop, "loop resistance", "Ω")
    return 0.5 * floats(capacitance) * floats(voltage) ** 2 / loop
