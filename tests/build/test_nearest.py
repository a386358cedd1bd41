"""Hints: the nearest known word, or what is known."""

from __future__ import annotations

import time

import pytest

from boomwright.build.nearest import nearest

KNOWN = ["capacity", "cells", "chemistry"]


@pytest.mark.parametrize("word", ["capacty", "capacity ", "Capacity", "apacity", "capasity"])
def test_near_word_is_named(word):
    assert nearest(word, KNOWN) == "Did you mean 'capacity'?"


@pytest.mark.parametrize("word", ["", "zzz", "\n", "c" * 5000])
def test_far_word_lists_the_known_ones(word):
    assert nearest(word, iter(KNOWN)) == "Known here: capacity, cells, chemistry."


def test_nothing_known_gives_no_hint():
    assert nearest("anything", []) == ""


def test_long_list_is_cut_and_says_so():
    hint = nearest("zzz", [f"part-{number}" for number in range(13)])
    assert hint.startswith("Known here: part-0, part-1,")
    assert hint.endswith("part-11, ….")
    assert nearest("zzz", [f"part-{number}" for number in range(12)]).endswith("part-11.")


def test_very_long_word_takes_no_time():
    start = time.perf_counter()
    nearest("x" * 1_000_000, KNOWN)
    assert time.perf_counter() - start < 1.0
