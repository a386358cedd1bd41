"""How rules write figures, and what they all ask of the currents through a part."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from boomwright.advice.finding import Figure, Fix, Level
from boomwright.advice.rules import Case, Says
from boomwright.build.power import Battery
from boomwright.build.quantities import Quantity, format_quantity
from boomwright.outcome.data import Range, ScenarioOutcome

__all__ = [
    "FAMILIES",
    "beyond_source",
    "busiest",
    "in_amps",
    "in_charge",
    "in_decibels",
    "in_degrees",
    "in_hours",
    "in_metres",
    "in_volts",
    "most_amps",
    "overloaded",
    "peak_amps",
    "percent",
    "rechargeable",
    "source_peak",
]

in_amps = partial(format_quantity, kind="current")
in_charge = partial(format_quantity, kind="charge")
in_decibels = partial(format_quantity, kind="decibel")
in_degrees = partial(format_quantity, kind="temperature")
in_hours = partial(format_quantity, kind="time")
in_metres = partial(format_quantity, kind="length")
in_volts = partial(format_quantity, kind="voltage")
percent = partial(format_quantity, kind="share", digits=2)

FAMILIES = {
    "lead-flooded": "lead",
    "lead-agm": "lead",
    "lifepo4": "lifepo4",
    "li-ion-nmc": "li-ion",
    "nimh": "nimh",
}
"""Family by chemistry, as chargers and gauges name what they are made for."""


def _greatest(found: list[Range]) -> Range:
    return max(found, key=lambda item: item.likely)


def rechargeable(case: Case) -> tuple[Battery, str] | None:
    """A battery that can be charged and its family, None for any other source."""
    battery = case.build.battery
    if battery is None or battery.chemistry not in FAMILIES:
        return None
    return battery, FAMILIES[battery.chemistry]


def busiest(case: Case) -> ScenarioOutcome:
    """The way of using the box that draws most from the source."""
    return max(case.outcome.scenarios, key=lambda scenario: scenario.amps.likely)


def most_amps(case: Case, name: str) -> Range:
    """Average current of a part in the way of using the box that loads it most."""
    return _greatest([scenario.part(name).amps for scenario in case.outcome.scenarios])


def peak_amps(case: Case, name: str) -> float:
    """Likely current into a part at the moment at which every output swings to its limit [A]."""
    peaks = [scenario.part(name).amps_peak for scenario in case.outcome.scenarios]
    return _greatest(peaks).likely


def beyond_source(case: Case, amps: float) -> bool:
    """Whether a current is no figure: more than the source has, as where a load pulls it down."""
    return not case.outcome.settled and amps > case.outcome.source.short_circuit.high


def source_peak(case: Case) -> Range:
    """Current out of the source at the moment at which every output swings to its limit."""
    return _greatest([scenario.amps_peak for scenario in case.outcome.scenarios])


def overloaded(
    case: Case,
    name: str,
    rating: Quantity,
    *,
    called: str,
    why: str,
    do: str,
    fix: tuple[float, Fix] | None = None,
) -> Iterator[Says]:
    """Average or peak current above a rating.

    Parameters
    ----------
    case : Case
        The case.
    name : str
        Part that carries the current.
    rating : Quantity
        Current it may carry.
    called : str
        What the sentence calls it.
    why, do : str
        Harm, and advice with ``{need}`` where the current to ask for belongs.
    fix : (float, Fix), optional
        Edit, and the current from which it is not enough.

    Yields
    ------
    Says
        Once at most.
    """
    amps, peak = most_amps(case, name), peak_amps(case, name)
    if beyond_source(case, amps.likely):
        return
    if amps.likely > rating.likely:
        level: Level = "stop"
    elif amps.high > rating.low or peak > rating.likely:
        level = "mind"
    else:
        return
    need = max(1.5 * amps.high, peak)
    perhaps = f" (perhaps {in_amps(rating.low)})" if rating.low < 0.95 * rating.likely else ""
    yield Says(
        level,
        name,
        f"{in_amps(amps.likely)} on average and {in_amps(max(peak, amps.likely))} on peaks flow "
        f"through {called} rated {in_amps(rating.likely)}{perhaps}.",
        why,
        do.format(need=in_amps(need, digits=2)),
        (
            Figure("average current", amps.likely, "current"),
            Figure("peak current", max(peak, amps.likely), "current"),
            Figure("rating", rating.likely, "current"),
        ),
        fix[1] if fix and need < fix[0] else None,
    )
