"""Numbers on the way to degrees."""

from __future__ import annotations

import math
from collections.abc import Callable

from boomwright.advice.rules import Case
from boomwright.advice.steps.step import Step, Steps, given, loudest
from boomwright.build.audio import Amplifier
from boomwright.build.power import Rail

__all__ = ["HEAT"]


def _junction(case: Case) -> Steps:
    loud = loudest(case)
    warm: tuple[Amplifier | Rail, ...] = (*case.build.amplifier, *case.build.rail)
    for part in warm:
        found = loud.part(part.name)
        if math.isnan(found.junction.likely):
            continue
        outside = isinstance(part, Amplifier) and part.sink_outside
        if outside:
            yield given("air around its sink, outside", case.build.want.outside, part.name)
        else:
            yield Step("air around it, in the box", loud.air, "temperature", part.name)
        yield Step("heat", found.loss, "power", part.name)
        if isinstance(part, Rail) and part.sink is None:
            yield given("junction to air", part.junction_ambient, part.name)
        elif part.sink is not None:
            yield given("junction to sink", part.junction_case, part.name)
            yield given("sink to air", part.sink, part.name)
        yield Step("junction", found.junction, "temperature", part.name, result=True)
        yield given("limit", part.junction_max, part.name)


def _how_hot(case: Case) -> Steps:
    loud = loudest(case)
    spots = [part for part in loud.parts if not math.isnan(part.junction.likely)]
    if not spots:
        yield from _box_air(case)
        return
    hottest = max(spots, key=lambda part: part.junction.likely).name
    yield from (step for step in _junction(case) if step.where == hottest)


def _box_air(case: Case) -> Steps:
    loud = loudest(case)
    yield given("outside", case.build.want.outside)
    yield Step(f"heat made inside, {loud.title}", loud.heat, "power")
    if case.build.cabinet is not None:
        yield given("walls", case.build.cabinet.wall, case.build.cabinet.name)
    yield Step("air in the box", loud.air, "temperature", result=True)


HEAT: dict[str, Callable[[Case], Steps]] = {
    "how-hot": _how_hot,
    "junction": _junction,
    "box-air": _box_air,
}
"""How to find the numbers of each quantity."""
