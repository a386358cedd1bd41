"""The array types that every law takes and gives back."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["Floats", "FloatsLike", "floats"]

Floats = NDArray[np.float64]
FloatsLike = float | Floats


def floats(value: FloatsLike) -> Floats:
    """Value as an array of float64, shape kept.

    Parameters
    ----------
    value : float or array, any shape
        Numbers in any unit.

    Returns
    -------
    array, same shape
        The same numbers; a plain float becomes an array of shape ().

    Examples
    --------
    >>> floats(3).shape
    ()
    """
    return np.asarray(value, dtype=np.float64)
