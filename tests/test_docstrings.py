"""Docstrings of physics: every law says what goes in and out, whence it comes, and shows it."""

from __future__ import annotations

import inspect

import pytest
from tests.loaded import load_script

WRITER = load_script("write_nomenclature")
MODULES = WRITER.modules()
FUNCTIONS = {
    f"{module.__name__.rpartition('.')[2]}.{function.__name__}": function
    for module in MODULES
    for function in WRITER.public_functions(module)
}
NO_LAW = {
    "arrays.above_zero": "checks and passes on",
    "arrays.floats": "changes the type only",
    "arrays.laplace": "changes the unit only",
    "arrays.not_negative": "checks and passes on",
    "chemistry.chemistry_from_table": "reads data; each fact names its own source",
    "chemistry.load_chemistries": "reads data; each fact names its own source",
    "fuse.fuse_kind": "reads data; each fact names its own source",
    "fuse.fuse_kinds": "reads data; each fact names its own source",
    "nature.kelvin": "changes the unit only",
    "programme.load_programmes": "reads data; each programme names its own source",
}
"""Functions without a References section, and why."""


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__.rpartition(".")[2])
def test_module_says_what_is_public(module):
    own = {
        name
        for name, item in vars(module).items()
        if inspect.isfunction(inspect.unwrap(item) if callable(item) else item)
        and item.__module__ == module.__name__
        and not name.startswith("_")
    }
    assert module.__doc__
    assert own <= set(module.__all__)
    assert all(hasattr(module, name) for name in module.__all__)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_function_describes_itself(name):
    function = FUNCTIONS[name]
    found = WRITER.sections(function)
    assert inspect.getdoc(function).splitlines()[0].endswith(".")
    assert "Returns" in found
    assert ">>> " in found.get("Examples", "")
    assert set(WRITER.described(function)) == set(inspect.signature(function).parameters)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_law_names_its_source(name):
    cited = ".. [1] " in WRITER.sections(FUNCTIONS[name]).get("References", "")
    assert cited != (name in NO_LAW)


def test_exceptions_exist():
    assert set(NO_LAW) <= set(FUNCTIONS)


def test_every_law_is_seen():
    # The sources hold more than a hundred laws; a reader that went blind would find none.
    assert len(FUNCTIONS) > 100
