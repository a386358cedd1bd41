"""The pages as a site: built without a warning, whole, reachable, and from nobody else's server."""

import logging
import re
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urldefrag

import pytest
from mkdocs.commands.build import build
from mkdocs.config import load_config
from tests.loaded import load_script
from typer.testing import CliRunner

from boomwright.advice.rules import all_rules
from boomwright.cli.app import app

ROOT = Path(__file__).resolve().parent.parent
WRITER = load_script("write_docs")


class Page(HTMLParser):
    """What a page fetches by itself, where its links lead, and the names within it."""

    def __init__(self, text):
        super().__init__()
        self.fetched, self.links, self.named, self.in_nav = [], [], set(), False
        self.nav = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        values = dict(attrs)
        self.named.add(values.get("id"))
        if tag == "nav":
            self.in_nav = True
        if tag == "a" and "href" in values:
            self.links.append(values["href"])
            if self.in_nav:
                self.nav.append(values["href"])
        if tag == "link":
            self.fetched.append(values["href"])
        self.fetched += [
            values[key] for key in ("src", "srcset", "data", "poster") if key in values
        ]

    def handle_endtag(self, tag):
        if tag == "nav":
            self.in_nav = False


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    folder = tmp_path_factory.mktemp("site")
    config = load_config(str(ROOT / "mkdocs.yml"), site_dir=str(folder), strict=True)
    said = []
    handler = logging.Handler(level=logging.WARNING)
    handler.emit = lambda record: said.append(record.getMessage())
    logging.getLogger("mkdocs").addHandler(handler)
    try:
        build(config)
    finally:
        logging.getLogger("mkdocs").removeHandler(handler)
    assert said == []
    pages = {
        file.relative_to(folder).as_posix(): Page(file.read_text(encoding="utf-8"))
        for file in folder.rglob("*.html")
    }
    return folder, pages


def test_every_page_is_built(site):
    _, pages = site
    sources = {file.relative_to(ROOT / "docs") for file in (ROOT / "docs").rglob("*.md")}
    assert {source.with_suffix(".html").as_posix() for source in sources} <= set(pages)


def test_nothing_is_fetched_from_elsewhere(site):
    folder, pages = site
    outside = re.compile(r"^(?:https?:)?//|^data:")
    foreign = {
        name: [url for url in page.fetched if outside.match(url)] for name, page in pages.items()
    }
    assert not {name: urls for name, urls in foreign.items() if urls}
    for style in folder.rglob("*.css"):
        assert not re.search(r"@import|url\(|https?:", style.read_text(encoding="utf-8")), style
    for picture in (folder / "img").glob("*.svg"):
        text = picture.read_text(encoding="utf-8")
        assert not re.search(r"""(?:href|src)=["']http|@import|url\(["']?http""", text), picture


def test_links_within_the_site_lead_somewhere(site):
    folder, pages = site
    lost = []
    for name, page in pages.items():
        if name == "404.html":  # its links start at the root of whatever serves it
            continue
        for link in [*page.links, *page.fetched]:
            path, anchor = urldefrag(link)
            if re.match(r"[a-z]+:", path):
                continue
            target = (folder / name).parent / unquote(path) if path else folder / name
            if not target.resolve().exists() or (
                anchor
                and anchor not in pages[target.resolve().relative_to(folder).as_posix()].named
            ):
                lost.append((name, link))
    assert lost == []


def test_navigation_reaches_every_page(site):
    _, pages = site
    assert set(pages) - {"404.html"} == set(pages["index.html"].nav)


def test_every_rule_has_a_page_and_every_page_a_rule():
    pages = {file.stem for file in (ROOT / "docs" / "rules").glob("*.md")}
    assert pages == {rule.id for rule in all_rules()}


@pytest.mark.parametrize("rule", all_rules(), ids=lambda rule: rule.id)
def test_rule_page_says_what_a_reader_needs(rule):
    text = (ROOT / "docs" / "rules" / f"{rule.id}.md").read_text(encoding="utf-8")
    assert text.count(f"# {rule.title}\n") == 1
    assert rule.source in text
    assert re.search(rf"^[●▲■] \w+  .*{rule.id}$", text, re.MULTILINE), "no case"
    assert f"boomwright explain {rule.id}" in text
    held = re.findall(r"tests/advice/\w+\.py", text)
    assert held, "no test holds it"
    assert all(rule.id in (ROOT / name).read_text(encoding="utf-8") for name in held)


def test_cases_are_of_rules_that_exist_and_need_one():
    named = set(WRITER.rule_pages.cases())
    assert named <= {rule.id for rule in all_rules()}


def test_pages_show_what_the_command_prints(tmp_path, monkeypatch):
    worked = WRITER.rule_pages.worked
    text = WRITER.rule_pages.example("first-attempt")
    (tmp_path / "my-box.toml").write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    said = CliRunner(env={"NO_COLOR": "1", "TERM": "dumb"}).invoke(
        app, ["check", "my-box.toml", "--no-effects"]
    )
    printed = "\n".join(line.rstrip() for line in said.output.splitlines())
    assert printed.strip() == worked(text, "my-box.toml").screen.strip()


def test_tutorial_ends_where_it_says():
    text = (ROOT / "docs" / "tutorial.md").read_text(encoding="utf-8")
    heads = re.findall(r"<!-- shows: four answers -->\n\n```text\n(.*?)```", text, re.DOTALL)
    assert heads[0].splitlines()[0].endswith("■ stop")
    assert heads[-1].splitlines()[0].endswith("● fine")
    assert "0 to mind" in heads[-1] or "nothing to stop or to mind" in heads[-1]


def test_tutorial_shows_every_step_filled():
    text = (ROOT / "docs" / "tutorial.md").read_text(encoding="utf-8")
    marks = list(WRITER.tutorial_page.MARK.finditer(text))
    assert len(marks) == text.count("<!-- end -->") == len(re.findall(r"<!-- (?!end)", text))
    assert all("```" in mark["rest"] for mark in marks if mark["verb"] != "mend by hand")
