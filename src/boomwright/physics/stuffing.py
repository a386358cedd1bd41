"""What lining or filling does to a box: it seems larger, and it takes up sound."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats

__all__ = ["STUFFINGS", "Stuffing", "effective_volume"]


@dataclass(frozen=True)
class Stuffing:
    """One way to treat the inside of a box; likely value, least and greatest.

    Parameters
    ----------
    gain : (float, float, float)
        Volume that the cone feels over the volume that is there [1].
    qa : (float, float, float)
        Q of the absorption at the resonance of the box [1].
    title : str
        In words.
    """

    gain: tuple[float, float, float]
    qa: tuple[float, float, float]
    title: str


STUFFINGS: Final = {
    "none": Stuffing((1.0, 1.0, 1.0), (100.0, 60.0, 150.0), "bare walls"),
    "lined": Stuffing((1.03, 1.0, 1.06), (50.0, 30.0, 80.0), "two or three walls lined"),
    "filled": Stuffing((1.15, 1.08, 1.22), (8.0, 5.0, 15.0), "loosely filled with fibre"),
}
"""Treatments of a box. Typical, from memory of Small's closed-box papers and Beranek: absorption Q
of 100 bare, 30 to 80 lined, 5 to 15 filled; volume gains of 1.15 to 1.25 are the most that filling
gives in practice, 1.4 the limit of no heat staying in the air. A vented box is lined, not filled:
filling takes the vent's output."""


def effective_volume(volume: FloatsLike, *, gain: FloatsLike) -> Floats:
    """Volume that the cone feels when fibre holds part of the air's heat.

    Air pressed slowly enough beside fibre keeps its temperature and is softer.

    Parameters
    ----------
    volume : float or array, any shape
        Net volume of the box [m³], above 0; the fibre's own solid volume is left out, 1 % or 2 %.
    gain : float or array, any shape
        From `STUFFINGS` [1], 1 to 1.4.

    Returns
    -------
    array, broadcast shape
        Volume [m³].

    Raises
    ------
    ValueError
        If a volume is not above 0, or a gain lies outside 1 to 1.4.

    Notes
    -----
    V times gain; 1.4 is the ratio of the heat capacities of air.

    References
    ----------
    .. [1] L. L. Beranek, Acoustics, McGraw-Hill, 1954, isothermal box (from memory).

    Examples
    --------
    >>> round(1000 * float(effective_volume(0.012, gain=1.15)), 2)
    13.8
    """
    rise = floats(gain)
    if not ((rise >= 1.0) & (rise <= 1.4)).all():
        worst = float(rise.min()) if (rise < 1.0).any() else float(rise.max())
        raise ValueError(f"gain of stuffing: got {worst:g}, must be 1 to 1.4")
    return floats(above_zero(volume, "box volume", "m³") * rise)
