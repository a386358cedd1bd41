"""``boomwright compare`` as a person meets it."""

import json
import sys

import pytest
from tests.advice.cases import BASE, EXAMPLES, SUPPLY, with_

from boomwright.cli import main


@pytest.fixture
def compared(tmp_path, monkeypatch, capsys):
    def run(first, second, *words):
        monkeypatch.setenv("NO_COLOR", "1")
        paths = []
        for name, text in (("first.toml", first), ("second.toml", second)):
            path = tmp_path / name
            path.write_text(text, encoding="utf-8")
            paths.append(str(path))
        monkeypatch.setattr(sys, "argv", ["boomwright", "compare", *paths, *words])
        with pytest.raises(SystemExit) as end:
            main()
        out, err = capsys.readouterr()
        return end.value.code or 0, out, err

    return run


def test_identical_builds(compared):
    code, out, err = compared(BASE, BASE)
    assert (code, err) == (0, "")
    assert "no difference" in out
    assert "In the outcome" not in out


def test_words_fit_the_page(compared):
    market, first = (
        (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")
        for name in ("market-stall", "first-attempt")
    )
    code, out, err = compared(market, first)
    assert (code, err) == (0, "")
    assert max(len(line) for line in out.splitlines()) <= 80
    for words in ("In the file", "In the outcome", "Findings", "how loud", "B less A", "from that"):
        assert words in out
    assert "nan" not in out
    assert "inf " not in out


def test_words_say_what_changed(compared):
    other = with_(BASE, {"cutoff": {"off": "11.4 V (measured)"}, "driver": {"name": "front"}})
    code, out, _ = compared(BASE, other)
    assert code == 0
    assert "off  11.7 V (measured) → 11.4 V (measured)" in out
    assert "front (driver)  was called driver" in out


def test_data_is_complete(compared):
    code, out, _ = compared(BASE, SUPPLY, "--json")
    values = json.loads(out)
    assert code == 0
    assert not values["same"]
    assert [build["name"] for build in values["builds"]] == ["Garden table", "Garden table"]
    assert set(values["answers"]) == {"loud", "long", "hot", "safe"}
    pairs = {pair["key"]: pair for pair in values["figures"]}
    hours = pairs["duration wanted"]
    assert hours["second"] == {"likely": None, "low": None, "high": None}
    assert hours["difference"] is None
    watts = pairs["watts wanted"]
    assert watts["difference"]["likely"] == pytest.approx(
        watts["second"]["likely"] - watts["first"]["likely"]
    )
    assert {part["name"]: part["change"] for part in values["file"]}["supply"] == "added"
    assert values["says"]


def test_file_that_cannot_be_used(compared):
    code, out, err = compared(BASE, BASE.replace('part = "blade-5a"', 'part = "blade-5b"'))
    assert (code, out) == (2, "")
    assert "second.toml" in err
    assert "blade-5a" in err
