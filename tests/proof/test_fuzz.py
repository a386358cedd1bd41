"""Damaged build files end in a verdict or in a plain refusal; the long run is in docs/proof.md."""

from __future__ import annotations

import random

import pytest
from tests.loaded import load_script
from tests.proof.judged import verdict_of

from boomwright.advice.finding import Finding
from boomwright.advice.judge import Verdict
from boomwright.build.read import parse_build
from boomwright.errors import BuildFileError

FUZZ = load_script("fuzz")
MUTANTS = 1500


def test_mutants_end_in_a_verdict_or_a_refusal():
    tally = FUZZ.try_mutants(range(MUTANTS), seed=2)
    assert tally.crashes == []
    assert sum(tally.counts.values()) == MUTANTS
    assert tally.counts["refused"] > MUTANTS / 2
    assert sum(tally.counts[f"judged {level}"] for level in ("fine", "mind", "stop")) > MUTANTS / 15
    assert len(tally.rules) > 50


def test_a_mutant_hangs_on_seed_and_number_alone():
    assert FUZZ.mutant(17, seed=3) == FUZZ.mutant(17, seed=3)
    assert len({FUZZ.mutant(number, seed=seed) for number in range(20) for seed in (3, 4)}) > 35


@pytest.mark.parametrize("mutation", [kind for kind, _ in FUZZ.MUTATIONS])
def test_each_mutation_changes_something(mutation):
    files = list(FUZZ.sources().values())
    changed = [mutation(random.Random(n), files[0], files) != files[0] for n in range(40)]
    assert sum(changed) > 20


def test_a_crash_is_noted_with_its_number(monkeypatch):
    def fall_over(*_args, **_options):
        raise ZeroDivisionError("as a test")

    monkeypatch.setattr(FUZZ, "read_build", fall_over)
    tally = FUZZ.try_mutants([41, 42])
    assert [number for number, _ in tally.crashes] == [41, 42]
    assert "ZeroDivisionError" in tally.crashes[0][1]


def test_charging_lead_that_joins_a_part_nobody_knows_is_refused():
    """Found by damaged files: such a lead passed for one without a fuse."""
    text = FUZZ.sources()["market-stall"].replace('through = "main fuse"', 'through = "main fus"')
    with pytest.raises(BuildFileError, match=r"charger\.through: .*'main fus'.*'main fuse'"):
        parse_build(text)


def test_a_figure_that_is_none_is_not_let_through():
    finding = Finding("any", "mind", "hot", "rail", "It gets nan °C.", (), "Why.", "Do.")
    with pytest.raises(RuntimeError, match="not four answers"):
        FUZZ.sound_verdict(Verdict("mind", (), (finding,)))
    verdict = verdict_of(FUZZ.sources()["market-stall"])
    with pytest.raises(RuntimeError, match="any says no number"):
        FUZZ.sound_verdict(Verdict("mind", verdict.answers, (finding,)))
