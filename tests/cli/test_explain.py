"""``boomwright explain`` as a person meets it."""

import json
import sys

import pytest
from tests.advice.cases import BASE, EXAMPLES

from boomwright.advice.explain import figures, rules
from boomwright.cli import main


@pytest.fixture
def said(monkeypatch, capsys):
    def run(*words):
        monkeypatch.setenv("NO_COLOR", "1")
        monkeypatch.setattr(sys, "argv", ["boomwright", *map(str, words)])
        with pytest.raises(SystemExit) as end:
            main()
        out, err = capsys.readouterr()
        return end.value.code or 0, out, err

    return run


def test_list_names_everything(said):
    code, out, _ = said("explain")
    assert code == 0
    assert max(len(line) for line in out.splitlines()) <= 80
    words = out.split()
    assert set(figures()) | set(rules()) <= set(words)
    values = json.loads(said("explain", "--json")[1])
    assert values == {"quantities": figures(), "rules": rules()}


@pytest.mark.parametrize("what", [*figures(), "fuse-too-big", "charger-missing", "hearing"])
def test_words_fit_the_page(said, what):
    code, out, err = said("explain", what)
    assert (code, err) == (0, "")
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "docs/method/" in out
    assert "tests/" in out


def test_equation_source_and_page(said):
    out = said("explain", "clean-power")[1]
    for words in ("(V - V_loss) R/(R + R_out)", "Boylestad", "method/amplifier.md", "held by"):
        assert words in out


def test_own_numbers_agree_with_check(said):
    file = EXAMPLES / "market-stall.toml"
    answers = json.loads(said("check", file, "--json", "--no-effects")[1])["answers"]
    for what, question in (("how-loud", "loud"), ("how-long", "long"), ("how-hot", "hot")):
        values = json.loads(said("explain", what, "--of", file, "--json")[1])
        assert values["build"] == "Market stall"
        (found,) = [step for step in values["steps"][what] if step["result"]]
        for end in ("likely", "low", "high"):
            assert found[end] == answers[question][end]
        assert found["unit"] == answers[question]["unit"]


def test_rule_that_fires_and_rule_that_is_quiet(said, tmp_path):
    file = EXAMPLES / "first-attempt.toml"
    out = said("explain", "cutoff-too-low", "--of", file)[1]
    assert "In First attempt" in out
    assert "■ stop" in out
    assert max(len(line) for line in out.splitlines()) <= 80
    values = json.loads(said("explain", "cutoff-too-low", "--of", file, "--json")[1])
    assert values["fires"]
    assert values["findings"][0]["numbers"]
    quiet = tmp_path / "plain.toml"
    quiet.write_text(BASE, encoding="utf-8")
    out = said("explain", "cutoff-too-low", "--of", quiet)[1]
    assert "Quiet here" in out
    assert "battery-volts" in out
    assert not json.loads(said("explain", "cutoff-too-low", "--of", quiet, "--json")[1])["fires"]


def test_unknown_word(said):
    code, out, err = said("explain", "how-lound")
    assert (code, out) == (2, "")
    assert "'how-loud'" in err
    assert "Traceback" not in err
