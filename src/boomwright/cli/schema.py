"""``boomwright schema``: the JSON Schema of a build file."""

from __future__ import annotations

import json
from typing import Any

import typer

from boomwright.build.model import MANY_KINDS, Build

__all__ = ["build_schema", "print_schema"]


def build_schema() -> dict[str, Any]:
    """JSON Schema of a build file as people write it.

    A kind that may stand once or several times is a table or a list of tables; a table that names a
    part of the drawer may leave out whatever the part says.

    Returns
    -------
    dict
    """
    schema = Build.model_json_schema()
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    for kind in MANY_KINDS:
        tables = schema["properties"][kind]
        one = tables["items"]
        described = {key: tables[key] for key in ("description", "title") if key in tables}
        schema["properties"][kind] = {**described, "anyOf": [one, {"type": "array", "items": one}]}
    for name, table in schema["$defs"].items():
        if "part" in table.get("properties", {}) and "required" in table:
            required = table.pop("required")
            table["anyOf"] = [{"required": required}, {"required": ["part"]}]
            schema["$defs"][name] = table
    return schema


def print_schema() -> None:
    """Print the schema."""
    typer.echo(json.dumps(build_schema(), ensure_ascii=False, indent=2))
