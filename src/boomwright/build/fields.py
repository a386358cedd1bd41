"""Field types of the build model: quantities with their plausible limits, leads and levels."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from boomwright.build.quantities import Quantity, format_quantity, parse_quantity
from boomwright.build.units import KINDS
from boomwright.errors import Problem, QuantityError

__all__ = [
    "Lead",
    "LeadField",
    "LevelField",
    "ListeningLevel",
    "Q",
    "Table",
    "typical",
    "value_error",
]


def value_error(problem: Problem) -> PydanticCustomError:
    """Error for pydantic that carries a Problem's parts to the reader of the file."""
    context: dict[str, Any] = {
        "says": problem.says,
        "got": problem.got,
        "expected": problem.expected,
        "hint": problem.hint,
    }
    return PydanticCustomError("boomwright", "{says}", context)


def _not_text(value: object, example: str) -> PydanticCustomError:
    shown = repr(value) if len(repr(value)) < 60 else f"a {type(value).__name__}"
    hint = ""
    if isinstance(value, int | float) and not isinstance(value, bool):
        hint = f"Write the unit too, in quotes, such as {example!r}."
    return value_error(
        Problem("not a value with a unit", shown, f"text such as {example!r}", hint=hint)
    )


@dataclass(frozen=True)
class Q:
    """Annotation of a quantity field: its kind and the limits of what can be real.

    Parameters
    ----------
    kind : str
        Key of :data:`boomwright.build.units.KINDS`.
    least, most : str
        Limits as a person writes them; outside them the value is refused.
    """

    kind: str
    least: str
    most: str

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Read text into a Quantity and hold it against the limits."""
        return core_schema.no_info_plain_validator_function(
            self._read,
            serialization=core_schema.plain_serializer_function_ser_schema(str),
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Text, with the kind, an example and the limits in words."""
        kind = KINDS[self.kind]
        return {
            "type": "string",
            "description": f"{kind.name} from {self.least} to {self.most}",
            "examples": [kind.example],
        }

    def _read(self, value: object) -> Quantity:
        if isinstance(value, Quantity):
            return value
        kind = KINDS[self.kind]
        if kind.si == "" and "" in kind.units and isinstance(value, int | float):
            value = str(value)
        if not isinstance(value, str):
            raise _not_text(value, kind.example)
        try:
            quantity = parse_quantity(value, self.kind)
        except QuantityError as error:
            raise value_error(error.problems[0]) from None
        least = parse_quantity(self.least, self.kind).likely
        most = parse_quantity(self.most, self.kind).likely
        if not least <= quantity.likely <= most:
            raise value_error(
                Problem(
                    f"{format_quantity(quantity.likely, self.kind)} cannot be right here",
                    repr(value),
                    f"from {self.least} to {self.most}",
                )
            )
        # A wide guess may reach past what can be real; the range stops there.
        low, high = max(quantity.low, least), min(quantity.high, most)
        return Quantity(quantity.likely, low, high, self.kind, quantity.basis, quantity.text)


def typical(text: str, kind: str) -> Quantity:
    """Default of a field: usual for its class, with its range.

    Examples
    --------
    >>> typical("1.5 V [0.8 to 2.5]", "voltage").basis
    'typical'
    """
    return parse_quantity(f"{text} (typical)", kind)


class Table(BaseModel):
    """Base of every table of a build file: frozen, no unknown keys, text as written."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)


class Lead(Table):
    """The pair of wires that feeds a part: copper area, one-way length, plug."""

    area: Annotated[Quantity, Q("area", "0.03 mm²", "50 mm²")] = typical(
        "0.5 mm² [0.35 to 0.75]", "area"
    )
    length: Annotated[Quantity, Q("length", "0 m", "30 m")] = typical(
        "0.4 m [0.2 to 0.8]", "length"
    )
    connector: str = ""
    stated: bool = False

    def __str__(self) -> str:
        """As a person writes it."""
        return ", ".join(
            text for text in (str(self.area), str(self.length), self.connector) if text
        )


def _read_lead(value: object) -> Lead:
    if isinstance(value, Lead):
        return value
    example = "0.75 mm², 0.4 m"
    if not isinstance(value, str):
        raise _not_text(value, example)
    fields = [field.strip() for field in value.split(",")]
    if not 2 <= len(fields) <= 3 or not all(fields):
        raise value_error(
            Problem(
                "not a lead",
                repr(value),
                f"copper size and one-way length, such as {example!r}, and perhaps a connector",
            )
        )
    area = Q("area", "0.03 mm²", "50 mm²")._read(fields[0])
    length = Q("length", "0 m", "30 m")._read(fields[1])
    return Lead(
        area=area, length=length, connector=fields[2] if len(fields) == 3 else "", stated=True
    )


class _LeadReader:
    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            _read_lead, serialization=core_schema.plain_serializer_function_ser_schema(str)
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {
            "type": "string",
            "description": "copper size, one-way length and perhaps a connector of the drawer",
            "examples": ["0.75 mm², 0.4 m", "AWG 18, 30 cm, barrel-jack-5521"],
        }


LeadField = Annotated[Lead, _LeadReader()]


class ListeningLevel(Table):
    """A sound level at a distance, such as 82 dB(A) at 2 m."""

    level: Annotated[Quantity, Q("decibel", "30 dB", "125 dB")]
    distance: Annotated[Quantity, Q("length", "0.1 m", "100 m")]

    def __str__(self) -> str:
        """As a person writes it."""
        return f"{self.level.likely:g} dB(A) at {self.distance.likely:g} m"


_LEVEL = re.compile(r"^(.*?)\s+at\s+(.*)$")
_LONGEST_LEVEL = 120


def _read_level(value: object) -> ListeningLevel:
    if isinstance(value, ListeningLevel):
        return value
    example = "82 dB(A) at 2 m"
    if not isinstance(value, str):
        raise _not_text(value, example)
    match = _LEVEL.match(value.strip()) if len(value) <= _LONGEST_LEVEL else None
    if match is None:
        raise value_error(
            Problem("a level without its distance", repr(value), f"text such as {example!r}")
        )
    return ListeningLevel(
        level=Q("decibel", "30 dB", "125 dB")._read(match[1]),
        distance=Q("length", "0.1 m", "100 m")._read(match[2]),
    )


class _LevelReader:
    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            _read_level, serialization=core_schema.plain_serializer_function_ser_schema(str)
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {
            "type": "string",
            "description": "A-weighted level at a distance",
            "examples": ["82 dB(A) at 2 m"],
        }


LevelField = Annotated[ListeningLevel, _LevelReader()]
