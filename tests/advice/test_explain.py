"""From a finding or a figure to its law: every road leads somewhere, and the numbers agree."""

import importlib
import inspect
import math
import re
from pathlib import Path

import pytest
from tests.advice.cases import BASE, SUPPLY, case_of, example, only, with_

from boomwright.advice.explain import _data, explain, figures, law_of, own_numbers, rules
from boomwright.advice.judge import judge
from boomwright.advice.steps import STEPS, figure_steps
from boomwright.errors import InputError

ROOT = Path(__file__).resolve().parents[2]
RULES = _data("laws")["rules"]
FIGURES = _data("figures")
LAWS = sorted({law for entry in (*RULES.values(), *FIGURES.values()) for law in entry["laws"]})
TEXTS = {
    "plain": BASE,
    "supply": SUPPLY,
    "no-box": with_(BASE, remove=["cabinet"]),
    **{name: example(name) for name in ("first-attempt", "rowing-launch", "allotment-day")},
}


def function_of(name):
    module, _, function = name.rpartition(".")
    return getattr(importlib.import_module(f"boomwright.{module}"), function)


def result(name, text, label, where=""):
    found = [
        step
        for step in figure_steps(name, case_of(text))
        if step.label == label and step.where == where and step.result
    ]
    assert len(found) == 1, [step.label for step in found]
    return found[0].value


def test_every_rule_has_an_entry_and_no_entry_is_stale():
    assert set(RULES) == set(rules())


def test_every_quantity_has_its_steps():
    assert set(FIGURES) == set(STEPS) == set(figures())
    assert len(FIGURES) >= 20
    assert not set(FIGURES) & set(RULES)


@pytest.mark.parametrize("name", LAWS)
def test_law_exists_with_equation_validity_and_source(name):
    text = inspect.getdoc(function_of(name))
    assert "\nNotes\n" in text
    assert "\nReferences\n" in text
    law = law_of(name)
    assert law.gives == " ".join(text.split("\n\n")[0].split()).replace("`", "")
    assert law.valid
    assert law.equation
    assert law.sources
    for words in (law.valid, law.equation, *law.sources):
        assert "]_" not in words
        assert "`" not in words


@pytest.mark.parametrize("what", [*FIGURES, *RULES])
def test_page_tests_joins_and_figures_exist(what):
    found = explain(what)
    assert found.title
    assert found.says.endswith((".", "…"))
    page = (ROOT / found.page).read_text(encoding="utf-8")
    if found.laws:
        named = [
            name.rpartition(".")[2] for name in (*(law.name for law in found.laws), *found.joins)
        ]
        assert any(name in page for name in named), f"{found.page} speaks of none of {named}"
    assert found.tests
    for test in found.tests:
        assert "def test_" in (ROOT / test).read_text(encoding="utf-8"), test
    for join in found.joins:
        assert callable(function_of(join))
    assert set(found.figures) <= set(FIGURES)
    assert found.laws or found.joins or found.source


def test_the_table_of_figures_says_the_same():
    text = (ROOT / "docs" / "figures.md").read_text(encoding="utf-8")
    rows = [line.split("|")[1:-1] for line in text.splitlines() if line.startswith("| ")][1:]
    assert rows
    for _, _, law, page, test in rows:
        name = law.strip(" `").removeprefix("boomwright.")
        file = "docs/" + re.search(r"\((.*?)\)", page)[1]
        known = [explain(figure) for figure in FIGURES]
        assert any(
            name in {*(law.name for law in found.laws), *found.joins}
            and found.page == file
            and test.strip(" `") in found.tests
            for found in known
        ), name


def test_law_is_read_from_the_docstring():
    law = law_of("physics.amplifier.swing_peak")
    assert law.equation == "min(s (V - V_loss) R/(R + R_out), I_limit R)."
    assert law.sources[0].startswith("R. L. Boylestad")


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
@pytest.mark.parametrize("name", FIGURES)
def test_every_quantity_of_every_build_can_be_shown(name, text):
    for step in figure_steps(name, case_of(text)):
        assert step.label
        assert step.shown
        assert "unknown" not in step.shown, step.label
        value = step.value
        assert value.low <= value.likely <= value.high


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
def test_four_answers_are_those_of_check(text):
    case = case_of(text)
    verdict = judge(case.build, case.outcome)
    loud, long, hot, _ = (answer.value for answer in verdict.answers)
    assert result("how-loud", text, "clean level at the listener") == loud
    assert result("how-long", text, "plays") == long
    assert hot in [step.value for step in figure_steps("how-hot", case) if step.result]
    count = sum(finding.level == "stop" for finding in verdict.findings)
    assert result("how-safe", text, "to stop").likely == count


@pytest.mark.parametrize("text", [BASE, SUPPLY, example("rowing-launch")])
def test_clean_power_follows_step_by_step(text):
    case = case_of(text)
    steps = {step.label: step.value.likely for step in figure_steps("clean-power", case)}
    swing = steps["share of the supply it swings"] * (
        steps["supply at its pins, flat out"] - steps["volts its output cannot reach"]
    )
    peak = swing * steps["load"] / (steps["load"] + steps["output resistance"])
    assert steps["peak volts"] == pytest.approx(peak, rel=1e-9)
    assert peak**2 / (2 * steps["load"]) == pytest.approx(steps["clean power"], rel=1e-6)
    output = case.outcome.amplifiers[0].outputs[0]
    assert steps["clean power"] == output.clean_full.likely


def test_joined_outputs_show_the_resistance_they_have():
    text = with_(BASE, {"amplifier": {"use": "paralleled", "mono_mode": True}})
    steps = {step.label: step.value.likely for step in figure_steps("clean-power", case_of(text))}
    stated = case_of(text).build.amplifier[0].output_resistance.likely
    assert steps["output resistance"] == pytest.approx(stated / 2)
    power = steps["peak volts"] ** 2 / (2 * steps["load"])
    assert power == pytest.approx(steps["clean power"], rel=1e-6)


@pytest.mark.parametrize("name", ["first-attempt", "rowing-launch", "allotment-day"])
def test_junction_is_air_and_heat_times_resistances(name):
    steps = figure_steps("junction", case_of(example(name)))
    places = {step.where for step in steps}
    assert places
    for place in places:
        mine = [step for step in steps if step.where == place]
        air = next(step.value.likely for step in mine if step.label.startswith("air"))
        heat = next(step.value.likely for step in mine if step.label == "heat")
        chain = sum(step.value.likely for step in mine if step.kind == "thermal")
        hot = next(step.value.likely for step in mine if step.result)
        assert hot == pytest.approx(air + heat * chain, rel=1e-9)


def test_volts_lost_are_those_between_the_parts():
    case = case_of(example("rowing-launch"))
    use = case.outcome.scenario("flat-out+phone")
    lost = {
        step.where: step.value.likely for step in figure_steps("lead-drop", case) if step.result
    }
    for name in ("cutoff", "amplifier", "quiet 5 V"):
        above = case.upstream(name)[0].part.name
        drop = use.part(above).volts_out.likely - use.part(name).volts_in.likely
        assert lost[name] == pytest.approx(drop, rel=1e-5)
        assert lost[name] > 0


def test_level_is_the_sum_of_its_decibels():
    steps = {step.label: step.value.likely for step in figure_steps("level", case_of(BASE))}
    total = steps["all of them at 1 m, half-space"] + steps["place (floor) and boxes"]
    assert total - steps["lost over the distance"] == pytest.approx(68.0)


def test_peak_factor_in_decibels_and_times():
    crest, times = figure_steps("crest-factor", case_of(BASE))
    assert times.value.likely == pytest.approx(10 ** (crest.value.likely / 10))


@pytest.mark.parametrize(
    ("name", "label", "where", "field"),
    [
        ("draw", "draws", "", lambda o: o.wanted.watts),
        ("shelf", "from full until ruined", "", lambda o: o.parked.shelf),
        ("rebound", "an hour after", "", lambda o: o.wanted.rebound),
        ("charge-at-rate", "charge left", "", lambda o: o.wanted.charge_left),
        ("short-circuit", "into a short", "battery", lambda o: o.source.short_circuit),
        ("box-air", "air in the box", "", lambda o: o.scenario("flat-out").air),
        ("clip-level", "too much by", "amplifier", lambda o: o.amplifiers[0].gain_excess),
        ("claim", "share of the claim", "amplifier", lambda o: o.amplifiers[0].claim_share),
        ("driver-power", "flat out, clean", "driver", lambda o: o.drivers[0].power_flat_out),
    ],
)
def test_result_is_the_field_of_the_outcome(name, label, where, field):
    assert result(name, BASE, label, where) == field(case_of(BASE).outcome)


def test_inputs_name_what_they_rest_on():
    steps = {step.label: step for step in figure_steps("how-long", case_of(BASE))}
    assert steps["charge on the label"].basis == "label"
    assert steps["left of it by age"].basis == "typical"
    assert steps["plays"].basis == ""
    assert re.fullmatch(r"\d+ h \(\d+ h to \d+ h\)", steps["plays"].shown)


def test_rule_that_fires_shows_its_numbers():
    text = example("first-attempt")
    found = only("cutoff-too-low", text)
    own = own_numbers(explain("cutoff-too-low"), case_of(text))
    assert own.findings == (found,)
    assert own.findings[0].numbers
    assert "battery-volts" in own.steps


def test_rule_that_is_quiet_shows_why():
    own = own_numbers(explain("amplifier-cooks"), case_of(BASE))
    assert own.findings == ()
    steps = {step.label: step.value for step in own.steps["junction"]}
    assert steps["junction"].high < steps["limit"].likely


def test_build_without_such_a_thing_has_no_steps():
    assert own_numbers(explain("rebound"), case_of(SUPPLY)).steps == {}


def test_supply_has_no_end():
    plays = result("how-long", SUPPLY, "plays")
    assert math.isinf(plays.likely)


@pytest.mark.parametrize(
    ("word", "near"), [("fuse-chioce", "'fuse-choice'"), ("cutof-too-low", "'cutoff-too-low'")]
)
def test_unknown_word_names_the_nearest(word, near):
    with pytest.raises(InputError, match=word) as error:
        explain(word)
    assert near in str(error.value)
    assert error.value.exit_code == 2
