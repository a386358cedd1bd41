"""Which unknowns of a build widen its answers most, from the versions that were run anyway."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from boomwright.build.draws import Draws
from boomwright.build.quantities import Quantity, format_quantity
from boomwright.build.units import KINDS
from boomwright.outcome.data import Influence
from boomwright.physics.arrays import Floats

__all__ = ["influences", "noise_share", "rank_correlation", "spread_of"]

_DEVIATIONS = 3.0


def influences(draws: Draws, results: Mapping[str, Floats]) -> tuple[Influence, ...]:
    """Share of the spread of each result that follows each input drawn.

    The share is the square of the rank correlation between input and result over the versions, the
    likely one left out. Inputs are drawn independently, so the shares of a result that rises or
    falls with each of them add up to about one; what acts only together with another is missed.

    Parameters
    ----------
    draws : Draws
        The draws after the run, which remember what was taken.
    results : mapping of str to array (versions,)
        Results by name, likely version first.

    Returns
    -------
    tuple of Influence
        Inputs with a share above :func:`noise_share`, the greatest share first; none without
        versions to compare.

    References
    ----------
    C. Spearman, The proof and measurement of association between two things, American Journal of
    Psychology 15, 1904, from memory.

    Examples
    --------
    >>> from boomwright.build.quantities import parse_quantity
    >>> draws = Draws(200)
    >>> capacity = draws.take("battery", "capacity", parse_quantity("7 Ah [6 to 8]", "charge"))
    >>> health = draws.take("battery", "health", parse_quantity("95 % [94 to 96]", "share"))
    >>> found = influences(draws, {"long": (capacity * health)[:, 0]})
    >>> [(item.field, round(item.shares["long"], 1)) for item in found]
    [('capacity', 1.0)]
    """
    if draws.count < 3 or not draws.taken:
        return ()
    names = list(results)
    inputs = np.stack([taken.values[1:, 0] for taken in draws.taken])
    outputs = np.stack([results[name][1:] for name in names])
    shares = rank_correlation(inputs[:, np.newaxis], outputs) ** 2
    least = noise_share(draws.count)
    found = []
    for taken, row in zip(draws.taken, shares, strict=True):
        kept = {name: float(share) for name, share in zip(names, row, strict=True) if share > least}
        if kept:
            found.append(_influence(taken.part, taken.field, taken.quantity, kept))
    return tuple(sorted(found, key=lambda item: -item.greatest))


def noise_share(versions: int) -> float:
    """Share that luck alone seldom reaches: three standard deviations of the rank correlation.

    Parameters
    ----------
    versions : int
        Versions compared, 2 or more.

    Returns
    -------
    float
        Share of the spread, 0 to 1.

    Notes
    -----
    Without any connection the rank correlation has the variance 1/(n - 1): an input in some 370
    passes three deviations by luck. A share below this may be real, but cannot be told from it.

    Examples
    --------
    >>> round(noise_share(160), 3)
    0.057
    """
    return min(_DEVIATIONS**2 / (versions - 1), 1.0)


def rank_correlation(first: Floats, second: Floats) -> Floats:
    """Correlation of the ranks along the last axis, 0 where one of them does not vary.

    Parameters
    ----------
    first, second : array (..., n), broadcastable
        Values; equal ones share the mean of their ranks.

    Returns
    -------
    array (...)
        Spearman's coefficient, -1 to 1.
    """
    one, other = _centred_ranks(first), _centred_ranks(second)
    both = np.sum(one * other, axis=-1)
    size = np.sqrt(np.sum(one**2, axis=-1) * np.sum(other**2, axis=-1))
    found: Floats = both / np.where(size > 0, size, 1.0)
    return found


def _centred_ranks(values: Floats) -> Floats:
    rows = values.reshape(-1, values.shape[-1])
    ranks = np.empty_like(rows)
    for place, row in enumerate(rows):
        _, of, count = np.unique(row, return_inverse=True, return_counts=True)
        ranks[place] = (np.cumsum(count) - 0.5 * (count - 1))[of]
    ranks -= 0.5 * (values.shape[-1] + 1)
    return ranks.reshape(values.shape)


def spread_of(likely: float, low: float, high: float, kind: str) -> float:
    """Width of a range over its likely value; over one unit for decibels and temperatures.

    Parameters
    ----------
    likely, low, high : float
        Likely value and range [SI].
    kind : str
        Key of :data:`boomwright.build.units.KINDS`.

    Returns
    -------
    float

    Examples
    --------
    >>> round(spread_of(7.0, 6.3, 7.35, "charge"), 3), spread_of(87.0, 86.0, 88.0, "decibel")
    (0.15, 2.0)
    """
    unit = KINDS[kind]
    if unit.offset or unit.si == "dB" or likely == 0:
        return high - low
    return (high - low) / abs(likely)


def _influence(part: str, field: str, quantity: Quantity, shares: Mapping[str, float]) -> Influence:
    low, likely, high = (
        format_quantity(value, quantity.kind)
        for value in (quantity.low, quantity.likely, quantity.high)
    )
    spread = spread_of(quantity.likely, quantity.low, quantity.high, quantity.kind)
    return Influence(
        part, field, quantity.kind, quantity.basis, low, likely, high, spread, dict(shares)
    )
