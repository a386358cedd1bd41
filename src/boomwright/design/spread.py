"""A circuit at every corner of its tolerances, and the figure that comes of it."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product

import numpy as np

from boomwright.circuit.values import Floats
from boomwright.design.sheet import Expected

__all__ = ["Limits", "corners", "expected"]

Limits = tuple[float, float, float]
"""Likely value, least and greatest."""


def corners(limits: Mapping[str, Limits]) -> dict[str, Floats]:
    """Likely values first, then every combination of least and greatest.

    Right for what rises or falls steadily with each value, as all divider ratios do.

    Parameters
    ----------
    limits : mapping of str to (float, float, float)
        Likely, least and greatest value by name.

    Returns
    -------
    dict of str to array, shape (1 + 2**n,)
        With n the count of names whose limits differ.

    Examples
    --------
    >>> corners({"a": (2.0, 1.0, 3.0), "b": (5.0, 5.0, 5.0)})["a"].tolist()
    [2.0, 1.0, 3.0]
    """
    loose = [name for name, (_, low, high) in limits.items() if low != high]
    grid = np.array(list(product(*(limits[name][1:] for name in loose))))
    count = 1 + len(grid) if loose else 1
    columns = {name: np.full(count, likely) for name, (likely, _, _) in limits.items()}
    for column, name in enumerate(loose):
        columns[name][1:] = grid[:, column]
    return columns


def expected(label: str, values: Floats, kind: str) -> Expected:
    """Figure from values at corners, the likely one first.

    Parameters
    ----------
    label : str
        What it is, in words.
    values : array, shape (samples,)
        As :func:`corners` orders them [SI unit of the kind].
    kind : str
        Key of :data:`boomwright.build.units.KINDS`.

    Returns
    -------
    Expected

    Examples
    --------
    >>> print(expected("volts", np.array([2.0, 1.9, 2.2]), "voltage"))
    volts 2 V (1.9 V to 2.2 V)
    """
    return Expected(label, float(values[0]), float(np.min(values)), float(np.max(values)), kind)
