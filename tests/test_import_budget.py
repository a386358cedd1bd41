"""Start-up stays light: what the commands may load, and how much of it."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = ("altair", "typst", "fastapi", "uvicorn", "scipy", "matplotlib", "pandas", "tomlkit")
CHECK = ("boomwright.build.read", "boomwright.outcome.run", "boomwright.advice.judge")


def _loaded(*modules: str) -> set[str]:
    """Modules in memory of a fresh interpreter once it has imported these."""
    code = f"import sys, {', '.join(modules)}; print('\\n'.join(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-c", code], capture_output=True, text=True, check=True
    )
    loaded = set(done.stdout.split())
    timed = {line.rpartition("|")[2].strip() for line in done.stderr.splitlines()}
    assert set(modules) <= loaded & timed
    return loaded


def _tops(modules: set[str]) -> set[str]:
    return {module.partition(".")[0] for module in modules}


def test_check_loads_nothing_heavy():
    loaded = _loaded(*CHECK)
    assert {"numpy", "pydantic"} <= _tops(loaded)
    assert not _tops(loaded) & {*HEAVY, "typer", "rich", "quantiphy"}
    # Some 370 at the time of writing, nearly all of them numpy's, pydantic's and the language's.
    assert len(loaded) < 480


@pytest.mark.parametrize("module", CHECK)
def test_each_part_of_check_stands_alone(module):
    assert not _tops(_loaded(module)) & set(HEAVY)


def test_commands_load_only_what_parses_them():
    loaded = _loaded("boomwright.cli")
    assert "typer" in _tops(loaded)
    assert not _tops(loaded) & {*HEAVY, "numpy", "pydantic", "rich", "quantiphy"}
    assert len(loaded) < 220


def test_errors_load_nothing_of_ours():
    loaded = _loaded("boomwright.errors")
    assert {module for module in loaded if module.startswith("boomwright")} == {
        "boomwright",
        "boomwright.errors",
    }
    assert not _tops(loaded) & {*HEAVY, "numpy", "pydantic", "typer"}


def test_help_runs_without_the_library():
    code = (
        "import sys\n"
        "sys.argv = ['boomwright', '--help']\n"
        "from boomwright.cli import main\n"
        "try:\n    main()\n"
        "except SystemExit as end:\n    code = end.code\n"
        "print('LOADED', int(bool(code)), *sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    text, _, tail = done.stdout.partition("LOADED")
    assert "check" in text
    assert tail.split()[0] == "0"
    assert not _tops(set(tail.split()[1:])) & {*HEAVY, "numpy", "pydantic", "quantiphy"}
