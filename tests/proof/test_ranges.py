"""The shown ranges hold the true builds: nine in ten of many drawn afresh from what is stated."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from tests.outcome.builds import GUESSED
from tests.proof.judged import ROOT

from boomwright.build.draws import Draws
from boomwright.build.read import parse_build
from boomwright.outcome import run, worked
from boomwright.outcome.data import Outcome, Range

TRUE_BUILDS = 2000


class Afresh(Draws):
    """Draws of the same law one by one, without the slices that spread them evenly."""

    def uniform(self, part: str, field: str):
        seed = [self.seed, *f"{part}/{field}".encode()]
        return np.random.default_rng(seed).random(self.count)


def text_of(name: str) -> str:
    if name == "guessed":
        return GUESSED
    return (ROOT / "examples" / f"{name}.toml").read_text(encoding="utf-8")


@cache
def shown_and_true(name: str) -> tuple[Outcome, Outcome]:
    """The outcome as a check shows it, and one that holds every true build's value instead."""
    build = parse_build(text_of(name), file="guesses.toml")
    shown = run.run_build(build)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(worked, "Draws", Afresh)
        patch.setattr(run, "range_of", lambda values: Range(values, values, values))
        true = run.run_build(build, versions=TRUE_BUILDS, seed=4711)
    return shown, true


def hours(outcome: Outcome) -> Range:
    return outcome.wanted.duration


def level(outcome: Outcome) -> Range:
    return outcome.scenario("flat-out").level_start


def watts(outcome: Outcome) -> Range:
    return outcome.wanted.watts


def hottest(outcome: Outcome) -> Range:
    """The board's chip flat out; every build here has one board only."""
    parts = outcome.scenario("flat-out").parts
    return next(part.junction for part in parts if part.kind == "amplifier")


@pytest.mark.parametrize("figure", [hours, level, watts, hottest], ids=lambda item: item.__name__)
@pytest.mark.parametrize("name", ["guessed", "market-stall", "allotment-day"])
def test_shown_range_holds_nine_in_ten_true_builds(name, figure):
    shown, true = (figure(outcome) for outcome in shown_and_true(name))
    values = np.ravel(true.likely)[1:]
    assert len(values) == TRUE_BUILDS
    assert shown.low < shown.likely < shown.high
    held = np.mean((values >= shown.low) & (values <= shown.high))
    assert 0.85 <= held <= 0.97


@pytest.mark.parametrize("name", ["guessed", "market-stall", "allotment-day"])
def test_true_builds_lie_on_both_sides_of_the_range(name):
    shown, true = (hours(outcome) for outcome in shown_and_true(name))
    values = np.ravel(true.likely)[1:]
    assert 0.01 < np.mean(values < shown.low) < 0.1
    assert 0.01 < np.mean(values > shown.high) < 0.1
