"""Starting points for a new build: short, commented files that check as they stand."""

from __future__ import annotations

from importlib import resources

from boomwright.build.nearest import nearest
from boomwright.errors import InputError, Problem

__all__ = ["start_names", "start_text", "start_title"]

_NAME = "@NAME@"


def start_names() -> tuple[str, ...]:
    """Names of the starting points.

    Examples
    --------
    >>> "lead-acid" in start_names()
    True
    """
    folder = resources.files("boomwright.build") / "starts"
    names = [file.name.removesuffix(".toml") for file in folder.iterdir()]
    return tuple(sorted(name for name in names if not name.startswith("_")))


def start_title(name: str) -> str:
    """First line of a starting point: what it is, in words."""
    return start_text(name, build="").splitlines()[0].removeprefix("# ").rstrip(".")


def start_text(name: str, *, build: str) -> str:
    """Text of a starting point with the build's name put in.

    Parameters
    ----------
    name : str
        One of :func:`start_names`.
    build : str
        What the build is called.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If there is no such starting point.
    """
    if name not in start_names():
        known = ", ".join(start_names())
        hint = nearest(name, start_names())
        raise InputError(
            [Problem("no such starting point", repr(name), f"one of {known}", hint=hint)]
        )
    folder = resources.files("boomwright.build") / "starts"
    text = (folder / f"{name}.toml").read_text(encoding="utf-8")
    quoted = build.replace("\\", "\\\\").replace('"', '\\"')
    return text.replace(_NAME, quoted)
