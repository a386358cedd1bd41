"""One number on the way to a quantity."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from boomwright.advice.rules import Case
from boomwright.build.quantities import Quantity, format_hours, format_quantity
from boomwright.outcome.data import Range, ScenarioOutcome

__all__ = ["Step", "Steps", "given", "loudest", "sure"]


@dataclass(frozen=True)
class Step:
    """One number on the way.

    Parameters
    ----------
    label : str
        What it is, in words.
    value : Range
        In the SI unit of its kind; no width where it is certain or only the likely one is known.
    kind : str
        Key of :data:`boomwright.build.units.KINDS`.
    where : str
        Part or use it belongs to.
    basis : str
        What an input rests on; empty for what is worked out.
    result : bool
        Whether this is what the law gives.
    text : str
        Words in place of a number.
    """

    label: str
    value: Range
    kind: str
    where: str = ""
    basis: str = ""
    result: bool = False
    text: str = ""

    @property
    def shown(self) -> str:
        """Printed with unit and range."""
        if self.text:
            return self.text
        likely, low, high = (
            self._one(end) for end in (self.value.likely, self.value.low, self.value.high)
        )
        wide = not self.value.certain and (low, high) != (likely, likely)
        return f"{likely} ({low} to {high})" if wide else likely

    def _one(self, value: float) -> str:
        if self.label.startswith("plays"):
            return format_hours(value)
        return format_quantity(value, self.kind)


Steps = Iterator[Step]
"""What the numbers of a quantity come as."""


def sure(value: float) -> Range:
    """A number without a range."""
    return Range(value, value, value)


def given(label: str, quantity: Quantity, where: str = "", *, times: float = 1.0) -> Step:
    """An input of the build file, perhaps several times over."""
    value = Range(quantity.likely * times, quantity.low * times, quantity.high * times)
    return Step(label, value, quantity.kind, where, quantity.basis)


def loudest(case: Case) -> ScenarioOutcome:
    """The use flat out, with a phone on charge where there is a port."""
    return case.outcome.scenario("flat-out+phone" if case.build.usb else "flat-out")
