"""History of a build file: every text it held before and after a change, and the way back.

Beside the file, ``.boomwright/<file name>/`` holds the texts as ``0001.toml``, ``0002.toml`` and so
on, oldest first; none is ever written over or thrown away. A small file ``at`` names the one that
the build file holds now. Going back and forth only moves that mark. A change after going back
first repeats the text it starts from at the end, so that the line of texts goes on and what was
taken back can still be reached.

The mark is written last and only believed where its text is what the file holds: an end at any
moment leaves a whole build file and a history that finds its place again by comparing texts.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass
from pathlib import Path as FilePath

from boomwright.build.files import write_whole
from boomwright.errors import InputError, Problem, WriteError

__all__ = ["Step", "file_text", "history_folder", "step_back", "step_forward", "write_kept"]

_FOLDER = ".boomwright"
_MARK = "at"
_SNAPSHOT = re.compile(r"^(\d{4,})\.toml$")
_ATTEMPTS = 20


@dataclass(frozen=True)
class Step:
    """A step back or forward in a file's history.

    Parameters
    ----------
    before, after : str
        Text that the file held and text that it holds now.
    back, forward : int
        How many steps are left either way.
    """

    before: str
    after: str
    back: int
    forward: int


def history_folder(path: str | os.PathLike[str]) -> FilePath:
    """Folder of a build file's history, whether or not it is there yet."""
    file = FilePath(path).resolve()
    return file.parent / _FOLDER / file.name


def file_text(path: str | os.PathLike[str]) -> str:
    """Text of a file as it stands, line ends included.

    Raises
    ------
    InputError
        If it cannot be read.
    """
    try:
        with open(path, encoding="utf-8-sig", newline="") as stream:
            return stream.read()
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        problem = Problem(f"cannot be read: {reason}", file=os.fspath(path))
        raise InputError([problem]) from None


def write_kept(path: str | os.PathLike[str], text: str) -> None:
    """Write a build file and keep what it held.

    Parameters
    ----------
    path : path
        The build file, which is there already.
    text : str
        The whole new text.

    Raises
    ------
    InputError
        If the file cannot be read.
    WriteError
        If the history or the file cannot be written; the file is untouched.
    """
    folder = history_folder(path)
    _settle(folder, file_text(path), at_end=True)
    number = _keep(folder, text)
    write_whole(path, text)
    write_whole(folder / _MARK, f"{number:04}\n")


def step_back(path: str | os.PathLike[str]) -> Step:
    """Put back the text that a build file held before the last change.

    Parameters
    ----------
    path : path
        The build file.

    Returns
    -------
    Step

    Raises
    ------
    InputError
        If there is nothing to take back.
    WriteError
        If it cannot be written; the file is untouched.
    """
    return _step(path, forward=False)


def step_forward(path: str | os.PathLike[str]) -> Step:
    """Put back the text that :func:`step_back` last took away.

    Parameters
    ----------
    path : path
        The build file.

    Returns
    -------
    Step

    Raises
    ------
    InputError
        If nothing was taken back, or the file was changed since.
    WriteError
        If it cannot be written; the file is untouched.
    """
    return _step(path, forward=True)


def _step(path: str | os.PathLike[str], *, forward: bool) -> Step:
    folder, now = history_folder(path), file_text(path)
    refused = "nothing was taken back" if forward else "there is no mending to take back"
    problem = Problem(refused, file=os.fspath(path), hint="The file is as it was.")
    if not _numbers(folder) or (forward and _place(folder, now) is None):
        raise InputError([problem])
    number = _settle(folder, now, at_end=False)
    numbers = _numbers(folder)
    place = numbers.index(number) + (1 if forward else -1)
    if not 0 <= place < len(numbers):
        raise InputError([problem])
    text = file_text(folder / _name(numbers[place]))
    write_whole(path, text)
    write_whole(folder / _MARK, f"{numbers[place]:04}\n")
    return Step(now, text, back=place, forward=len(numbers) - 1 - place)


def _name(number: int) -> str:
    return f"{number:04}.toml"


def _numbers(folder: FilePath) -> list[int]:
    """Numbers of the texts that are kept, oldest first."""
    try:
        names = os.listdir(folder)
    except OSError:
        return []
    return sorted(int(match[1]) for name in names if (match := _SNAPSHOT.match(name)))


def _mark(folder: FilePath) -> int | None:
    try:
        return int((folder / _MARK).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None


def _place(folder: FilePath, now: str) -> int | None:
    """Number of the kept text that the file holds, None if it was changed by other means."""
    numbers, marked = _numbers(folder), _mark(folder)
    likely = [marked] if marked in numbers else []
    for number in [*likely, *reversed(numbers)]:
        if number is not None and file_text(folder / _name(number)) == now:
            return number
    return None


def _settle(folder: FilePath, now: str, *, at_end: bool) -> int:
    """Number of the text the file holds, kept now if it was not; at the end of the line if asked.

    Where a change follows on steps back, the text it starts from is repeated at the end.
    """
    place, numbers = _place(folder, now), _numbers(folder)
    if place is not None and (not at_end or place == numbers[-1]):
        return place
    marked = _mark(folder)
    if place is None and marked in numbers and marked != numbers[-1]:
        # The file was edited by hand after steps back: its way goes on from where it stood.
        _keep(folder, file_text(folder / _name(marked)))
    return _keep(folder, now)


def _keep(folder: FilePath, text: str) -> int:
    """Keep a text under the next free number."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WriteError(f"{folder}: cannot be made: {error.strerror or error}") from None
    for _ in range(_ATTEMPTS):
        number = (_numbers(folder) or [0])[-1] + 1
        target = folder / _name(number)
        try:
            write_whole(target, text, replace=False)
        except WriteError:
            # Another window may have taken the number meanwhile; any other reason is final.
            if not target.exists():
                raise
        else:
            return number
    raise WriteError(f"{folder}: no free number; something else writes here all the time")
