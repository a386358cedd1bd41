"""Rules about the volts that parts meet: too many, too few, or none that fit."""

from __future__ import annotations

from collections.abc import Iterator

from boomwright.advice.finding import Figure
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.terms import in_volts, percent
from boomwright.build.audio import Amplifier
from boomwright.build.power import Rail
from boomwright.build.quantities import Quantity, format_quantity
from boomwright.outcome.data import Range, ScenarioOutcome

__all__: list[str] = []

_NEAR = 1.03
"""How close to its least supply a board that ends the run is taken to be."""


@rule(
    "voltage-window",
    "safe",
    title="Volts outside what a part survives or works from",
    source="the part's own limits",
)
def voltage_window(case: Case) -> Iterator[Says]:
    """A part that sees more volts than it survives, or stops before the battery is empty."""
    for node in case.tree:
        part = node.part
        if case.has_upstream(part.name, "rail"):
            continue
        if isinstance(part, Amplifier):
            yield from _too_high(case, part.name, part.supply_max)
            yield from _too_low(case, part)
        elif isinstance(part, Rail) and part.input_max is not None:
            yield from _too_high(case, part.name, part.input_max)


def _highest_volts(case: Case, name: str) -> tuple[Range, str]:
    """Highest volts a part meets, and when."""
    full, charger = case.outcome.source.volts_full, case.build.charger
    if charger is None or not (charger.while_playing or not case.has_upstream(name, "switch")):
        return full, "from a full source"
    volts = charger.voltage.likely
    if volts <= full.likely:
        return full, "from a full source"
    # The spread of a label is far wider than a charger's end volts.
    return Range(volts, volts, volts), "while the battery is charged"


def _surely_stands(limit: Quantity) -> float:
    """What a limit stands for certain: a data sheet's limit as it is, a guess at its low end."""
    return limit.low if limit.basis in {"typical", "guess", "claim"} else limit.likely


def _too_high(case: Case, name: str, limit: Quantity) -> Iterator[Says]:
    most, least_most = limit.likely, _surely_stands(limit)
    volts, when = _highest_volts(case, name)
    if not (volts.likely > most or volts.high > least_most):
        return
    yield Says(
        "stop" if volts.likely > most else "mind",
        name,
        f"{name} meets {in_volts(volts.high)} {when}; it survives {in_volts(most)}"
        + (f" (perhaps only {in_volts(least_most)})." if least_most < most else "."),
        "Above its limit a chip breaks down at once, and what follows it may see full volts too.",
        f"Take a part made for {in_volts(1.2 * volts.high, digits=2)} or more"
        + (", or never charge while it is connected." if "charged" in when else "."),
        (
            Figure("volts it meets", volts.high, "voltage"),
            Figure("volts it survives", most, "voltage"),
        ),
    )


def _at_the_end(run: ScenarioOutcome, name: str) -> float:
    """Volts at a part when the run ends, what is lost on the way taken as at its start [V]."""
    lost = run.curve.volts[0] - run.part(name).volts_in.likely
    return run.volts_end.likely - lost


def _opens(case: Case) -> float:
    """Volts to which the battery may be run: the cutoff's, or the chemistry's floor."""
    offs = [cutoff.off.likely for cutoff in case.build.cutoff]
    return max([*offs, case.outcome.source.volts_floor])


def _too_low(case: Case, amplifier: Amplifier) -> Iterator[Says]:
    """What a board works from against steady volts; its dips on peaks are another rule's."""
    name, least, run = amplifier.name, amplifier.supply_min.likely, case.outcome.wanted
    meets = run.part(name).volts_in.likely
    figure = Figure("lowest supply of the board", least, "voltage")
    if meets < least:
        yield Says(
            "stop",
            name,
            f"{name} works from {in_volts(least)} and meets {in_volts(meets)} from a full source.",
            "Below its lowest supply the board stays silent or switches off and on.",
            f"Take a board that works from {in_volts(0.9 * meets, digits=2)}, or more cells.",
            (figure, Figure("volts from a full source", meets, "voltage")),
        )
    elif run.endings.get("lock-out", 0.0) > 0.5 and _at_the_end(run, name) < _NEAR * least:
        yield Says(
            "mind",
            name,
            f"The music ends because {name} locks out at {in_volts(least)}, with "
            f"{percent(run.charge_left.likely)} of the charge still in the battery.",
            "An amplifier that gives up first wastes charge, and stutters as the battery recovers.",
            f"Take a board that works from {in_volts(_opens(case))}, or lose less on the way to "
            "it.",
            (figure, Figure("charge left", run.charge_left.likely, "share")),
        )


@rule(
    "unsettled",
    "safe",
    title="A load that asks for more than its feed can give",
    source="Ohm's law: no volts and amps fit together",
)
def unsettled(case: Case) -> Iterator[Says]:
    """Some moment of the build has no solution."""
    if case.outcome.settled:
        return
    source = case.outcome.source
    yield Says(
        "stop",
        source.name,
        "Some load asks for more power than can reach it through "
        f"{format_quantity(source.resistance.likely, 'resistance')} of source and its leads, so "
        "its volts collapse.",
        "A converter draws more current as its volts fall, until nothing is left: the box hiccups "
        "or does not start, and the figures here do not hold.",
        "Thicken the leads to the converters, take a stronger source, or ask less of them, and "
        "check again.",
        (Figure("resistance of the source", source.resistance.likely, "resistance"),),
    )
