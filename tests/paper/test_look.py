"""The look: readable in light, dark and print, and told apart without hue."""

from __future__ import annotations

import dataclasses

import pytest

from boomwright.paper.look import DARK, LIGHT, LOOKS, PRINT, VERDICT_SHAPES, contrast

LETTERED = ("ink", "quiet", "copper", "wave", "fine", "mind", "stop")
GROUNDS = ("paper", "sheet")


# The definition's own example pair (Web Content Accessibility Guidelines, from memory) and two
# greys worked by hand.
@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        ("#000000", "#ffffff", 21.0),
        ("#ffffff", "#ffffff", 1.0),
        ("#767676", "#ffffff", 4.54),
        ("#777777", "#ffffff", 4.48),
        ("#0000ff", "#ffffff", 8.59),
    ],
)
def test_contrast(one, other, ratio):
    assert contrast(one, other) == pytest.approx(ratio, rel=2e-3)
    assert contrast(other, one) == contrast(one, other)


@pytest.mark.parametrize("colour", ["red", "#fff", "#12345g", "", "1234567"])
def test_other_colours_are_refused(colour):
    with pytest.raises(ValueError, match=f"got '{colour}', must be written as #rrggbb"):
        contrast(colour, "#ffffff")


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
@pytest.mark.parametrize("letters", LETTERED)
@pytest.mark.parametrize("ground", GROUNDS)
def test_text_is_readable(look, letters, ground):
    assert contrast(getattr(look, letters), getattr(look, ground)) >= 4.5


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
@pytest.mark.parametrize("letters", ["ink", "quiet", "fine", "mind", "stop"])
def test_text_on_a_marked_stretch_is_readable(look, letters):
    assert contrast(getattr(look, letters), look.wash) >= 4.5


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
def test_lines_and_rules_differ_without_hue(look):
    assert look.copper_dash != look.wave_dash
    assert len({look.off_dash, look.on_dash, look.limit_dash}) == 3
    assert all(len(dash) % 2 == 0 and min(dash, default=1) > 0 for dash in (
        look.copper_dash, look.wave_dash, look.off_dash, look.on_dash, look.limit_dash,
    ))  # fmt: skip


def test_verdicts_differ_in_shape():
    assert set(VERDICT_SHAPES) == {"fine", "mind", "stop"}
    assert len(set(VERDICT_SHAPES.values())) == 3


def test_print_is_grey():
    colours = [value for value in dataclasses.astuple(PRINT) if str(value).startswith("#")]
    assert len(colours) == 11
    assert all(colour[1:3] == colour[3:5] == colour[5:7] for colour in colours)
    # Two lines side by side stay apart on a copier too.
    assert contrast(PRINT.copper, PRINT.wave) > 2.5


def test_looks_have_names():
    assert LOOKS == {"light": LIGHT, "dark": DARK, "print": PRINT}
    with pytest.raises(dataclasses.FrozenInstanceError):
        LIGHT.ink = "#000000"
