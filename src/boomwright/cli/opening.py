"""A build file opened, with the parts that it can name."""

from __future__ import annotations

from pathlib import Path

from boomwright.build.drawer import Drawer, load_drawer
from boomwright.build.model import Build
from boomwright.build.read import read_build, read_parts

__all__ = ["drawer_of", "opened"]


def drawer_of(parts: Path | None) -> Drawer:
    """Drawer with a person's own parts laid over it."""
    return read_parts(parts) if parts is not None else load_drawer()


def opened(file: Path, parts: Path | None) -> tuple[Build, Drawer]:
    """A build from its file, and the drawer with all own parts laid over it.

    Parameters
    ----------
    file : Path
        The build file.
    parts : Path or None
        Own parts, laid over the drawer.

    Returns
    -------
    (Build, Drawer)

    Raises
    ------
    BuildFileError
        If a file cannot be used.
    """
    drawer = drawer_of(parts)
    build = read_build(file, drawer=drawer)
    if build.parts:
        drawer = read_parts(file.parent / build.parts, drawer=drawer)
    return build, drawer
