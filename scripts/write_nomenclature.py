"""Write docs/nomenclature.md from the physics functions; with --check, only say if it is stale."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import FunctionType, ModuleType

from boomwright import physics

PAGE = Path(__file__).resolve().parent.parent / "docs" / "nomenclature.md"

NOT_QUANTITIES = {
    "air": "an `AirLoad`, whose fields carry their units",
    "alignment": "name of a filter's polynomial",
    "driver": "a `DriverModel`, whose fields carry their units",
    "ends": "one of three words",
    "family": "name of a family of vented boxes",
    "high_pass": "yes or no",
    "limits": "a `DriveLimits`, whose fields carry their units",
    "order": "order of a filter, 1 to 4",
    "place": "one of four words",
    "response": "a `BoxResponse`, whose fields carry their units",
    "reversed_": "yes or no for each driver",
    "side": "one of two words",
    "step": "a `Step`, whose fields carry their units",
    "steps": "several `Step`s, whose fields carry their units",
    "axis": "which axis of an array to work along",
    "battery": "a `Battery`, whose fields carry their units",
    "bundled": "yes or no",
    "chemistry": "a `Chemistry`, whose fields carry their units",
    "facing": "one of three words",
    "kibam": "a `KibamFit`, whose fields carry their units",
    "kind": "name of a kind of fuse",
    "material": "one of four words",
    "name": "a name",
    "programme": "a `Programme`, whose fields carry their units",
    "raw": "a table of the data file",
    "series": "name of a series of preferred values",
    "source": "where a value comes from, in words",
    "state": "a `BatteryState`, whose fields carry their units",
    "status": "one of four words",
    "title": "a name for people",
    "unit": "a unit, for a message",
    "what": "a name, for a message",
}
"""Parameters that have no unit, and why."""

HEAD = """\
<!-- Written by scripts/write_nomenclature.py from the code; edit the code, not this page. -->

# Nomenclature

One name for one quantity, in one unit, everywhere in `boomwright.physics`: SI units and kelvin,
[1] for a plain number, [any unit] where the unit goes in and comes out unchanged. A name that ends
in `_db` is in decibels. Words of the trade (`fs`, `qts`, `vas`, `xmax`) keep their spelling.
"""


@dataclass(frozen=True)
class Use:
    """One parameter of one public function."""

    name: str
    unit: str | None
    meaning: str
    module: str
    function: str


def modules() -> list[ModuleType]:
    """Every module of physics."""
    found = sorted(item.name for item in pkgutil.iter_modules(physics.__path__))
    return [importlib.import_module(f"{physics.__name__}.{name}") for name in found]


def public_functions(module: ModuleType) -> list[FunctionType]:
    """Functions that a module says are for others."""
    named = (getattr(module, name) for name in module.__all__)
    return [item for item in named if inspect.isfunction(item)]


def sections(function: FunctionType) -> dict[str, str]:
    """Sections of a docstring by their heading."""
    parts = re.split(r"^(\w+)\n-+\n", inspect.getdoc(function) or "", flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def described(function: FunctionType) -> dict[str, tuple[str | None, str]]:
    """Unit and meaning of each parameter that a docstring describes."""
    found: dict[str, tuple[str | None, str]] = {}
    body = sections(function).get("Parameters", "")
    for entry in re.findall(r"^(\S.*\n(?:[ \t]+.*\n?)*)", body, flags=re.MULTILINE):
        head, _, text = entry.partition("\n")
        names = [name.strip() for name in head.split(" : ")[0].split(",")]
        text = " ".join(text.split())
        units = re.findall(r"\[([^\]]+)\]", text)
        if len(units) != len(names):
            units = [units[0] if units else None] * len(names)
        found.update({name: (unit, text) for name, unit in zip(names, units, strict=True)})
    return found


def uses() -> Iterator[Use]:
    """Every parameter of every public function."""
    for module in modules():
        short = module.__name__.rpartition(".")[2]
        for function in public_functions(module):
            known = described(function)
            for name in inspect.signature(function).parameters:
                unit, meaning = known.get(name, (None, ""))
                yield Use(name, unit, meaning, short, function.__name__)


def _words(found: list[Use]) -> str:
    """What a name stands for: its commonest descriptions up to their units, three at most."""
    texts = [re.split(r"[:;.]? ?\[|[:;.] |, above|, at least", use.meaning)[0] for use in found]
    known = Counter(text.rstrip(".,") for text in texts if text and not text.startswith("As in"))
    return "; ".join(text for text, _ in known.most_common(3))


def page() -> str:
    """The whole page."""
    by_name: dict[str, list[Use]] = {}
    for use in uses():
        by_name.setdefault(use.name, []).append(use)
    lines = [HEAD, "| name | unit | meaning | used in |", "|---|---|---|---|"]
    for name in sorted(by_name.keys() - NOT_QUANTITIES.keys()):
        found = by_name[name]
        units = ", ".join(sorted({str(use.unit) for use in found}))
        where = ", ".join(f"`{module}`" for module in sorted({use.module for use in found}))
        lines.append(f"| `{name}` | {units} | {_words(found)} | {where} |")
    lines += ["", "## Parameters that are no quantities", "", "| name | what it is |", "|---|---|"]
    lines += [f"| `{name}` | {why} |" for name, why in NOT_QUANTITIES.items()]
    return "\n".join(lines) + "\n"


def main() -> int:
    fresh = page()
    if "--check" in sys.argv[1:]:
        stale = not PAGE.exists() or PAGE.read_text(encoding="utf-8") != fresh
        print("docs/nomenclature.md is stale" if stale else "docs/nomenclature.md is fresh")
        return int(stale)
    PAGE.write_text(fresh, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
