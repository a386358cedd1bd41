"""The minus wiring as a graph: networks solved by hand, limits, and every build there is."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from tests.advice.cases import BASE, LITHIUM, SUPPLY, example
from tests.outcome.builds import AGM, AMPLIFIER, DRIVER, NO_LEAD, RAILS, build_of
from tests.proof.sensible import sensible_build

from boomwright.build.read import read_build
from boomwright.errors import InputError, NetlistError
from boomwright.outcome.ground import ground_plan
from boomwright.outcome.ground_data import Return, Rewired, heard_as
from boomwright.physics.loudspeaker import voltage_sensitivity
from boomwright.physics.noise import shared_lead_noise, speaker_level
from boomwright.physics.wire import wire_resistance

EXAMPLES = ("first-attempt", "market-stall", "allotment-day", "rowing-launch")
PROVEN = sorted((Path(__file__).parents[1] / "proof" / "builds").glob("*.toml"))
SCREEN = 50e-3
"""Likely screen of an audio lead [Ω]."""


def copper(area: float, length: float) -> float:
    return float(wire_resistance(area * 1e-6, length))


def lead(area: float, length: float) -> str:
    return f"{area} mm² (standard), {length} m (standard)"


def text_of(
    *,
    negative: str = "own",
    own: str = NO_LEAD,
    board: str = NO_LEAD,
    burst: str = "0.1 A (standard)",
    more: str = "",
    fed_by: str = "battery",
    gain: str = "26.02 dB (standard)",
    receiver: str = "",
) -> str:
    amplifier = AMPLIFIER.replace(NO_LEAD, board).replace("26 dB (standard)", gain)
    return f"""
name = "By hand"
{AGM}{more}
[receiver]
voltage = "5 V"
burst = "{burst}"
negative = "{negative}"
fed_by = "{fed_by}"
lead = "{own}"
{receiver}
{amplifier}
fed_by = "battery"
{DRIVER}
"""


def plan_of(text: str, *, versions: int = 0, rewired: Rewired | None = None):
    return ground_plan(build_of(text), versions=versions, rewired=rewired)


def whine_of(text: str, load: str = "receiver", **options):
    found = plan_of(text, **options).whine(load, "amplifier")
    assert found is not None
    return found


def test_common_worked_figure_of_a_shared_lead():
    """0.1 A in 0.3 m of 35 mΩ/m at a gain of 20: 21 mV, 44 dB from a driver of 87 dB (computed)."""
    area = 1e3 / (58.0 * 35.0)
    found = whine_of(text_of(negative="shared", board=lead(area, 0.3)))
    assert found.resistance.likely == pytest.approx(10.5e-3, rel=1e-4)
    assert round(found.volts.likely * 1e3) == 21
    # The driver is 87 dB at 1 W in 6 ohm, 1.25 dB more at 2.83 V.
    louder = float(voltage_sensitivity(87.0, resistance=6.0)) - 87.0
    assert found.level.likely - louder == pytest.approx(44.4, rel=2e-3)


def test_shared_lead_is_the_law_of_physics():
    found = whine_of(text_of(negative="shared", board=lead(0.75, 0.6), burst="0.04 A (standard)"))
    ohms = copper(0.75, 0.6)
    volts = float(shared_lead_noise(burst_current=0.04, resistance=ohms, gain_db=26.02))
    assert found.volts.likely == pytest.approx(volts, rel=1e-4)
    sensitivity = voltage_sensitivity(87.0, resistance=6.0)
    level = float(speaker_level(volts, sensitivity=sensitivity))
    assert found.level.likely == pytest.approx(level, rel=1e-4)


def test_stub_of_a_shared_lead_adds_its_part_beside_the_screen():
    own, board = copper(0.5, 0.2), copper(1.5, 0.7)
    found = whine_of(text_of(negative="shared", own=lead(0.5, 0.2), board=lead(1.5, 0.7)))
    by_hand = own * SCREEN / (own + SCREEN) + board
    assert found.resistance.likely == pytest.approx(by_hand, rel=1e-4)


def test_star_shares_nothing():
    plan = plan_of(text_of(board=lead(0.5, 0.9)))
    assert plan.edge("amplifier").carries == ("amplifier",)
    assert plan.whine("receiver", "amplifier").resistance.likely < 1e-6


def test_loop_splits_the_bursts_by_conductance():
    own, board = copper(0.5, 0.8), copper(0.75, 0.3)
    plan = plan_of(text_of(own=lead(0.5, 0.8), board=lead(0.75, 0.3)))
    found = plan.whine("receiver", "amplifier")
    around = SCREEN + board
    own_share = around / (around + own)
    assert dict(found.drops)["receiver"] == pytest.approx(0.1 * own * own_share, rel=1e-4)
    assert found.resistance.likely == pytest.approx(own * own_share, rel=1e-4)
    (loop,) = plan.loops
    assert set(loop.edges) == {"receiver", "amplifier", "screen receiver to amplifier"}
    assert loop.resistance == pytest.approx(own + around, rel=1e-4)
    # A quarter of the bursts takes the screen and the amplifier's lead.
    assert plan.edge("amplifier").carries == ("receiver", "amplifier")


def rail(kind: str) -> str:
    return f"""
[rail]
type = "{kind}"
voltage = "5 V"
current_limit = "1 A (standard)"
efficiency = "80 % (standard)"
idle_power = "0 W (standard)"
ground_current = "0 A (standard)"
fed_by = "battery"
lead = "{lead(0.5, 0.4)}"
"""


@pytest.mark.parametrize(("kind", "drawn"), [("buck", 0.1 * 5 / (0.8 * 12)), ("linear", 0.1)])
def test_converter_takes_in_less_than_it_gives(kind, drawn):
    """Thevenin: the drops along the minus of receiver and converter, loaded by screen and lead."""
    own, feed, board = copper(0.25, 0.2), copper(0.5, 0.4), copper(1.0, 0.25)
    text = text_of(own=lead(0.25, 0.2), board=lead(1.0, 0.25), more=rail(kind), fed_by="rail")
    open_volts = 0.1 * own + drawn * feed
    around = SCREEN + board
    by_hand = open_volts * around / (own + feed + around)
    found = whine_of(text)
    assert found.resistance.likely * 0.1 == pytest.approx(by_hand, rel=1e-4)
    assert sum(volts for _, volts in found.drops) == pytest.approx(by_hand, rel=1e-4)


def test_isolated_converter_leaves_no_ring_and_next_to_nothing():
    text = text_of(own=lead(0.25, 0.2), more=rail("isolated"), fed_by="rail")
    plan = plan_of(text)
    assert plan.loops == ()
    assert "rail, output side" in plan.nodes
    found = plan.whine("receiver", "amplifier")
    assert found.resistance.likely < 1e-6
    # Sharing an amplifier's minus gives the isolation one tie and no supply current.
    shared = text_of(
        negative="shared",
        own=lead(0.25, 0.2),
        board=lead(0.5, 1.0),
        more=rail("isolated"),
        fed_by="rail",
    )
    plan = plan_of(shared)
    assert {edge.kind for edge in plan.edges} == {"lead", "join", "screen"}
    assert plan.whine("receiver", "amplifier").resistance.likely < 1e-4


def test_ripple_of_the_amplifiers_own_converter_is_heard_without_any_burst():
    text = RAILS.replace('current = "45 mA (standard)"', 'burst = "0.01 A"')
    plan = plan_of(text)
    found = plan.whine("high", "amplifier")
    assert (found.kind, found.basis) == ("ripple", "guess")
    # Idle board: 0.7 W out at 91 %, and what the converter takes itself, 3 % of it audible.
    assert found.current.likely == pytest.approx(0.03 * (0.7 / 0.91 + 0.21) / 12, rel=1e-3)
    assert found.volts.likely > 0.0


def test_phone_on_charge_is_heard_through_its_converter():
    found = whine_of(RAILS, "usb")
    assert found.kind == "steps"
    assert found.current.likely == pytest.approx(0.11, rel=1e-6)
    # The amplifier hangs on the boost converter, whose minus lead is met the other way round.
    assert tuple(dict(found.drops)) == ("receiver", "five", "high")
    assert dict(found.drops)["five"] > 0.0


def test_phone_that_plays_by_wire_while_it_charges_is_the_sound():
    wired = RAILS.replace(
        'current = "45 mA (standard)"', 'current = "0 A"\nburst = "0 A (standard)"'
    )
    plan = plan_of(wired)
    assert {whine.kind for whine in plan.whines} == {"ripple", "steps"}
    found = plan.whine("usb", "amplifier")
    assert found.source == "receiver"
    assert "usb" in dict(found.drops)
    quiet = plan_of(RAILS).whine("usb", "amplifier")
    assert found.volts.likely > quiet.volts.likely


def test_phone_without_any_receiver():
    start = RAILS.index("[receiver]")
    plan = plan_of(RAILS[:start] + RAILS[RAILS.index("[usb]") :])
    assert {whine.source for whine in plan.whines} == {"usb"}


def test_nothing_that_pulses_whines_nowhere():
    start = RAILS.index("[receiver]")
    text = RAILS[:start] + RAILS[RAILS.index("[amplifier]") :]
    plan = plan_of(text)
    assert plan.whines == ()
    assert plan.loudest is None


def test_transformer_and_differential_input_take_their_decibels_off():
    text = text_of(negative="shared", board=lead(0.5, 0.5))
    loud = whine_of(text)
    subtracted = whine_of(text, rewired=Rewired(differential=("amplifier",)))
    assert loud.level.likely - subtracted.level.likely == pytest.approx(40.0, rel=1e-6)
    parted = whine_of(text_of(negative="shared", board=lead(0.5, 0.5), receiver="isolated = true"))
    assert loud.level.likely - parted.level.likely == pytest.approx(60.0, rel=1e-6)
    assert plan_of(text_of(receiver="isolated = true")).loops == ()


@pytest.mark.parametrize("negative", ["own", "shared"])
def test_fatter_and_shorter_is_quieter(negative):
    volts = []
    for area, length in ((0.13, 1.2), (0.25, 1.2), (0.25, 0.5), (1.5, 0.5), (1.5, 0.1)):
        one = lead(area, length)
        volts.append(whine_of(text_of(negative=negative, own=one, board=one)).volts.likely)
    assert volts == sorted(volts, reverse=True)
    assert len(set(volts)) == len(volts)


def test_sharing_is_never_better_than_a_lead_of_its_own():
    for own, board in ((0.2, 0.3), (0.8, 0.2), (0.1, 1.5)):
        leads = {"own": lead(0.5, own), "board": lead(0.75, board)}
        shared = whine_of(text_of(negative="shared", **leads))
        alone = whine_of(text_of(negative="own", **leads))
        assert alone.volts.likely < shared.volts.likely


def test_volts_follow_gain_and_current():
    text = {"negative": "shared", "board": lead(0.5, 0.4)}
    one = whine_of(text_of(**text))
    louder = whine_of(text_of(**text, gain="32.02 dB (standard)"))
    assert louder.level.likely - one.level.likely == pytest.approx(6.0, rel=1e-6)
    more = whine_of(text_of(**text, burst="0.2 A (standard)"))
    assert more.volts.likely == pytest.approx(2 * one.volts.likely, rel=1e-9)
    assert more.resistance.likely == pytest.approx(one.resistance.likely, rel=1e-9)


def test_ranges_hold_every_reading():
    found = whine_of(text_of(negative="shared", board=lead(0.5, 0.4)), versions=160)
    assert found.volts.low < 0.5 * found.volts.likely
    assert found.volts.high == pytest.approx(found.volts.likely, rel=1e-6)
    # The peak of a burst stands for its root mean square, and the whole lead for the input's.
    assert found.current.low < 0.6 * found.current.likely
    assert found.resistance.low < 0.5 * found.resistance.likely
    guessed = whine_of(example("first-attempt"), versions=160)
    assert guessed.level.low < guessed.level.likely < guessed.level.high


def test_same_build_same_plan():
    build = build_of(RAILS)
    assert ground_plan(build, versions=40) == ground_plan(build, versions=40)


def test_wire_laid_anew_replaces_the_one_beside_the_plus():
    text = text_of(negative="shared", own=lead(0.5, 0.2), board=lead(0.5, 1.0))
    star = Rewired(returns=(Return("receiver", "battery", 1.5e-6, 0.35),))
    plan = plan_of(text, rewired=star)
    edge = plan.edge("receiver")
    assert (edge.end, edge.kind, edge.area) == ("battery", "join", 1.5e-6)
    assert edge.resistance.likely == pytest.approx(copper(1.5, 0.35), rel=1e-3)
    assert plan.loudest.volts.likely < whine_of(text).volts.likely / 3


def test_sharing_is_taken_with_the_amplifier_where_it_is_worst():
    second = AMPLIFIER.replace("[amplifier]", '[[amplifier]]\nname = "long"').replace(
        NO_LEAD, lead(0.5, 1.1)
    )
    first = AMPLIFIER.replace("[amplifier]", '[[amplifier]]\nname = "short"').replace(
        NO_LEAD, lead(0.5, 0.2)
    )
    drivers = "".join(
        DRIVER.replace("[driver]", f'[[driver]]\nname = "{name} driver"\namplifier = "{name}"')
        for name in ("short", "long")
    )
    text = f"""
name = "Two"
{AGM}
[receiver]
burst = "0.1 A (standard)"
negative = "shared"
fed_by = "battery"
lead = "{NO_LEAD}"
{first}
{second}
{drivers}
"""
    plan = plan_of(text)
    assert plan.edge("receiver").end == "long"
    # The receiver's ground is lifted by the long lead, and both amplifiers hear it.
    heard = {whine.amplifier: whine.volts.likely for whine in plan.whines}
    assert set(heard) == {"short", "long"}
    assert heard["short"] == pytest.approx(heard["long"], rel=1e-9)
    assert len(plan.loops) == 2


def test_unknown_names_are_refused():
    build = build_of(RAILS)
    with pytest.raises(InputError, match="'fife'"):
        ground_plan(build, rewired=Rewired(returns=(Return("fife", "battery", 1e-6, 0.1),)))
    with pytest.raises(InputError, match="'star'"):
        ground_plan(build, rewired=Rewired(returns=(Return("five", "star", 1e-6, 0.1),)))
    with pytest.raises(InputError, match="'receiver'"):
        ground_plan(build, rewired=Rewired(differential=("receiver",)))


def test_a_ring_without_any_way_back_is_refused():
    ring = Rewired(
        returns=(
            Return("receiver", "amplifier", 1e-6, 0.1),
            Return("amplifier", "receiver", 1e-6, 0.1),
        )
    )
    with pytest.raises(NetlistError, match="ground"):
        plan_of(text_of(), rewired=ring)


def sound(plan) -> None:
    assert len(set(plan.nodes)) == len(plan.nodes)
    assert len({edge.name for edge in plan.edges}) == len(plan.edges)
    for edge in plan.edges:
        assert {edge.start, edge.end} <= set(plan.nodes)
        assert edge.resistance.low > 0.0
    for loop in plan.loops:
        assert {*loop.edges} <= {edge.name for edge in plan.edges}
    for found in plan.whines:
        for spread in (found.current, found.resistance, found.volts, found.level):
            assert spread.low <= spread.likely <= spread.high
            assert math.isfinite(spread.low)
            assert math.isfinite(spread.high)
        at_input = found.current.likely * found.resistance.likely
        if found.drops:
            along = abs(sum(volts for _, volts in found.drops))
            assert along == pytest.approx(at_input, rel=1e-3, abs=1e-12)  # V: below any noise
    levels = [found.level.likely for found in plan.whines]
    assert levels == sorted(levels, reverse=True)


@pytest.mark.parametrize("name", EXAMPLES)
def test_examples(name):
    build = build_of(example(name))
    plan = ground_plan(build)
    sound(plan)
    sources = {found.load for found in plan.whines}
    assert {item.name for item in build.receiver} <= sources
    assert {item.name for item in build.usb} <= sources


def test_first_attempt_whines_louder_than_talk_and_the_others_do_not():
    loudest = {name: plan_of(example(name)).loudest for name in EXAMPLES}
    assert heard_as(loudest["first-attempt"].level.likely) == "louder than talk"
    assert loudest["allotment-day"].level.likely < 20.0
    assert all(
        loudest[name].level.likely < loudest["first-attempt"].level.likely - 30.0
        for name in EXAMPLES[1:]
    )


@pytest.mark.parametrize("path", PROVEN, ids=lambda path: path.stem)
def test_builds_of_other_people(path):
    sound(ground_plan(read_build(path), versions=20))


@pytest.mark.parametrize("base", [BASE, SUPPLY, LITHIUM], ids=["lead", "supply", "lithium"])
def test_other_sources(base):
    sound(ground_plan(build_of(base), versions=20))


@pytest.mark.parametrize("tens", range(0, 60, 20))
def test_sensible_builds(tens):
    for number in range(tens, tens + 20):
        text = sensible_build(number)
        plan = ground_plan(build_of(text), versions=8)
        sound(plan)
        if "isolated" in text:
            assert plan.loudest.level.likely < 20.0, number


def test_words_for_levels_rise():
    words = [heard_as(level) for level in np.arange(-60.0, 100.0, 5.0)]
    assert len(dict.fromkeys(words)) == 5
    assert heard_as(19.9) != heard_as(20.0)
