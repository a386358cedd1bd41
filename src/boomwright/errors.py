"""Every error Boomwright raises on purpose.

::

    BoomwrightError           exit code 2
    ├── InputError            exit code 2   what was given cannot be used, with every Problem
    │   ├── BuildFileError    exit code 2   a build file or parts file
    │   └── QuantityError     exit code 2   one value with its unit
    ├── NetlistError          exit code 2   a circuit that is wired wrongly
    ├── ConvergenceError      exit code 2   a circuit for which no voltages and currents were found
    └── WriteError            exit code 2   a file could not be written; the old one is untouched

Exit code 0 is a verdict of fine or mind, 1 a verdict of stop: those are answers, not errors. A
mistake of Boomwright's own ends with exit code 70.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

__all__ = [
    "BoomwrightError",
    "BuildFileError",
    "ConvergenceError",
    "InputError",
    "NetlistError",
    "Problem",
    "QuantityError",
    "WriteError",
]


_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]")


@dataclass(frozen=True)
class Problem:
    """One thing wrong with what was given.

    Parameters
    ----------
    says : str
        What is wrong, in plain words.
    got : str
        What was read, as it was written; empty if nothing was there.
    expected : str
        What would be right.
    file : str
        The file it stands in; empty for a value given on the command line.
    line : int or None
        Line number from 1, None where no line can be named.
    key : str
        Dotted path of the entry, such as ``battery.capacity``.
    hint : str
        The nearest right thing, or what to do.
    """

    says: str
    got: str = ""
    expected: str = ""
    file: str = ""
    line: int | None = None
    key: str = ""
    hint: str = ""

    def __str__(self) -> str:
        """One line: place, key, what is wrong, what was read, what was expected, the hint."""
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        head = ": ".join(part for part in (place, self.key) if part)
        body = self.says
        if self.got:
            body += f"; read {self.got}"
        if self.expected:
            body += f"; expected {self.expected}"
        if self.hint:
            body += f". {self.hint}"
        line = f"{head}: {body}" if head else body
        # What was read may hold line ends or codes that a terminal would obey.
        return _CONTROL.sub(lambda found: repr(found[0])[1:-1], line)


class BoomwrightError(Exception):
    """Base of every error raised on purpose."""

    exit_code = 2


class InputError(BoomwrightError):
    """What was given cannot be used; ``problems`` lists all that is wrong with it."""

    def __init__(self, problems: list[Problem] | tuple[Problem, ...]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class BuildFileError(InputError):
    """A build file or parts file that cannot be used."""


class QuantityError(InputError):
    """One value with its unit that cannot be read."""

    def __init__(self, problem: Problem) -> None:
        super().__init__([problem])


class NetlistError(InputError):
    """A circuit that is wired wrongly: every part and node at fault is named."""


class ConvergenceError(BoomwrightError):
    """A circuit for which no voltages and currents were found; names the node and the part."""


class WriteError(BoomwrightError):
    """A file could not be written; what stood there before is untouched."""
