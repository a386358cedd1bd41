"""The build as a whole: its kinds, its rules, frozen, and back to data."""

from __future__ import annotations

from typing import Any, get_args

import pytest
from pydantic import BaseModel, ValidationError

from boomwright.build.drawer import DRAWER_KINDS
from boomwright.build.fields import Table
from boomwright.build.model import FED_KINDS, MANY_KINDS, ONE_KINDS, Build
from boomwright.build.music import Music
from boomwright.build.power import Fed, Named, RatePoint
from boomwright.build.quantities import Quantity

VALUES: dict[str, Any] = {
    "name": "Stall",
    "battery": {"name": "b", "chemistry": "lead-agm", "cells": 6, "capacity": "7 Ah"},
    "amplifier": [
        {
            "name": "amp",
            "fed_by": "b",
            "amplifier_class": "D",
            "topology": "bridge",
            "supply_min": "8 V",
            "supply_max": "24 V",
            "load_min": "4 Ω",
        }
    ],
    "driver": [{"name": "d", "amplifier": "amp", "impedance": "8 Ω"}],
}
SUPPLY = {"name": "s", "voltage": "12 V", "current_limit": "3 A"}


def _without(*kinds: str) -> dict[str, Any]:
    return {key: value for key, value in VALUES.items() if key not in kinds}


def _says(values: dict[str, Any]) -> list[str]:
    with pytest.raises(ValidationError) as caught:
        Build.model_validate(values)
    return [detail["msg"] for detail in caught.value.errors()]


def test_build_has_a_field_for_every_kind():
    assert {*ONE_KINDS, *MANY_KINDS} == set(Build.model_fields) - {
        "name",
        "story",
        "parts",
        "want",
        "music",
    }
    for kind, model in ONE_KINDS.items():
        assert model in get_args(Build.model_fields[kind].annotation)
    for kind, model in MANY_KINDS.items():
        assert get_args(Build.model_fields[kind].annotation) == (model, ...)


def test_fed_kinds_are_those_that_take_power():
    assert set(FED_KINDS) == {
        "fuse",
        "switch",
        "cutoff",
        "polarity",
        "rail",
        "receiver",
        "usb",
        "load",
        "amplifier",
    }


@pytest.mark.parametrize("model", [Build, Music, RatePoint, *DRAWER_KINDS.values()])
def test_every_field_says_what_it_is(model):
    for key, field in model.model_fields.items():
        assert field.description, key
        assert field.description.endswith("."), key


def _refused(model: type[BaseModel], values: dict[str, Any]) -> set[str]:
    """Types of the errors that values give, none where they fit."""
    try:
        model.model_validate(values)
    except ValidationError as error:
        return {detail["type"] for detail in error.errors()}
    return set()


@pytest.mark.parametrize("model", DRAWER_KINDS.values())
def test_defaults_lie_in_their_own_limits(model):
    # Defaults are not checked when the model is made, so each is read again as its text.
    texts = {
        key: field.default.text
        for key, field in model.model_fields.items()
        if isinstance(field.default, Quantity)
    }
    assert _refused(model, texts) <= {"missing"}
    required = [key for key, field in model.model_fields.items() if field.is_required()]
    assert set(texts).isdisjoint(required)


def test_source_is_the_battery_or_the_supply():
    assert Build.model_validate(VALUES).source.name == "b"
    assert Build.model_validate({**_without("battery"), "supply": SUPPLY}).source.name == "s"
    assert _says({**VALUES, "supply": SUPPLY}) == ["both a battery and a supply"]
    assert _says(_without("battery")) == ["no source of power"]


@pytest.mark.parametrize("kind", ["amplifier", "driver"])
def test_build_must_make_sound(kind):
    assert _says(_without(kind)) == ["nothing that makes sound"]
    assert _says({**VALUES, kind: []}) == ["nothing that makes sound"]


def test_source_of_a_build_made_without_checks():
    with pytest.raises(ValueError, match="without battery and supply"):
        _ = Build.model_construct(battery=None, supply=None).source


def test_fed_parts_come_with_their_kind_in_order():
    loads = [{"name": f"l{n}", "fed_by": "b", "current": f"{n + 1} A"} for n in range(2)]
    build = Build.model_validate({**VALUES, "load": loads})
    fed = build.fed()
    assert [(kind, part.name) for kind, part in fed] == [
        ("load", "l0"),
        ("load", "l1"),
        ("amplifier", "amp"),
    ]
    assert all(isinstance(part, Fed) for _, part in fed)


def test_build_cannot_be_changed():
    build = Build.model_validate(VALUES)
    with pytest.raises(ValidationError, match="frozen"):
        build.name = "other"
    with pytest.raises(ValidationError, match="frozen"):
        build.amplifier[0].channels = 3


@pytest.mark.parametrize("name", ["", " ", "x" * 81, 5, None])
def test_name_of_a_build(name):
    assert len(_says({**VALUES, "name": name})) == 1


def test_build_goes_to_data_and_back():
    build = Build.model_validate(VALUES)
    data = build.model_dump(exclude_unset=True)
    assert data["battery"]["capacity"] == "7 Ah"
    assert Build.model_validate(data) == build
    whole = build.model_dump(exclude_none=True)
    again = Build.model_validate(whole)
    assert again.amplifier[0].gain == build.amplifier[0].gain
    assert again.want.hours == build.want.hours
    assert str(again.want.level) == str(build.want.level)
    assert again.want.level.level.likely == build.want.level.level.likely


def test_schema_describes_every_table():
    schema = Build.model_json_schema()
    assert set(schema["properties"]) == set(Build.model_fields)
    assert schema["required"] == ["name"]
    assert schema["additionalProperties"] is False


def test_every_kind_is_a_named_table():
    for kind, model in DRAWER_KINDS.items():
        assert issubclass(model, Named), kind
        assert issubclass(model, Table)
        assert issubclass(model, BaseModel)
        assert model.__name__.lower() == kind
