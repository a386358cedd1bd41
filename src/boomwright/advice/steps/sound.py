"""Numbers on the way to loudness, watts and bass."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from boomwright.advice.rules import Case
from boomwright.advice.steps.step import Step, Steps, given, sure
from boomwright.build.audio import Amplifier
from boomwright.outcome.data import AmplifierOutcome, OutputOutcome, Range
from boomwright.outcome.loudness import room_gain
from boomwright.outcome.plan import NodeNumbers
from boomwright.physics.amplifier import swing_peak
from boomwright.physics.clipping import clipped_power_factor
from boomwright.physics.sound import PLACES, distance_loss

__all__ = ["SOUND"]

_CLAIM_DISTORTION = 0.1


def _boards(
    case: Case,
) -> Iterator[tuple[AmplifierOutcome, Amplifier, NodeNumbers, OutputOutcome, str]]:
    """Every output, those of one board that are alike only once."""
    nodes = {node.name: node for node in case.plan.nodes}
    for board in case.outcome.amplifiers:
        node = nodes[board.name]
        alike: dict[tuple[float, float], list[OutputOutcome]] = {}
        for output in board.outputs:
            alike.setdefault((output.load, output.clean_full.likely), []).append(output)
        for outputs in alike.values():
            numbers = " and ".join(str(output.channel + 1) for output in outputs)
            where = f"{board.name}, output {numbers}"
            if isinstance(node.node.part, Amplifier):
                yield board, node.node.part, node, outputs[0], where


def _clean_power(case: Case) -> Steps:
    loud = case.outcome.scenario("flat-out")
    for board, part, node, output, where in _boards(case):
        numbers = node.amplifier
        if numbers is None:
            continue
        volts = loud.part(board.name).volts_in
        used = float(numbers.output_resistance[0, 0])
        stated = part.output_resistance.likely
        peak = swing_peak(
            volts.likely,
            rail_share=numbers.rail_share,
            voltage_loss=part.voltage_loss.likely,
            resistance_output=used,
            load=output.load,
            current_limit=float(numbers.current_max[0, 0]),
        )
        yield Step("supply at its pins, flat out", volts, "voltage", where)
        yield given("volts its output cannot reach", part.voltage_loss, where)
        yield Step("share of the supply it swings", sure(numbers.rail_share), "ratio", where)
        times = used / stated if stated > 0 else 1.0
        yield given("output resistance", part.output_resistance, where, times=times)
        if part.current_max is not None:
            times = float(numbers.current_max[0, 0]) / part.current_max.likely
            yield given("current limit", part.current_max, where, times=times)
        yield Step("load", sure(output.load), "resistance", where)
        yield Step("peak volts", sure(float(peak)), "voltage", where)
        yield Step("clean power", output.clean_full, "power", where, result=True)


def _claim(case: Case) -> Steps:
    for board in case.outcome.amplifiers:
        part = next(item for item in case.build.amplifier if item.name == board.name)
        if part.claim is None or math.isnan(board.claim_share.likely):
            continue
        for output in board.outputs:
            where = f"{board.name}, output {output.channel + 1}"
            yield Step("clean power", output.clean_full, "power", where)
            yield Step("at 10 % distortion", output.ten_percent_full, "power", where)
        factor = float(clipped_power_factor(_CLAIM_DISTORTION))
        yield Step("10 % distortion over clean", sure(factor), "ratio")
        yield given("claimed for the whole board", part.claim, board.name)
        yield Step("supply the claim needs", sure(board.volts_for_claim), "voltage", board.name)
        yield Step("share of the claim", board.claim_share, "share", board.name, result=True)


def _clip_level(case: Case) -> Steps:
    for board in case.outcome.amplifiers:
        part = next(item for item in case.build.amplifier if item.name == board.name)
        if math.isnan(board.clip_input.likely):
            continue
        yield given("gain", part.gain, board.name)
        yield given("attenuator at the input", part.input_pad, board.name)
        yield Step("input that clips", board.clip_input, "voltage", board.name, result=True)
        if case.build.receiver:
            receiver = case.build.receiver[0]
            yield given("full output", receiver.output, receiver.name)
            yield Step("too much by", board.gain_excess, "decibel", board.name, result=True)


def _carried(case: Case) -> tuple[float, float]:
    """Decibels that place and boxes add, and decibels that distance takes."""
    want = case.build.want
    added = PLACES[want.place] + 10 * math.log10(want.boxes)
    return added, float(distance_loss(want.level.distance.likely))


def _level(case: Case, level: Range) -> Steps:
    for output in case.plan.outputs:
        for group in output.groups:
            where = f"{group.driver.name} on {output.amplifier}, output {output.channel + 1}"
            yield Step("drivers", sure(group.count), "ratio", where)
            sensitivity = next(
                item.sensitivity for item in case.outcome.drivers if item.name == group.driver.name
            )
            yield Step("level at 1 m with 1 W", sensitivity, "decibel", where)
            weighting = float(group.weighting.flat[0])
            yield Step("A-weighting of the music", sure(weighting), "decibel", where)
    added, lost = _carried(case)
    near = Range(
        *(end - added + lost - _room(case) for end in (level.likely, level.low, level.high))
    )
    yield Step("all of them at 1 m, half-space", near, "decibel")
    yield Step(f"place ({case.build.want.place}) and boxes", sure(added), "decibel")
    yield Step("lost over the distance", sure(lost), "decibel")
    if case.build.want.room is not None:
        yield Step("the room adds", sure(_room(case)), "decibel")


def _room(case: Case) -> float:
    want = case.build.want
    return room_gain(want, want.level.distance.likely)


def _how_loud(case: Case) -> Steps:
    clean = case.outcome.scenario("flat-out").clean_start
    for step in _clean_power(case):
        if step.result:
            yield Step(step.label, step.value, step.kind, step.where)
    yield from _crest(case)
    yield from _level(case, clean)
    yield Step("asked for", sure(case.outcome.wanted.level_asked), "decibel")
    yield Step("clean level at the listener", clean, "decibel", result=True)


def _run_level(case: Case) -> Steps:
    wanted = case.outcome.wanted
    yield from _level(case, wanted.level_start)
    yield Step("asked for", sure(wanted.level_asked), "decibel")
    yield Step("level as wanted", wanted.level_start, "decibel", result=True)
    loud = case.outcome.scenario("flat-out").level_start
    yield Step("level flat out, clean", loud, "decibel", result=True)


def _distance(case: Case) -> Steps:
    yield given("distance", case.build.want.level.distance)
    yield Step("lost over the distance", sure(_carried(case)[1]), "decibel", result=True)


def _a_weighting(case: Case) -> Steps:
    for output in case.plan.outputs:
        for group in output.groups:
            where = f"{group.driver.name} on {output.amplifier}, output {output.channel + 1}"
            low, high = float(group.low_end.flat[0]), float(group.high_end.flat[0])
            yield Step("band from", sure(low), "frequency", where)
            yield Step("band up to", sure(high), "frequency", where)
            weighting = float(group.weighting.flat[0])
            yield Step("A-weighted less whole", sure(weighting), "decibel", where, result=True)


def _crest(case: Case) -> Steps:
    programme = case.plan.programme
    music = case.build.music
    played = music.title if music else f"programme {case.build.want.programme}"
    yield Step("peaks over average", sure(programme.crest_factor_db), "decibel", played)


def _crest_factor(case: Case) -> Steps:
    for step in _crest(case):
        yield Step(step.label, step.value, step.kind, step.where, result=True)
        times = 10 ** (step.value.likely / 10)
        yield Step("peak power over average", sure(times), "ratio", step.where, result=True)


def _speaker_load(case: Case) -> Steps:
    for _, part, _, output, where in _boards(case):
        for name in output.drivers:
            driver = next(item for item in case.build.driver if item.name == name)
            yield given(f"rated, one {name}, joined in {driver.wiring}", driver.impedance, where)
        yield Step("load with its lead", sure(output.load), "resistance", where, result=True)
        least = sure(output.load_least)
        yield Step("least over the band", least, "resistance", where, result=True)
        yield given("made for no less than", part.load_min, where)


def _driver_power(case: Case) -> Steps:
    for found in case.outcome.drivers:
        driver = next(item for item in case.build.driver if item.name == found.name)
        yield given("stands", driver.power, found.name)
        yield Step("flat out, clean", found.power_flat_out, "power", found.name, result=True)
        clipped = found.power_clipped
        yield Step("turned up into clipping", clipped, "power", found.name, result=True)


def _box_bass(case: Case) -> Steps:
    if case.build.cabinet is None:
        return
    yield Step("air left in the box", case.outcome.volume_net, "volume", case.build.cabinet.name)
    for found in case.outcome.drivers:
        driver = next(item for item in case.build.driver if item.name == found.name)
        if math.isnan(found.box_fc) or not (driver.fs and driver.vas and driver.qes):
            continue
        yield given("resonance in free air", driver.fs, found.name)
        yield given("air as stiff as its suspension", driver.vas, found.name)
        yield given("electrical Q", driver.qes, found.name)
        yield Step("resonance in the box", sure(found.box_fc), "frequency", found.name, result=True)
        yield Step("Q in the box", sure(found.box_qtc), "ratio", found.name, result=True)


SOUND: dict[str, Callable[[Case], Steps]] = {
    "how-loud": _how_loud,
    "clean-power": _clean_power,
    "claim": _claim,
    "clip-level": _clip_level,
    "distance": _distance,
    "a-weighting": _a_weighting,
    "crest-factor": _crest_factor,
    "speaker-load": _speaker_load,
    "driver-power": _driver_power,
    "box-bass": _box_bass,
    "level": _run_level,
}
"""How to find the numbers of each quantity."""
