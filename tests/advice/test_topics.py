"""Topics: each stands alone, on what `advice` shares, and each brings rules."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from boomwright.advice import topics
from boomwright.advice.rules import all_rules

FILES = sorted(Path(topics.__path__[0]).glob("[!_]*.py"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_topic_imports_no_other_topic(file: Path) -> None:
    tree = ast.parse(file.read_text(encoding="utf-8"))
    named = [node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    assert not [name for name in named if name.startswith(topics.__name__)]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_topic_brings_rules(file: Path) -> None:
    assert [rule for rule in all_rules() if rule.check.__module__.endswith(f".{file.stem}")]
