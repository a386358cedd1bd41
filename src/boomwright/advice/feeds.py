"""Volts that reach a regulator or converter, as several rules look at them."""

from __future__ import annotations

from boomwright.advice.rules import Case
from boomwright.build.power import Polarity, Rail
from boomwright.outcome.data import ScenarioOutcome

__all__ = ["beat_volts", "loudest_use", "lowest_volts"]


def loudest_use(case: Case) -> ScenarioOutcome:
    """Flat out, with a phone on charge where there is a port."""
    return case.outcome.scenario("flat-out+phone" if case.build.usb else "flat-out")


def lowest_volts(case: Case, rail: Rail) -> tuple[float, float]:
    """Volts into a rail at the start and at the end of the loudest run, likely version."""
    loudest = loudest_use(case)
    start = loudest.part(rail.name).volts_in.likely
    if case.has_upstream(rail.name, "rail") or not loudest.curve.volts:
        return start, start
    lost = loudest.curve.volts[0] - start
    return start, min(start, loudest.volts_end.likely - lost)


def beat_volts(case: Case, rail: Rail) -> float:
    """Volts into a rail at the end of the loudest run while every output is at its limit.

    What the source and the way to the rail lose grows with the current, a diode's drop aside.
    """
    loudest, (start, end) = loudest_use(case), lowest_volts(case, rail)
    amps, peak = loudest.amps.likely, loudest.amps_peak.likely
    if case.has_upstream(rail.name, "rail") or not loudest.curve.volts or peak <= amps:
        return end
    diodes = sum(
        node.part.drop.likely
        for node in case.upstream(rail.name)
        if isinstance(node.part, Polarity) and node.part.drop is not None
    )
    lost = max(loudest.curve.volts[0] - start - diodes, 0.0)
    more = lost * (peak / amps - 1.0) if amps > 0.0 else 0.0
    return max(end - (peak - amps) * case.outcome.source.resistance.likely - more, 0.0)
