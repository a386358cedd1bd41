"""Files on disk: reading a TOML text with clear errors, and writing one whole or not at all."""

from __future__ import annotations

import contextlib
import os
import re
import tempfile
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

from boomwright.build.locate import Path, line_numbers, line_of, without_strings
from boomwright.errors import BuildFileError, Problem, WriteError

__all__ = ["LARGEST", "TomlText", "parse_toml", "read_toml", "write_whole"]

LARGEST = 1_000_000
"""Largest file read [byte]; a long build file has some ten thousand."""

_DEEP_KEY = re.compile(r"(?<![\w-])[\w-]++(?:[ \t]*+\.[ \t]*+[\w-]++){40}")
_DEEPEST = 100
_LARGEST_WHOLE = 2**63
_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


@dataclass(frozen=True)
class TomlText:
    """A TOML file as read: its values and the line of each.

    Parameters
    ----------
    file : str
        Name for messages.
    text : str
        The text.
    values : dict
        The values.
    lines : dict
        Path → line.
    """

    file: str
    text: str
    values: dict[str, Any]
    lines: dict[Path, int]


def _refuse(
    file: str, says: str, *, line: int | None = None, got: str = "", hint: str = ""
) -> BuildFileError:
    return BuildFileError([Problem(says, got=got, file=file, line=line, hint=hint)])


def read_toml(path: str | os.PathLike[str]) -> TomlText:
    """A TOML file with the line of each entry.

    Parameters
    ----------
    path : path
        The file.

    Returns
    -------
    TomlText

    Raises
    ------
    BuildFileError
        If it is missing, unreadable, too large, not text or not TOML.
    """
    file = os.fspath(path)
    shown = FilePath(file).name or file
    try:
        with open(file, "rb") as stream:
            data = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise _refuse(
            file, "there is no such file", hint=f"Make one with 'boomwright new {shown}'."
        ) from None
    except IsADirectoryError:
        raise _refuse(file, "this is a folder, not a build file") from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise _refuse(file, f"cannot be read: {reason}") from None
    if len(data) > LARGEST:
        raise _refuse(
            file,
            "too large for a build file",
            got="over 1 MB",
            hint="A build file is a short text of some kilobytes; is this the right file?",
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # The error counts behind a byte order mark, so it is read from the bytes it names.
        line = error.object[: error.start].count(b"\n") + 1
        raise _refuse(
            file,
            "not a text in UTF-8",
            line=line,
            got=f"byte 0x{error.object[error.start]:02x}",
            hint="Save it as UTF-8 in your editor.",
        ) from None
    return parse_toml(text, file=shown)


def parse_toml(text: str, *, file: str) -> TomlText:
    """Values of a TOML text with the line of each entry.

    Parameters
    ----------
    text : str
        The text.
    file : str
        Name for messages.

    Returns
    -------
    TomlText

    Raises
    ------
    BuildFileError
        If it is not TOML; the message names the line.

    Examples
    --------
    >>> parse_toml("name = 'Stall'", file="stall.toml").values
    {'name': 'Stall'}
    """
    text = text.replace("\r\n", "\n")
    # Keys of a thousand parts take the parser of the standard library minutes.
    plain = without_strings(text)
    if deep := _DEEP_KEY.search(plain):
        at = plain[: deep.start()].count("\n") + 1
        raise _refuse(file, "a key of too many parts", line=at, got=f"{deep[0][:40]}…")
    try:
        values = tomllib.loads(text)
        beyond = _too_large(values)
    except RecursionError:
        raise _refuse(file, "brackets nested too deeply") from None
    except ValueError as error:
        says = str(error)
        if says.startswith("Exceeds the limit"):
            raise _refuse(file, "a whole number of thousands of digits") from None
        match = _PLACE.search(says)
        line = int(match[1]) if match and match[1] else None
        if match:
            says = says[: match.start()]
            if line is None:
                says += " at the end of the file"
                # A string left open runs to the end; the line where it begins is the one to mend.
                opened = re.search("[\"']", plain)
                line = plain[: opened.start() if opened else len(plain.rstrip())].count("\n") + 1
        got = repr(text.split("\n")[line - 1].strip()[:80]) if line else ""
        raise _refuse(
            file,
            f"not TOML: {says[:1].lower()}{says[1:]}",
            line=line,
            got=got,
            hint='Each line is key = "value"; text stands in quotes; # starts a comment.',
        ) from None
    lines = line_numbers(text)
    if beyond is not None:
        raise _refuse(file, "a whole number beyond all measure", line=line_of(beyond, lines))
    return TomlText(file, text, values, lines)


def _too_large(value: object, depth: int = 0) -> Path | None:
    """Path of the first whole number beyond the 64 bits that TOML allows, None if all fit."""
    if depth > _DEEPEST:
        raise RecursionError
    if isinstance(value, int):
        return () if not -_LARGEST_WHOLE <= value < _LARGEST_WHOLE else None
    steps: Iterable[tuple[str | int, object]] = ()
    if isinstance(value, dict):
        steps = value.items()
    elif isinstance(value, list):
        steps = enumerate(value)
    for step, inner in steps:
        if (path := _too_large(inner, depth + 1)) is not None:
            return (step, *path)
    return None


def write_whole(path: str | os.PathLike[str], text: str | bytes, *, replace: bool = True) -> None:
    """Write a text or a picture so that the file holds either the old or the new, never a part.

    The text goes to a new file beside the old one, is forced to disk, and takes its name in one
    step. An end at any moment, even of the power, leaves the old file or the new one.

    Parameters
    ----------
    path : path
        The file.
    text : str or bytes
        The whole new text, or the bytes of a picture.
    replace : bool
        Whether a file of that name may be replaced.

    Raises
    ------
    WriteError
        If it cannot be written, or exists and may not be replaced; the old file is untouched.
    """
    target = FilePath(path)
    temporary = ""
    try:
        # A link keeps pointing at its file: the file it names is the one that is replaced.
        target = target.resolve() if target.is_symlink() else target
        mode = target.stat().st_mode & 0o777 if target.exists() else None
        handle, temporary = tempfile.mkstemp(
            prefix=f".{target.name[:40]}-", suffix=".part", dir=target.parent
        )
        with open(handle, "wb") as stream:
            stream.write(text.encode("utf-8") if isinstance(text, str) else text)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, mode if mode is not None else _new_file_mode())
        if replace:
            os.replace(temporary, target)
        else:
            _take_free_name(temporary, target)
        _sync_folder(target.parent)
    except FileExistsError:
        _forget(temporary)
        raise WriteError(
            f"{path}: a file of that name exists already; nothing was written"
        ) from None
    except (OSError, ValueError, RuntimeError) as error:  # RuntimeError: links in a ring
        _forget(temporary)
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise WriteError(
            f"{path}: cannot be written: {reason}; "
            f"{'the old file is untouched' if os.path.lexists(path) else 'nothing was written'}"
        ) from None


def _take_free_name(temporary: str, target: FilePath) -> None:
    try:
        os.link(temporary, target)
    except FileExistsError:
        raise
    except OSError:
        # Memory cards know no hard links: there the name is looked at, then taken.
        if os.path.lexists(target):
            raise FileExistsError from None
        os.rename(temporary, target)
    else:
        os.unlink(temporary)


def _new_file_mode() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _forget(temporary: str) -> None:
    if temporary:
        with contextlib.suppress(OSError):
            os.unlink(temporary)


def _sync_folder(folder: FilePath) -> None:
    # The new name is safe only once the folder itself is on disk; some systems cannot do that.
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
