"""The options of a design as they were written, read with everything wrong in them at once."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from pydantic import ValidationError

from boomwright.build.power import Battery
from boomwright.build.quantities import Quantity, parse_quantity
from boomwright.build.words import battery_of_words
from boomwright.errors import InputError, Problem, QuantityError

__all__ = ["Asked"]

_SHARE = re.compile(r"[^\s,;%]+\s*%?")


class Asked:
    """Options by name, and what is wrong with them so far.

    Parameters
    ----------
    file : Path or None
        The build file that gives what no option does.
    texts : mapping of str to str
        Option, such as ``--load``, to what was written; empty where it was not given.

    Examples
    --------
    >>> asked = Asked(None, {"--load": "1.5 A", "--peak": "much"})
    >>> asked.number("--load", "current"), asked.number("--peak", "current")
    (1.5, None)
    >>> [problem.key for problem in asked.problems]
    ['--peak']
    """

    def __init__(self, file: Path | None, texts: Mapping[str, str]) -> None:
        self.file = file
        self.problems: list[Problem] = []
        self._texts = texts

    def given(self, option: str) -> bool:
        """Whether an option was written."""
        return bool(self._texts.get(option, ""))

    def text(self, option: str) -> str:
        """What was written, as it stands."""
        return self._texts.get(option, "")

    def wrong(self, option: str, says: str, *, hint: str = "") -> None:
        """Note something wrong with an option."""
        self.problems.append(Problem(says, key=option, hint=hint))

    def lacks(self, says: str, *, hint: str = "") -> None:
        """Note what the build file lacks."""
        self.problems.append(Problem(says, file=str(self.file), hint=hint))

    def quantity(self, option: str, kind: str) -> Quantity | None:
        """Quantity of an option with its range; None where it is not given or cannot be read."""
        if not self.given(option):
            return None
        try:
            return parse_quantity(self.text(option), kind)
        except QuantityError as error:
            self.problems += [replace(problem, key=option) for problem in error.problems]
            return None

    def number(self, option: str, kind: str) -> float | None:
        """Likely value of an option in SI units; None where it is not given or cannot be read."""
        found = self.quantity(option, kind)
        return None if found is None else found.likely

    def number_or(self, option: str, kind: str, usual: float) -> float:
        """Likely value of an option in SI units, else the usual one."""
        found = self.number(option, kind)
        return usual if found is None else found

    def shares(self, option: str) -> tuple[float, ...]:
        """Shares of an option that may hold several: "75 % 50 % 25 %"."""
        found = []
        for word in _SHARE.findall(self.text(option)):
            try:
                found.append(parse_quantity(word.strip(), "share").likely)
            except QuantityError as error:
                self.problems += [replace(problem, key=option) for problem in error.problems]
        return tuple(found)

    def one_of(self, option: str, known: Sequence[str], *, usual: str = "") -> str:
        """Word of an option, held against the known ones; the usual one where none is given."""
        word = self.text(option)
        if not word or word in known:
            return word or usual
        near = difflib.get_close_matches(word[:100], known, n=1)
        self.problems.append(
            Problem(
                "not known here",
                got=repr(word),
                expected=f"one of {', '.join(known)}" if known else "",
                key=option,
                hint=f"Did you mean {near[0]!r}?" if near else "",
            )
        )
        return usual

    def battery(self, option: str) -> Battery | None:
        """Battery of an option in words; None where it is not given or cannot be understood."""
        if not self.given(option):
            return None
        try:
            return battery_of_words(self.text(option))
        except InputError as error:
            self.problems += [replace(problem, key=option) for problem in error.problems]
        except ValidationError as error:
            # Understood, yet no battery that can be: so many cells, or so much charge.
            for item in error.errors():
                said = item.get("ctx", {})
                self.problems.append(
                    Problem(
                        str(said.get("says", item["msg"])),
                        got=str(said.get("got", item["input"])),
                        expected=str(said.get("expected", "")),
                        key=option,
                        hint=str(said.get("hint", "")),
                    )
                )
        return None

    def settle(self) -> None:
        """Nothing if all is well so far, else InputError with everything that is not."""
        if self.problems:
            raise InputError(self.problems)

    @contextmanager
    def naming(
        self, options: Mapping[str, str], *, more: Mapping[str, str] | None = None
    ) -> Iterator[None]:
        """Refusals of a design told by the option that each value belongs to.

        Parameters
        ----------
        options : mapping of str to str
            Key of a design's problem to the option.
        more : mapping of str to str, optional
            Option to a further hint.

        Raises
        ------
        InputError
            The same problems; those of values that a build file gave name the file too.
        """
        try:
            yield
        except InputError as error:
            named = [self.named(problem, options) for problem in error.problems]
            hints = more or {}
            raise InputError(
                [
                    replace(item, hint=f"{item.hint} {hints.get(item.key, '')}".strip())
                    for item in named
                ]
            ) from None

    def named(self, problem: Problem, options: Mapping[str, str]) -> Problem:
        """A design's problem told by its option, and by the file where that gave the value."""
        hint = problem.hint[:1].upper() + problem.hint[1:]
        if hint and hint[-1] not in ".!?":
            hint += "."
        problem = replace(problem, hint=hint)
        option = options.get(problem.key, "")
        if not option:
            return problem
        ours = self.file is None or self.given(option)
        return replace(problem, key=option, file="" if ours else str(self.file))
