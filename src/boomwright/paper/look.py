"""The look that screen and paper share: colours, letters, dashes and the shapes of verdicts."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["DARK", "LIGHT", "LOOKS", "PRINT", "VERDICT_SHAPES", "Dash", "Look", "contrast"]

Dash = tuple[int, ...]
"""Lengths of stroke and gap in turn [px]; empty for a solid line."""

VERDICT_SHAPES = {"fine": "circle", "mind": "triangle-up", "stop": "square"}
"""Shape of each verdict, so that none hangs on colour alone."""


@dataclass(frozen=True)
class Look:
    """One set of colours, with the dashes and letters that go with it.

    Parameters
    ----------
    name : str
        ``light``, ``dark`` or ``print``.
    paper, sheet, wash : str
        What is drawn on: the page, a panel on it, a marked stretch of it (``#rrggbb``).
    ink, quiet, hairline : str
        Lines and headings, side notes, grid and frames.
    copper, wave : str
        Energy, which is also the one accent; sound, or the second of two lines.
    fine, mind, stop : str
        The three verdicts.
    copper_dash, wave_dash : tuple of int
        Strokes of a copper and of a wave line, different in every look.
    off_dash, on_dash, limit_dash : tuple of int
        Strokes of the three kinds of rule: contact opens, contact closes, a limit.
    letters : str
        Families of letters, the wanted one first; all with figures of one width.
    text_size, small_size, heading_size : int
        Heights of letters [px].
    """

    name: str
    paper: str
    sheet: str
    wash: str
    ink: str
    quiet: str
    hairline: str
    copper: str
    wave: str
    fine: str
    mind: str
    stop: str
    copper_dash: Dash = ()
    wave_dash: Dash = (7, 3)
    off_dash: Dash = (8, 3)
    on_dash: Dash = (2, 3)
    limit_dash: Dash = (8, 3, 2, 3)
    letters: str = "'Source Sans 3', 'Source Sans Pro', 'DejaVu Sans', sans-serif"
    text_size: int = 12
    small_size: int = 11
    heading_size: int = 15


LIGHT = Look(
    name="light",
    paper="#f7f3ea",
    sheet="#fffdf8",
    wash="#efe8da",
    ink="#1d2733",
    quiet="#5d6672",
    hairline="#d8cfbd",
    copper="#a9501f",
    wave="#2b5c86",
    fine="#256b4c",
    mind="#8a5a00",
    stop="#a3211a",
)
"""Ink on drafting paper."""

DARK = Look(
    name="dark",
    paper="#14181d",
    sheet="#1b2027",
    wash="#222932",
    ink="#ece6da",
    quiet="#a1a7af",
    hairline="#38404a",
    copper="#e08a54",
    wave="#7fb2dc",
    fine="#67c79b",
    mind="#e0b04b",
    stop="#f0867d",
)
"""The same sheet at night."""

PRINT = Look(
    name="print",
    paper="#ffffff",
    sheet="#ffffff",
    wash="#e8e8e8",
    ink="#000000",
    quiet="#4d4d4d",
    hairline="#c4c4c4",
    copper="#1a1a1a",
    wave="#666666",
    fine="#333333",
    mind="#333333",
    stop="#000000",
)
"""Grey only, for any printer or copier: dash, marker and word tell apart what hue does not."""

LOOKS = {look.name: look for look in (LIGHT, DARK, PRINT)}
"""Every look by its name."""


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 for the same and 21 for black on white.

    Parameters
    ----------
    one, other : str
        Colours as ``#rrggbb``.

    Returns
    -------
    float
        Ratio [1].

    Raises
    ------
    ValueError
        If a colour is written otherwise.

    Notes
    -----
    ``(L1 + 0.05) / (L2 + 0.05)`` with the relative luminances, the lighter first.

    References
    ----------
    .. [1] Web Content Accessibility Guidelines 2.2, World Wide Web Consortium, 2023,
       definitions "contrast ratio" and "relative luminance". From memory.

    Examples
    --------
    >>> contrast("#000000", "#ffffff")
    21.0
    """
    lights = sorted((_luminance(one), _luminance(other)))
    return (lights[1] + 0.05) / (lights[0] + 0.05)


def _luminance(colour: str) -> float:
    try:
        if len(colour) != 7 or colour[0] != "#":
            raise ValueError
        shares = [part / 255.0 for part in bytes.fromhex(colour[1:])]
    except ValueError:
        raise ValueError(f"colour: got {colour!r}, must be written as #rrggbb") from None
    linear = [
        share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
