"""Imports point down the house only: each package knows the ones before it and no other."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[1] / "src" / "boomwright"
ORDER = (
    "physics",
    "circuit",
    "build",
    "outcome",
    "advice",
    "design",
    "bench",
    "paper",
    "web",
    "cli",
)
STRANGERS = {("circuit", "physics")}
"""Packages that do not import each other although one stands before the other."""


def _imported(tree: ast.Module, inside: tuple[str, ...]) -> Iterator[tuple[int, str]]:
    """Line and dotted name of all that a module imports, in functions too; relative ones undone."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, name.name) for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = inside[: len(inside) - node.level + 1] if node.level else ()
            base = ".".join((*above, *([node.module] if node.module else [])))
            yield from ((node.lineno, f"{base}.{name.name}") for name in node.names)


def _allowed(package: str, other: str) -> bool:
    if package == other or other == "errors":
        return True
    if package == "__main__":
        return other == "cli"
    if package not in ORDER or other not in ORDER or (package, other) in STRANGERS:
        return False
    return ORDER.index(other) < ORDER.index(package)


def violations(root: Path) -> list[str]:
    """Each import under a package folder that points up the house, with file and line."""
    found = []
    for file in sorted(root.rglob("*.py")):
        parts = file.relative_to(root).with_suffix("").parts
        inside = (root.name, *parts[:-1])
        for line, name in _imported(ast.parse(file.read_text(encoding="utf-8")), inside):
            steps = name.split(".")
            if steps[0] != root.name or len(steps) < 2:
                continue
            other = steps[1]
            # The package itself gives its version and no more.
            if not (root / other).is_dir() and not (root / f"{other}.py").is_file():
                continue
            if not _allowed(parts[0], other):
                found.append(f"{file.relative_to(root)}:{line} imports {name}")
    return found


def test_imports_point_down():
    assert violations(SOURCE) == []


def test_every_package_has_its_floor():
    packages = {file.parent.name for file in SOURCE.glob("*/__init__.py")}
    assert packages
    assert packages <= set(ORDER)
    assert {file.stem for file in SOURCE.glob("*.py")} <= {"__init__", "__main__", "errors"}


@pytest.fixture
def house(tmp_path: Path) -> Path:
    root = tmp_path / "boomwright"
    for package in ORDER:
        (root / package).mkdir(parents=True)
        (root / package / "__init__.py").write_text("")
        (root / package / "thing.py").write_text("x = 1\n")
    (root / "__init__.py").write_text("__version__ = '0'\n")
    (root / "errors.py").write_text("import re\n")
    return root


@pytest.mark.parametrize(
    ("file", "text"),
    [
        ("physics/bad.py", "from boomwright.build.thing import x"),
        ("physics/bad.py", "from boomwright.circuit import thing"),
        ("circuit/bad.py", "from boomwright.physics.thing import x"),
        ("build/bad.py", "import boomwright.outcome.thing"),
        ("build/bad.py", "import os, boomwright.cli as shell"),
        ("outcome/bad.py", "from boomwright import advice"),
        ("outcome/bad.py", "from ..advice import thing"),
        ("outcome/bad.py", "from .. import advice"),
        ("outcome/bad.py", "def f():\n    from boomwright.advice.thing import x\n    return x"),
        ("outcome/deep/bad.py", "from ...advice.thing import x"),
        ("advice/bad.py", "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n"
                          "    import boomwright.web"),
        ("web/bad.py", "try:\n    from boomwright.cli import thing\nexcept ImportError:\n    pass"),
        ("errors.py", "from boomwright.physics import thing"),
        ("__init__.py", "from boomwright.build.thing import x"),
        ("attic/__init__.py", "from boomwright.physics import thing"),
    ],
)  # fmt: skip
def test_import_that_points_up_is_found(house, file, text):
    assert violations(house) == []
    (house / file).parent.mkdir(exist_ok=True)
    (house / file).write_text(text)
    (found,) = violations(house)
    assert found.startswith(f"{file}:")
    assert "imports boomwright." in found


@pytest.mark.parametrize(
    ("file", "text"),
    [
        ("build/good.py", "from boomwright.physics.thing import x"),
        ("build/good.py", "from boomwright.errors import Problem"),
        ("design/good.py", "from boomwright.circuit.thing import x"),
        ("advice/good.py", "from .thing import x\nfrom ..outcome import thing"),
        ("cli/good.py", "from boomwright import __version__\nimport boomwright.web.thing"),
        ("cli/good.py", "import numpy, boomwrightish.web"),
        ("physics/good.py", "TEXT = 'from boomwright.cli import thing'"),
        ("__main__.py", "from boomwright.cli import main"),
    ],
)
def test_import_that_points_down_is_not(house, file, text):
    (house / file).write_text(text)
    assert violations(house) == []
