"""What an impedance curve shows at a glance: its peaks, its skirts, and a first guess."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.bench.driver.sweep import ImpedanceSweep
from boomwright.physics.arrays import Floats

__all__ = ["Hump", "coil_guesses", "humps", "quieted", "side_frequencies", "three_point_q"]

_PROMINENCE = 0.08
_MANY = 60


@dataclass(frozen=True)
class Hump:
    """One peak of an impedance curve.

    Parameters
    ----------
    frequency, height : float
        Where and how high [Hz], [Ω].
    base : float
        Resistance that it stands on [Ω].
    below, above : float
        Side frequencies at sqrt(base height) [Hz]; nan where the curve does not come down to it.
    points : int
        How many points lie between the side frequencies.
    """

    frequency: float
    height: float
    base: float
    below: float
    above: float
    points: int


def quieted(sweep: ImpedanceSweep) -> Floats:
    """Magnitudes with single points out of line taken out, where there are many points."""
    if sweep.frequency.size < _MANY:
        return sweep.magnitude
    from scipy.ndimage import median_filter, uniform_filter1d

    logs = np.log(sweep.magnitude)
    calm: Floats = uniform_filter1d(median_filter(logs, size=5, mode="nearest"), 3, mode="nearest")
    return np.exp(calm)


def humps(sweep: ImpedanceSweep, *, re: float | None = None) -> list[Hump]:
    """Peaks inside a curve, the one of lowest frequency first.

    Parameters
    ----------
    sweep : ImpedanceSweep
        In rising order.
    re : float or None
        D.c. resistance where it is known [Ω]; else the least magnitude around the peak.

    Returns
    -------
    list of Hump
        Empty where nothing rises and falls again.
    """
    from scipy.signal import find_peaks

    calm = quieted(sweep)
    logs = np.log(calm)
    places, _ = find_peaks(logs, prominence=_PROMINENCE)
    # A peak that only rises above its neighbours by what its own scatter does is none.
    scatter = float(np.median(np.abs(np.diff(logs, 2)))) if logs.size >= _MANY else 0.0
    places = [p for p in places if logs[p] - min(logs.min(), logs[p]) > 6.0 * scatter]
    found = []
    for place in places:
        least = float(calm[: place + 1].min())
        after = calm[place:]
        falling = after[: int(np.argmin(after)) + 1]
        base = re if re is not None else min(least, float(falling.min()))
        found.append(_hump(sweep.frequency, calm, place, base))
    return found


def _hump(frequency: Floats, magnitude: Floats, place: int, base: float) -> Hump:
    height = float(magnitude[place])
    below, above = side_frequencies(frequency, magnitude, place, np.sqrt(base * height))
    inside = (frequency >= below) & (frequency <= above)
    return Hump(float(frequency[place]), height, base, below, above, int(np.count_nonzero(inside)))


def side_frequencies(
    frequency: Floats, magnitude: Floats, place: int, level: float
) -> tuple[float, float]:
    """Nearest frequencies below and above a peak at which a curve crosses a level.

    Parameters
    ----------
    frequency, magnitude : array (points,)
        The curve [Hz], [Ω].
    place : int
        Index of the peak.
    level : float
        Level to cross [Ω].

    Returns
    -------
    (float, float)
        Frequencies [Hz], between points by straight lines; nan where it is not crossed.

    Examples
    --------
    >>> side_frequencies(np.array([1.0, 2.0, 3.0]), np.array([1.0, 3.0, 1.0]), 1, 2.0)
    (1.5, 2.5)
    """

    def crossing(order: range) -> float:
        for one in order:
            other = one - 1 if order.step < 0 else one + 1
            if magnitude[other] <= level < magnitude[one]:
                share = (magnitude[one] - level) / (magnitude[one] - magnitude[other])
                return float(frequency[one] + share * (frequency[other] - frequency[one]))
        return float("nan")

    return crossing(range(place, 0, -1)), crossing(range(place, frequency.size - 1))


def three_point_q(hump: Hump) -> tuple[float, float]:
    """Mechanical and electrical Q of a peak by its height and its side frequencies.

    The classical reading of an impedance curve, without inductance: exact for a resistance in
    series with one resonance.

    Parameters
    ----------
    hump : Hump
        A peak with both its side frequencies.

    Returns
    -------
    (float, float)
        Qms and Qes [1].

    Notes
    -----
    With r0 = Zmax/Re and f1, f2 where the modulus is Re sqrt(r0):
    Qms = fs sqrt(r0)/(f2 - f1), Qes = Qms/(r0 - 1).

    References
    ----------
    .. [1] R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20
       (1972) 383 (from memory).

    Examples
    --------
    >>> q = three_point_q(Hump(40.0, 48.0, 6.0, 28.284, 56.569, 3))
    >>> [round(value, 3) for value in q]
    [4.0, 0.571]
    """
    ratio = hump.height / hump.base
    qms = hump.frequency * np.sqrt(ratio) / (hump.above - hump.below)
    return float(qms), float(qms / (ratio - 1.0))


def coil_guesses(sweep: ImpedanceSweep, *, re: float) -> list[dict[str, float]]:
    """First guesses of a coil's inductances, by the end of a curve.

    The same rise can be shared out between the parts in several ways, and a fit that starts in the
    wrong one may stay there.

    Parameters
    ----------
    sweep : ImpedanceSweep
        The curve.
    re : float
        D.c. resistance [Ω].

    Returns
    -------
    list of dict
        ``le``, ``le2`` [H] and ``re2`` [Ω].
    """
    last, ohms = float(sweep.frequency[-1]), float(np.median(sweep.magnitude[-3:]))
    reactance = np.sqrt(max(ohms**2 - re**2, (0.05 * re) ** 2))
    whole = float(reactance / (2.0 * np.pi * last))
    # The last is for curves that end on the skirt of the resonance, which is no inductance.
    shares = (
        *((0.8, 1.0, 0.5 * re), (0.5, 1.2, 2.0 * re), (0.3, 1.2, max(0.7 * ohms, 4.0 * re))),
        (0.03, 0.06, re),
    )
    return [{"le": one * whole, "le2": two * whole, "re2": beside} for one, two, beside in shares]
