"""Openings of a cabinet as tables of a build file: a vent, or a passive radiator."""

from __future__ import annotations

import math
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from boomwright.build.fields import Q, Table, typical, value_error
from boomwright.build.quantities import Quantity
from boomwright.errors import Problem

__all__ = ["Radiator", "Vent"]


class Vent(Table):
    """A vent: a tube or a slot that tunes the box."""

    shape: Literal["round", "slot"] = Field("round", description="A tube, or a slot.")
    count: int = Field(1, ge=1, le=8, description="How many of them, all alike.")
    diameter: Annotated[Quantity, Q("length", "5 mm", "50 cm")] | None = Field(
        None, description="Inside diameter of a tube."
    )
    width: Annotated[Quantity, Q("length", "5 mm", "2 m")] | None = Field(
        None, description="Inside width of a slot."
    )
    height: Annotated[Quantity, Q("length", "2 mm", "50 cm")] | None = Field(
        None, description="Inside height of a slot."
    )
    length: Annotated[Quantity, Q("length", "1 mm", "3 m")] = Field(
        description="Length along its middle; the thickness of the panel for a plain hole."
    )
    ends: Literal["flush-free", "flush-flush", "free-free"] = Field(
        "flush-free", description="Whether each end lies in a panel or stands free in the air."
    )

    along: int = Field(
        0,
        ge=0,
        le=3,
        description="Panels that its inner end lies along: 1 for a slot on the floor, 3 for one "
        "from side to side.",
    )

    @model_validator(mode="after")
    def _has_a_size(self) -> Self:
        wanted = ("diameter",) if self.shape == "round" else ("width", "height")
        missing = [name for name in wanted if getattr(self, name) is None]
        if missing:
            keys = " and ".join(missing)
            example = 'diameter = "5 cm"' if self.shape == "round" else 'height = "2 cm"'
            raise value_error(
                Problem(f"a {self.shape} vent without its {keys}", expected=f"such as {example}")
            )
        return self

    @property
    def area(self) -> float:
        """Area of all of them together [m²]."""
        if self.shape == "round" and self.diameter is not None:
            return self.count * math.pi * self.diameter.likely**2 / 4.0
        if self.width is not None and self.height is not None:
            return self.count * self.width.likely * self.height.likely
        raise ValueError("a vent without a size cannot be made")


class Radiator(Table):
    """A passive radiator: a cone without a motor in place of a vent."""

    count: int = Field(1, ge=1, le=8, description="How many of them, all alike.")
    sd: Annotated[Quantity, Q("cone", "1 cm²", "2000 cm²")] = Field(description="Cone area of one.")
    mass: Annotated[Quantity, Q("mass", "0.1 g", "3 kg")] = Field(
        description="Moving mass of one, with what was added to it."
    )
    fs: Annotated[Quantity, Q("frequency", "3 Hz", "200 Hz")] = Field(
        description="Its resonance in free air with that mass."
    )
    qms: Annotated[Quantity, Q("ratio", "0.5", "50")] = Field(
        typical("8 [4 to 12]", "ratio"), description="Its mechanical Q in free air."
    )
    xmax: Annotated[Quantity, Q("length", "0.2 mm", "80 mm")] | None = Field(
        None, description="Travel one way that it stands."
    )
