"""Steps of a passive filter as a builder writes them: "series 6.8 µF", "across 0.33 mH 0.4 Ω"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any, Final, Literal, cast

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from boomwright.build.fields import value_error
from boomwright.build.nearest import nearest
from boomwright.build.quantities import Quantity, format_quantity, parse_quantity
from boomwright.errors import Problem, QuantityError

__all__ = ["Component", "FilterField", "FilterStep", "parse_filter_step"]

ComponentKind = Literal["resistor", "coil", "capacitor"]
CapacitorKind = Literal["film", "bipolar", "polarised"]

_PLACES = ("series", "across")
_CAPACITORS = ("film", "bipolar", "polarised")
_EXAMPLE = "series 6.8 µF"
_LONGEST = 120
_TOLERANCES: Final = {"resistor": "±5 %", "coil": "±5 %", "capacitor": "±10 %"}
"""What is sold unless something better is written; common practice, no source."""

_QUANTITIES: Final = {"resistor": "resistance", "coil": "inductance", "capacitor": "capacitance"}
_LIMITS: Final = {
    "resistor": (0.01, 10e3, "0.01 Ω to 10 kΩ"),
    "coil": (1e-6, 0.1, "1 µH to 100 mH"),
    "capacitor": (1e-8, 10e-3, "0.01 µF to 10 mF"),
}
# A number with its unit and perhaps a spread, or a bare word.
_TOKEN = re.compile(r"\d[\d.,]*\s*[^\W\d_]+(?:\s*±\s*\d[\d.]*\s*%)?|[^\s]+")


@dataclass(frozen=True)
class Component:
    """A part of a filter.

    Parameters
    ----------
    kind : str
        resistor, coil or capacitor.
    value : Quantity
        Its resistance, inductance or capacitance.
    winding : Quantity or None
        Resistance of a coil's wire; None if it is not stated.
    rating : Quantity or None
        Volts that a capacitor stands, or watts of a resistor; None if it is not stated.
    material : str
        Kind of a capacitor; film for the others as well.
    """

    kind: ComponentKind
    value: Quantity
    winding: Quantity | None = None
    rating: Quantity | None = None
    material: CapacitorKind = "film"


@dataclass(frozen=True)
class FilterStep:
    """One step of a filter on the way from the amplifier to the driver.

    Parameters
    ----------
    place : str
        In series with the driver, or across it and all that follows.
    components : tuple of Component
        Components of the step, in series with each other.
    text : str
        As it was written.
    """

    place: Literal["series", "across"]
    components: tuple[Component, ...]
    text: str = ""

    def __str__(self) -> str:
        """As a person writes it."""
        return self.text

    @property
    def blocks_bass(self) -> bool:
        """Whether a capacitor stands in the way of the bass."""
        return self.place == "series" and any(
            component.kind == "capacitor" for component in self.components
        )


def parse_filter_step(text: str) -> FilterStep:
    """A step of a filter, read from text.

    Parameters
    ----------
    text : str
        ``series`` or ``across``, then components joined by ``+``; a coil's wire resistance and a
        capacitor's volts or a resistor's watts follow the value.

    Returns
    -------
    FilterStep

    Raises
    ------
    QuantityError
        If it cannot be read.

    Examples
    --------
    >>> step = parse_filter_step("across 6.8 Ω 5 W + 12 µF")
    >>> [component.kind for component in step.components]
    ['resistor', 'capacitor']
    >>> parse_filter_step("series 0.5 mH 0.4 Ω").components[0].winding.likely
    0.4
    """
    shown = text if len(text) <= _LONGEST else text[:_LONGEST] + "…"
    place, _, rest = text.strip().partition(" ")
    if place not in _PLACES:
        raise _refused(
            "a filter step without its place",
            shown,
            f"series (in the lead to the driver) or across (over its terminals), "
            f"such as {_EXAMPLE!r}",
            nearest(place, list(_PLACES)),
        )
    chain = [piece.strip() for piece in rest[:_LONGEST].split("+")]
    if not all(chain):
        raise _refused(
            "a filter step without a component", shown, f"a value with its unit, as {_EXAMPLE!r}"
        )
    components = tuple(_component(piece, shown) for piece in chain)
    return FilterStep(cast(Literal["series", "across"], place), components, text.strip())


def _component(piece: str, shown: str) -> Component:
    first, *others = _TOKEN.findall(piece)
    kind, value = _value(first, shown)
    winding = rating = None
    material: CapacitorKind = "film"
    for token in others:
        if kind == "capacitor" and token in _CAPACITORS:
            material = cast(CapacitorKind, token)
        elif kind == "coil" and winding is None:
            winding = _extra(token, "resistance", "the resistance of its wire", shown)
        elif kind == "capacitor" and rating is None and token[:1].isdigit():
            rating = _extra(token, "voltage", "the volts it stands", shown)
        elif kind == "resistor" and rating is None:
            rating = _extra(token, "power", "the watts it stands", shown)
        else:
            more = {
                "coil": "the resistance of its wire after a coil",
                "capacitor": "film, bipolar or polarised and its volts after a capacitor",
                "resistor": "its watts after a resistor",
            }[kind]
            raise _refused(
                f"{token!r} is one too many",
                shown,
                more,
                nearest(token, list(_CAPACITORS)) if kind == "capacitor" else "",
            )
    return Component(kind, value, winding, rating, material)


def _value(token: str, shown: str) -> tuple[ComponentKind, Quantity]:
    if re.search(r"\d,\d", token):
        raise _refused("a comma inside a number", shown, hint="Write the decimal point as a dot.")
    for kind, quantity in _QUANTITIES.items():
        text = token if "±" in token else f"{token} {_TOLERANCES[kind]}"
        try:
            value = parse_quantity(text, quantity)
        except QuantityError:
            continue
        least, most, words = _LIMITS[kind]
        if not least <= value.likely <= most:
            size = format_quantity(value.likely, quantity)
            raise _refused(f"{size} cannot be right in a filter", shown, f"a {kind} of {words}")
        return cast(ComponentKind, kind), value
    raise _refused(
        f"{token!r} is no component",
        shown,
        "a resistor in Ω, a coil in mH or a capacitor in µF, with its unit",
    )


def _extra(token: str, kind: str, what: str, shown: str) -> Quantity:
    try:
        value = parse_quantity(token, kind)
    except QuantityError as error:
        problem = error.problems[0]
        raise _refused(f"{token!r}: {problem.says}", shown, what, problem.hint) from None
    if value.likely <= 0.0:
        raise _refused(f"{token!r} must be above zero", shown, what)
    return value


def _refused(says: str, shown: str, expected: str = "", hint: str = "") -> QuantityError:
    return QuantityError(Problem(says, got=repr(shown), expected=expected, hint=hint))


def _read(value: object) -> FilterStep:
    if isinstance(value, FilterStep):
        return value
    if not isinstance(value, str):
        shown = repr(value) if len(repr(value)) < 60 else f"a {type(value).__name__}"
        raise value_error(Problem("not a filter step", shown, f"text such as {_EXAMPLE!r}"))
    try:
        return parse_filter_step(value)
    except QuantityError as error:
        raise value_error(error.problems[0]) from None


class _StepReader:
    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            _read, serialization=core_schema.plain_serializer_function_ser_schema(str)
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {
            "type": "string",
            "description": "a step of a filter: series or across, then its components",
            "examples": [_EXAMPLE, "across 0.33 mH 0.4 Ω", "across 6.8 Ω 5 W + 12 µF"],
        }


FilterField = Annotated[FilterStep, _StepReader()]
