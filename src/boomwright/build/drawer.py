"""The parts drawer: typical parts as data, and a person's own parts laid over them.

Each kind of part has one file ``parts/KIND.toml`` with a table per part. Every part says its
``status`` (standard, typical or invented) and its ``source``; a value of its own may say another
status in brackets.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from boomwright.build.components import COMPONENT_KINDS
from boomwright.build.model import MANY_KINDS, ONE_KINDS
from boomwright.build.power import Named

__all__ = ["DRAWER_KINDS", "Drawer", "load_drawer"]

DRAWER_KINDS: Mapping[str, type[Named]] = MappingProxyType(
    {**ONE_KINDS, **MANY_KINDS, **COMPONENT_KINDS}
)
"""Every kind of part with its model."""

_TEXTS = frozenset(
    {
        *("name", "part", "title", "status", "source", "fed_by", "lead", "connector"),
        *("sensitivity_at", "pins"),
    }
)
"""Keys whose text is never a value with a unit, even where it starts with a digit."""

_ENDS_IN_BASIS = re.compile(r"\(\s*(?!A\))[A-Za-z]+\s*\)\s*$")
_STARTS_WITH_NUMBER = re.compile(r"^\s*(?:[+-]?\.?\d|AWG)")


@dataclass(frozen=True)
class Drawer:
    """Parts by kind and name, as raw tables.

    Parameters
    ----------
    tables : mapping of str to mapping
        Kind → part name → the table as read.
    """

    tables: Mapping[str, Mapping[str, Mapping[str, Any]]] = field(
        default_factory=lambda: MappingProxyType({})
    )

    def names(self, kind: str) -> tuple[str, ...]:
        """Names of the parts of a kind, in the file's order."""
        return tuple(self.tables.get(kind, {}))

    def filling(self, kind: str, name: str) -> dict[str, Any] | None:
        """A part's values as a table of the build file would hold them, None if there is none.

        A value without a basis of its own takes the part's status, so that the reader of the
        build knows what it rests on.
        """
        part = self.tables.get(kind, {}).get(name)
        if part is None:
            return None
        status = str(part.get("status", "typical"))
        return _with_basis(part, status)

    def part(self, kind: str, name: str) -> Named:
        """A part, checked.

        Raises
        ------
        KeyError
            If there is no such part.
        pydantic.ValidationError
            If its values do not fit its kind.
        """
        filling = self.filling(kind, name)
        if filling is None:
            raise KeyError(name)
        return DRAWER_KINDS[kind].model_validate({"name": name, **filling})

    def with_overlay(self, tables: Mapping[str, Mapping[str, Mapping[str, Any]]]) -> Drawer:
        """This drawer with parts added, or values of its parts replaced one by one."""
        merged: dict[str, dict[str, Mapping[str, Any]]] = {
            kind: dict(parts) for kind, parts in self.tables.items()
        }
        for kind, parts in tables.items():
            for name, values in parts.items():
                old = merged.setdefault(kind, {}).get(name, {})
                # What a person writes over a typical part is theirs: it does not take its status.
                own = _with_basis(values, str(values.get("status", "label")))
                kept = _with_basis(old, str(old.get("status", "typical")))
                merged[kind][name] = {"status": "label", **kept, **own}
        return Drawer(merged)


def _with_basis(table: Mapping[str, Any], status: str) -> dict[str, Any]:
    """The table with the status put to every value that has no basis of its own."""
    return {
        key: value if key in _TEXTS else _value_with_basis(value, status)
        for key, value in table.items()
    }


def _value_with_basis(value: Any, status: str) -> Any:
    if isinstance(value, list):
        return [_value_with_basis(item, status) for item in value]
    if isinstance(value, dict):
        return _with_basis(value, status)
    if isinstance(value, str) and _STARTS_WITH_NUMBER.match(value):
        return value if _ENDS_IN_BASIS.search(value) else f"{value} ({status})"
    return value


class _Shipped(Mapping[str, Mapping[str, Mapping[str, Any]]]):
    """The shipped parts; a kind is read when first asked for, as a check needs few of them."""

    def __init__(self) -> None:
        folder = resources.files("boomwright.build") / "parts"
        files = {kind: folder / f"{kind}.toml" for kind in DRAWER_KINDS}
        self._files = {kind: file for kind, file in files.items() if file.is_file()}
        self._tables: dict[str, Mapping[str, Mapping[str, Any]]] = {}

    def __getitem__(self, kind: str) -> Mapping[str, Mapping[str, Any]]:
        if kind not in self._tables:
            self._tables[kind] = tomllib.loads(self._files[kind].read_text(encoding="utf-8"))
        return self._tables[kind]

    def __iter__(self) -> Iterator[str]:
        return iter(self._files)

    def __len__(self) -> int:
        return len(self._files)


@cache
def load_drawer() -> Drawer:
    """The typical parts that come with Boomwright.

    Returns
    -------
    Drawer

    Examples
    --------
    >>> "1N4739A" in load_drawer().names("zener")
    True
    """
    return Drawer(_Shipped())
