"""Pages that come from the code are fresh, links lead somewhere, and named things exist."""

import importlib
import re
from pathlib import Path

import pytest
from tests.loaded import load_script

ROOT = Path(__file__).resolve().parent.parent
PAGES = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])


WRITER = load_script("write_docs")


@pytest.mark.parametrize("page", sorted(WRITER.PAGES))
def test_page_from_code_is_fresh(page):
    written = (ROOT / "docs" / page).read_text(encoding="utf-8")
    assert written == WRITER.PAGES[page](), f"docs/{page} is stale: run make docs"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_lead_to_files(page):
    text = page.read_text(encoding="utf-8")
    links = re.findall(r"\]\(([^)#:]+?)(?:#[^)]*)?\)", text)
    missing = [link for link in links if not (page.parent / link).exists()]
    assert not missing


def figure_rows():
    text = (ROOT / "docs" / "figures.md").read_text(encoding="utf-8")
    rows = [line.split("|")[1:-1] for line in text.splitlines() if line.startswith("| ")]
    return [[cell.strip() for cell in row] for row in rows[1:]]


@pytest.mark.parametrize("row", figure_rows(), ids=lambda row: row[0])
def test_figure_leads_to_law_source_and_test(row):
    _, _, law, page, test = row
    module, _, name = law.strip("`").rpartition(".")
    function = getattr(importlib.import_module(module), name)
    if module.startswith("boomwright.physics"):
        assert "References" in function.__doc__
    link = re.search(r"\((.*?)\)", page)[1]
    explained = (ROOT / "docs" / link).read_text(encoding="utf-8")
    assert name in explained, f"docs/{link} does not speak of {name}"
    held = ROOT / test.strip("`")
    assert "def test_" in held.read_text(encoding="utf-8")


def test_method_pages_name_tests_that_exist():
    for page in (ROOT / "docs" / "method").glob("*.md"):
        named = re.findall(r"tests/[\w/]+\.py", page.read_text(encoding="utf-8"))
        assert named, f"{page.name} names no test"
        missing = [name for name in named if not (ROOT / name).exists()]
        assert not missing, page.name


def test_readme_commands_exist():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    for target in re.findall(r"^make (\w+)", text, re.MULTILINE):
        assert re.search(rf"^{target}:", makefile, re.MULTILINE), target
    commands = {command.name or command.callback.__name__ for command in _app().registered_commands}
    named = set(re.findall(r"boomwright (new|check|\w+)\b(?= |`|$)", text)) & {
        "new",
        "check",
        "drawer",
        "schema",
    }
    assert named
    assert named <= commands


def _app():
    from boomwright.cli.app import app

    return app
