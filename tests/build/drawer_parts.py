"""For tests of the drawer's parts: parts by kind, and the physics data that they are held to."""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any, TypeVar

from boomwright.build.drawer import DRAWER_KINDS, load_drawer
from boomwright.build.power import Named

P = TypeVar("P", bound=Named)

ROOT = Path(__file__).parents[2]
DRAWER = load_drawer()


def of_kind(model: type[P]) -> list[P]:
    """All parts of one kind, by the model of the kind."""
    kind = next(kind for kind, found in DRAWER_KINDS.items() if found is model)
    parts = [DRAWER.part(kind, name) for name in DRAWER.names(kind)]
    assert parts
    assert all(isinstance(part, model) for part in parts)
    return [part for part in parts if isinstance(part, model)]


def physics_data(file: str) -> dict[str, Any]:
    """One file of the data that physics works with."""
    text = files("boomwright.physics.data").joinpath(file).read_text(encoding="utf-8")
    return tomllib.loads(text)


CHEMISTRIES = physics_data("chemistries.toml")
MADE_FOR = {"lead": "lead-agm", "lifepo4": "lifepo4", "li-ion": "li-ion-nmc", "nimh": "nimh"}
"""The chemistry of the battery that a charger of each kind is made for."""


def charged_cells(name: str) -> int:
    """Cells that a charger or a cutoff is for, read from its name."""
    if cells := re.search(r"-(\d+)s-", name):
        return int(cells[1])
    return 3 if "-6v-" in name else 6


def page(path: str) -> str:
    """Text of a page of the manual."""
    return (ROOT / path).read_text(encoding="utf-8")
