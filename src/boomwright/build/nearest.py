"""The nearest right word to a wrong one, as a hint."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

__all__ = ["nearest"]

_MOST_NAMED = 12


def nearest(word: str, known: Iterable[str]) -> str:
    """Hint that names the nearest known word, or the known ones where none is near.

    Parameters
    ----------
    word : str
        What was written.
    known : iterable of str
        What would be right.

    Returns
    -------
    str
        A sentence; empty if nothing is known.

    Examples
    --------
    >>> nearest("capacty", ["capacity", "cells"])
    "Did you mean 'capacity'?"
    >>> nearest("zzz", ["capacity", "cells"])
    'Known here: capacity, cells.'
    """
    names = list(known)
    near = difflib.get_close_matches(word[:100], names, n=1, cutoff=0.6)
    if near:
        return f"Did you mean {near[0]!r}?"
    if not names:
        return ""
    more = ", …" if len(names) > _MOST_NAMED else ""
    return f"Known here: {', '.join(names[:_MOST_NAMED])}{more}."
