"""The designed split: what it promises is so on the drivers it was designed for."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.design.split.drives import build_of, designed, driver, drives, pair

from boomwright.build.draws import Draws
from boomwright.build.filters import parse_filter_step
from boomwright.build.quantities import parse_quantity
from boomwright.design.split.branch import Branch, chain, plain_step
from boomwright.design.split.choose import high_halves, low_halves
from boomwright.design.split.design import design_split
from boomwright.design.split.drive import drive_of
from boomwright.design.split.heard import GRID, amplifier_load, heard, spread_of
from boomwright.design.split.ratings import carried, music_of
from boomwright.design.split.section import Section, book_values, section_steps
from boomwright.design.split.solve import solve_section, strays
from boomwright.design.split.wish import SplitWish, band_of, suggested_frequency
from boomwright.errors import InputError
from boomwright.physics.curves import decibels
from boomwright.physics.ladder import ladder
from boomwright.physics.preferred import preferred_values

KINDS = [("butterworth", 1), ("linkwitz-riley", 2), ("butterworth", 3), ("linkwitz-riley", 4)]
STEEP = [("linkwitz-riley", 2), ("butterworth", 3), ("linkwitz-riley", 4)]


def _level(label: str, found) -> float:
    return found.design.figure(label).likely


@pytest.mark.parametrize("name", ["8 ohm", "4 ohm", "small"])
@pytest.mark.parametrize(("alignment", "order"), STEEP)
def test_the_sum_is_even(name, alignment, order):
    found = designed(name, alignment, order)
    assert _level("sum uneven by, an octave either side", found) < 3.0
    assert abs(_level("sum where they meet", found)) < 2.5


@pytest.mark.parametrize("name", ["8 ohm", "4 ohm", "small"])
@pytest.mark.parametrize(("alignment", "order"), KINDS)
def test_the_amplifier_is_not_shorted(name, alignment, order):
    """The 4 ohm board's floor is 3.2 ohm by IEC 60268-5; tweeter and woofer share it."""
    found = designed(name, alignment, order)
    assert _level("least impedance at the amplifier", found) > 0.96 * 3.2


@pytest.mark.parametrize(("alignment", "order"), KINDS)
def test_values_on_the_real_driver_beat_the_books(alignment, order):
    low, high = pair("8 ohm")
    wish = SplitWish(alignment=alignment, order=order)
    frequency = suggested_frequency(low, high, wish)
    for half in (
        low_halves(low, frequency, wish)[0],
        high_halves(high, frequency, wish, level=None)[0],
    ):
        assert half.solution.error < (0.95 if order == 1 else 0.6) * half.book.error


def test_a_resistor_gets_the_books_values():
    """A driver without resonance, coil or ends is a resistor, and for that the book is right."""
    plain = driver(
        "tweeter-dome-25mm-8ohm",
        fs=None,
        low_end=parse_quantity("15 Hz", "frequency"),
        high_end=parse_quantity("40 kHz", "frequency"),
    )
    (drive,) = drives(plain)
    section = Section(drive, True, 1000.0, "butterworth", 2, 3e-3)
    book = book_values(section, 8.0)
    found = solve_section(section, "E96", [1.6 * book])
    # E96 leaves 1.2 %, and the thick winding a little.
    assert found.values == pytest.approx(book, rel=0.03)
    assert found.error < 0.1


@pytest.mark.parametrize("series", ["E12", "E24"])
def test_every_value_is_a_preferred_one(series):
    low, high = pair("8 ohm")
    found = design_split(low, high, SplitWish(order=3, alignment="butterworth", parts=series,
                                              builds=20))  # fmt: skip
    values = [
        part.value.likely
        for branch in found.branches
        for step in branch.filter
        for part in step.components
    ]
    assert len(values) >= 8
    for value in values:
        mantissa = value / 10.0 ** np.floor(np.log10(value) + 1e-9)
        assert np.abs(preferred_values(series) / mantissa - 1.0).min() < 1e-6


def test_tweeter_is_turned_down_to_the_woofer():
    found = designed("8 ohm", "butterworth", 3)
    low, high = found.branches
    hertz = np.geomspace(300.0, 900.0, 9), np.geomspace(6e3, 10e3, 9)
    levels = [
        float(np.mean(decibels(branch.pressure(band))))
        for branch, band in zip((low, high), hertz, strict=True)
    ]
    assert levels[1] == pytest.approx(levels[0], abs=0.6)  # dB: what E12 resistors leave
    assert _level("pad turns the tweeter down by", found) > 1.0


def test_a_quieter_tweeter_is_told_and_not_padded():
    low = driver("woofer-6in5-8ohm")
    high = driver("tweeter-dome-25mm-8ohm", sensitivity=parse_quantity("84 dB", "decibel"))
    found = design_split(*drives(low, high), SplitWish(builds=20))
    assert not any("pad turns" in figure.label for figure in found.design.figures)
    steps = found.branches[1].filter
    assert not any(all(one.kind == "resistor" for one in step.components) for step in steps)
    assert any("4.0 dB quieter than the woofer" in one.says for one in found.design.remarks)


@pytest.mark.parametrize(("alignment", "order"), STEEP)
def test_polarity_is_the_better_of_both(alignment, order):
    found = designed("8 ohm", alignment, order)
    around = np.abs(np.log(GRID / found.frequency)) < np.log(2.0)
    assert np.ptp(found.heard.both[around]) < np.ptp(found.heard.turned[around])


def test_second_order_turns_the_tweeter_round_and_fourth_does_not():
    """Theory of aligned drivers: 180 degrees apart at second order, 360 at fourth."""
    low, high = pair("small")
    for order, turned in ((2, True), (4, False)):
        found = design_split(low, high, SplitWish(order=order, builds=20, spacing=0.0))
        assert found.branches[1].reversed is turned


def test_an_offset_of_half_a_wave_turns_it_round_again():
    low, high = pair("small")
    plain = design_split(low, high, SplitWish(frequency=3500.0, builds=20, spacing=0.0))
    half = 343.4 / 3500.0 / 2.0
    far = replace(low, driver=low.driver.model_copy(
        update={"offset": parse_quantity(f"{1e3 * half:.1f} mm", "length")}))  # fmt: skip
    moved = design_split(far, high, SplitWish(frequency=3500.0, builds=20, spacing=0.0))
    assert moved.branches[1].reversed is not plain.branches[1].reversed


def test_heard_is_the_sum_of_the_branches():
    """Listener far away and both in one place: complex pressures just add up."""
    found = designed("8 ohm", "butterworth", 3)
    wish = replace(found.wish, spacing=0.0, distance=2.0)
    both = heard(found.branches, wish).both
    sign = -1.0 if found.branches[1].reversed else 1.0
    low, high = (branch.pressure(GRID) for branch in found.branches)
    assert both == pytest.approx(decibels((low + sign * high) * 8**0.5 / 20e-6), abs=1e-6)  # dB


def test_load_is_both_branches_side_by_side():
    found = designed("8 ohm", "linkwitz-riley", 4)
    each = [branch.ladder(GRID).impedance[0] for branch in found.branches]
    assert found.load == pytest.approx(each[0] * each[1] / (each[0] + each[1]), rel=1e-9)
    apart = amplifier_load(found.branches, replace(found.wish, together=False), GRID)
    assert np.abs(apart).min() == pytest.approx(min(np.abs(one).min() for one in each), rel=1e-9)


def test_two_side_by_side_are_one_of_half_the_ohms_and_6_db_more():
    """At the same volts; and two in a row are one of twice the ohms and the same sound."""
    one = driver("woofer-6in5-8ohm")
    series = driver("woofer-6in5-8ohm", wiring="series")
    build = build_of(one, volume="1000 L")
    single, parallel = (drive_of(one, count, build, Draws(0)) for count in (1, 2))
    row = drive_of(series, 2, build_of(series, volume="1000 L"), Draws(0))
    hertz = np.array([200.0, 1500.0])
    assert parallel.impedance(hertz) == pytest.approx(single.impedance(hertz) / 2.0, rel=1e-9)
    assert row.impedance(hertz) == pytest.approx(2.0 * single.impedance(hertz), rel=1e-9)
    assert np.abs(parallel.pressure(hertz) / single.pressure(hertz)) == pytest.approx(
        np.full((1, 2), 2.0), rel=1e-9
    )
    assert row.pressure(hertz) == pytest.approx(single.pressure(hertz), rel=1e-9)


def test_tweeter_alone_with_one_capacitor_and_what_it_really_does():
    (high,) = drives(driver("tweeter-dome-25mm-8ohm"))
    found = design_split(None, high, SplitWish(order=1, alignment="butterworth", builds=20))
    assert len(found.filters["tweeter"]) == 1
    fs = high.driver.fs.likely
    passed = decibels(found.branches[0].ladder(np.array([fs, 3.5 * fs])).transfer[0])
    # A resistor would get 20 log10(3.5) less at its resonance; the peak of impedance undoes most.
    assert passed[1] - passed[0] < 0.75 * 20.0 * np.log10(3.5)
    assert any("single capacitor" in remark.says for remark in found.design.remarks)


def test_woofer_alone():
    (low,) = drives(driver("woofer-6in5-8ohm"))
    found = design_split(low, None, SplitWish(frequency=900.0, builds=20))
    assert found.drivers == ("woofer",)
    assert _level("woofer's sound 6 dB down at", found) == pytest.approx(900.0, rel=0.08)


def test_coil_ahead_of_the_woofer_raises_its_q():
    """qes grows by (re + coil)/re: R. H. Small 1972 (from memory)."""
    found = designed("8 ohm", "linkwitz-riley", 4)
    low = found.branches[0]
    coils = sum(float(step.resistance) for step in low.steps if step.place == "series")
    re, item = low.drive.driver.re.likely, low.drive.driver
    qes, qms = item.qes.likely * (re + coils) / re, item.qms.likely
    assert _level("woofer's Q total behind the coils", found) == pytest.approx(
        qes * qms / (qes + qms), rel=1e-6
    )
    assert _level("lost in the woofer's coils", found) == pytest.approx(
        20.0 * np.log10((re + coils) / re), rel=1e-6
    )


def test_suggested_frequency_lies_where_the_drivers_meet():
    low, high = pair("small")
    wish = SplitWish(order=4)
    least, most = band_of(low, high, wish)
    assert least == pytest.approx(2.0 * high.driver.fs.likely, rel=1e-9)
    assert least <= suggested_frequency(low, high, wish) <= max(most, 1.1 * least)
    # Less steep, farther from the resonance.
    assert suggested_frequency(low, high, replace(wish, order=2)) > suggested_frequency(
        low, high, wish
    )


def test_spread_has_the_likely_build_first_and_grows_with_nothing_else():
    found = designed("8 ohm", "linkwitz-riley", 4)
    wish = replace(found.wish, builds=400)
    spread = spread_of(found.branches, found.frequency, 0.0, wish, taken=(0.0, 0.0))
    assert spread.crosses.shape == (401,)
    there = int(np.argmin(np.abs(GRID - spread.crosses[0])))
    low, high = found.heard.branches
    assert low[there] == pytest.approx(high[there], abs=0.3)  # dB: the grid's step
    share = np.quantile(spread.crosses, (0.05, 0.95)) / spread.crosses[0]
    # Capacitors of 10 %, coils of 5 %, levels of 1 dB: some per cent each way.
    assert 0.90 < share[0] < 0.99 < 1.01 < share[1] < 1.10


def test_what_the_parts_carry_is_what_a_sine_and_music_make():
    found = designed("8 ohm", "butterworth", 3)
    by_name = {one.part.name: one for one in carried(found.branches, found.wish)}
    low = found.branches[0]
    solved = low.ladder(GRID)
    first = by_name["L1"]
    assert first.amps == pytest.approx(10.5 * np.abs(solved.currents[0]).max(), rel=1e-9)
    across = by_name["C1"]
    reactance = 1.0 / (2.0 * np.pi * GRID * across.part.component.value.likely)
    assert across.volts == pytest.approx(
        10.5 * (np.abs(solved.currents[1]) * reactance).max(), rel=1e-9
    )
    for one in by_name.values():
        assert one.watts <= one.amps**2 * 20.0
        assert one.amps_rms < one.amps


def test_power_of_the_amplifier_is_power_in_the_parts():
    """One sine: what goes in comes out as heat in resistors, windings and drivers."""
    found = designed("4 ohm", "linkwitz-riley", 4)
    hertz = np.array([700.0, 3000.0, 9000.0])
    for branch in found.branches:
        solved = branch.ladder(hertz)
        given = np.real(1.0 / np.conj(solved.impedance[0]))
        spent = np.abs(solved.transfer[0]) ** 2 * np.real(1.0 / branch.drive.impedance(hertz)[0])
        for step, current in zip(branch.steps, solved.currents, strict=True):
            spent = spent + np.abs(current[0]) ** 2 * np.asarray(step.resistance)
        assert spent == pytest.approx(given, rel=1e-9)


def test_music_heats_the_woofer_more_and_clipping_heats_both():
    found = designed("8 ohm", "linkwitz-riley", 2)
    music = music_of(found.branches, found.wish)
    assert music.likely[0] > 4.0 * music.likely[1]
    assert music.clipped[0] > 2.0 * music.likely[0]


def test_written_steps_are_what_was_solved():
    low, _ = pair("8 ohm")
    wish = SplitWish(order=4, builds=20)
    half = low_halves(low, 2200.0, wish)[0]
    written = [plain_step(parse_filter_step(str(step))) for step in half.branch.filter]
    hertz = np.geomspace(100.0, 10e3, 31)
    exact = [*section_steps(half.section, half.solution.values), *half.section.tail]
    load = low.impedance(hertz)[:1]
    gap = decibels(ladder(written, load, hertz).transfer / ladder(exact, load, hertz).transfer)
    # Windings are written to two digits.
    assert np.abs(gap).max() < 0.02


@pytest.mark.parametrize(
    ("step", "text"),
    [
        (chain("series", capacitor=6.8e-6), "series 6.8 µF"),
        (chain("series", capacitor=47e-6), "series 47 µF bipolar"),
        (chain("across", coil=1.2e-3, winding=0.456), "across 1.2 mH 0.46 Ω"),
        (
            chain("across", resistor=8.2, coil=0.47e-3, winding=0.5, capacitor=22e-6),
            "across 8.2 Ω + 470 µH 0.5 Ω + 22 µF",
        ),
    ],
)
def test_steps_are_written_as_the_file_has_them(step, text):
    assert str(step) == text


def test_branch_of_no_filter_is_the_driver():
    low, _ = pair("8 ohm")
    plain = Branch(low, ())
    assert plain.pressure(GRID) == pytest.approx(low.pressure(GRID)[0], rel=1e-12)


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"order": 3}, "a linkwitz-riley filter of this order; read 3; expected one of 2, 4"),
        ({"frequency": 12.5}, "read 12.5 Hz; expected 50 Hz to 15 kHz"),
        ({"wire": 9e-3}, "a wire that cannot be right here; read 9 mm"),
        ({"distance": 0.05}, "a distance that cannot be right here; read 5 cm"),
        ({"peak": 0.01}, "a peak that cannot be right here; read 10 mV"),
    ],
)
def test_what_cannot_be_is_refused(changed, says):
    low, high = pair("8 ohm")
    with pytest.raises(InputError, match=says):
        design_split(low, high, SplitWish(**changed))


def test_all_that_cannot_be_is_told_at_once():
    with pytest.raises(InputError) as caught:
        design_split(None, None, SplitWish(order=7, frequency=3.5, spacing=44.0))
    assert len(caught.value.problems) == 4


def test_strays_grow_with_a_wrong_corner():
    low, _ = pair("8 ohm")
    section = Section(low, False, 1500.0, "linkwitz-riley", 4, 1e-3)
    right = solve_section(section, "E24", [book_values(section, 8.0)])
    for factor in (0.5, 2.0):
        assert strays(section, factor * right.values).error > 3.0 * right.error
