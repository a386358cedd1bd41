"""Lines of a parts list that many designs share."""

from __future__ import annotations

from boomwright.build.quantities import format_quantity
from boomwright.design.sheet import PartLine

__all__ = ["resistor_line"]

_RATINGS = (0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0)
_DERATING = 2.0


def resistor_line(
    name: str, resistance: float, *, watts: float, tolerance: float, note: str = ""
) -> PartLine:
    """Line of a resistor, its rating at least twice what it turns to heat.

    Parameters
    ----------
    name : str
        Designator.
    resistance : float
        Its value [Ω].
    watts : float
        What it turns to heat at worst [W].
    tolerance : float
        Its tolerance as a share [1].
    note : str
        What the drawing marks too.

    Returns
    -------
    PartLine

    Examples
    --------
    >>> line = resistor_line("R1", 47.0, watts=0.3, tolerance=0.05)
    >>> line.value, line.rating, round(line.margin, 1)
    ('47 Ω', '1 W or more', 3.3)
    """
    rating = next((size for size in _RATINGS if size >= _DERATING * watts), _DERATING * watts)
    film = "metal film" if rating <= 1.0 else "power"
    return PartLine(
        name,
        f"resistor, {film}, {100 * tolerance:g} %",
        value=format_quantity(resistance, "resistance"),
        carries=format_quantity(watts, "power"),
        rating=f"{format_quantity(rating, 'power')} or more",
        margin=rating / watts if watts > 0.0 else float("inf"),
        note=note,
    )
