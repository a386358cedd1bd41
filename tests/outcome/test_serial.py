import json
from dataclasses import replace

import pytest
from pydantic import ValidationError
from tests.outcome.builds import AGM, GUESSED, RAILS, REAL, build_of

from boomwright.outcome.data import Outcome
from boomwright.outcome.run import run_build

SUPPLY = '[supply]\nvoltage = "12 V"\ncurrent_limit = "3 A"\n'


@pytest.mark.parametrize(
    "text",
    [REAL, GUESSED, RAILS, REAL.replace(AGM, SUPPLY)],
    ids=["real", "guess", "rails", "supply"],
)
def test_json_gives_back_every_digit(text):
    outcome = run_build(build_of(text), versions=7)
    text = outcome.to_json()
    assert repr(Outcome.from_json(text)) == repr(outcome)
    assert Outcome.from_json(text).to_json() == text


def test_json_is_json_with_words_for_what_it_has_no_number_for():
    outcome = run_build(build_of(REAL.replace(AGM, SUPPLY)), versions=0)

    def refuse(word):
        raise AssertionError(f"{word} is no JSON")

    values = json.loads(outcome.to_json(), parse_constant=refuse)
    assert values["scenarios"][1]["duration"]["likely"] == "Infinity"
    assert values["amplifiers"][0]["claim_share"]["likely"] == "NaN"


def test_odd_names_survive():
    outcome = run_build(build_of(REAL.replace("A real one", "Ömers „Krach“ \\\\ <b>")), versions=0)
    assert Outcome.from_json(outcome.to_json()).name == "Ömers „Krach“ \\ <b>"


@pytest.mark.parametrize("text", ["", "{}", '{"name": 3}', "[]"])
def test_refuses_what_is_no_outcome(text):
    with pytest.raises(ValidationError):
        Outcome.from_json(text)


def test_changed_copy_is_another_outcome():
    outcome = run_build(build_of(REAL), versions=0)
    assert replace(outcome, name="other").to_json() != outcome.to_json()
