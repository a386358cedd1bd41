"""Scripts of the project as modules, for the tests that hold their pages fresh."""

from __future__ import annotations

import importlib.util
import sys
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent


@cache
def load_script(name: str) -> Any:
    """A file of ``scripts/`` by its name without ending."""
    spec = importlib.util.spec_from_file_location(name, ROOT / "scripts" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    # A dataclass looks its own module up by name.
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module
