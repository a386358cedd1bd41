"""Linear regulators by the capacitors around them: enough, close, and able to carry a beat."""

from __future__ import annotations

from collections.abc import Iterator

from boomwright.advice.feeds import beat_volts, lowest_volts
from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.circuits import RailCircuit
from boomwright.build.power import Rail
from boomwright.build.quantities import format_quantity as shown
from boomwright.build.soldered_rail import (
    BEAT,
    burst_dip,
    capacitors_wanted,
    fitted_capacitance,
    volts_at_beat,
)
from boomwright.physics.preferred import preferred_at_least
from boomwright.physics.smoothing import smoothing_capacitance

__all__: list[str] = []

_HOLDS = 0.95
"""Share of the set volts down to which an output counts as held: 4.75 V of 5 V, as USB asks."""

_DIODE_DROP = 0.45
_LEAST_RESERVOIR, _MOST_RESERVOIR = 100e-6, 4700e-6


@rule(
    "linear-capacitors",
    "safe",
    title="Capacitors at a linear regulator",
    source="common data of the 78xx and low-dropout types, from memory",
)
def linear_capacitors(case: Case) -> Iterator[Says]:
    """Linear regulators whose capacitors are too small or missing, or of which nothing is said."""
    for rail in case.build.rail:
        if rail.type != "linear" or rail.capacitors:
            continue
        wanted = capacitors_wanted(rail.dropout.likely)
        fussy = wanted.fussy
        sizes = "10 µF at both ends" if fussy else "0.33 µF at the input and 0.1 µF at the output"
        fix = Fix("fit both capacitors", (Change(rail.name, "capacitors", True),))
        dropout = Figure("dropout", rail.dropout.likely, "voltage")
        oscillates = ", and a low-dropout type oscillates without them" if fussy else ""
        if rail.capacitors is None:
            yield Says(
                "mind",
                rail.name,
                "The file does not say whether the regulator has its capacitors; it wants "
                f"{sizes}, within a finger's breadth.",
                "Without them it can oscillate, and the receiver whines or resets.",
                f"Look at the board; if they are missing, solder {sizes}, then write "
                "capacitors = true.",
                numbers=(dropout,),
                fix=fix,
            )
            continue
        if rail.circuit is not None:
            before, after = fitted_capacitance(rail.circuit)
            yield Says(
                "stop" if fussy else "mind",
                rail.name,
                f"The regulator has {_has(rail.circuit)}; it wants {sizes}{oscillates}.",
                "An oscillating regulator runs warm and makes the receiver whine or reset.",
                f"Solder {sizes}, within a finger's breadth of its legs.",
                numbers=(
                    Figure("close to the input", before, "capacitance"),
                    Figure("close to the output", after, "capacitance"),
                    Figure("distance", rail.circuit.distance.likely, "length"),
                    dropout,
                ),
            )
            continue
        yield Says(
            "stop" if fussy else "mind",
            rail.name,
            f"The regulator has no capacitors; it wants {sizes}{oscillates}.",
            "An oscillating regulator runs warm and makes the receiver whine or reset.",
            f"Solder {sizes}, with legs as short as they go.",
            numbers=(dropout,),
            fix=fix,
        )


def _has(circuit: RailCircuit) -> str:
    """What stands at a regulator, in words."""
    ends = {
        "input": (circuit.input_capacitor, circuit.input_bypass),
        "output": (circuit.output_capacitor, circuit.output_bypass),
    }
    found = []
    for end, fitted in ends.items():
        sizes = " and ".join(shown(c.likely, "capacitance") for c in fitted if c is not None)
        found.append(f"{sizes or 'nothing'} at the {end}")
    none = not any(c is not None for fitted in ends.values() for c in fitted)
    far = not none and not any(fitted_capacitance(circuit))
    away = f", {shown(circuit.distance.likely, 'length')} away" if far else ""
    return " and ".join(found) + away


@rule(
    "rail-output-dips",
    "loud",
    title="Output of a regulator on a bass beat or in a receiver's burst",
    source="USB 2.0: 4.75 V of 5 V, the same share of other volts; charge of a capacitor",
)
def rail_output_dips(case: Case) -> Iterator[Says]:
    """Least output of a linear regulator with its own capacitors, near the end of the run."""
    for rail in case.build.rail:
        circuit = rail.circuit
        if rail.type != "linear" or circuit is None:
            continue
        end = lowest_volts(case, rail)[1]
        made, held = rail.voltage.likely, _HOLDS * rail.voltage.likely
        # Dropping out all the while is another rule's.
        if end < made + rail.dropout.likely or not case.outcome.settled:
            continue
        yield from _in_a_beat(case, rail, circuit, top=end, held=held)
        jump = sum(
            max(item.burst.likely - item.current.likely, 0.0)
            for item in case.build.receiver
            if item.fed_by == rail.name
        )
        dip, worst = burst_dip(circuit, jump)
        if made - worst >= held:
            continue
        least = made - dip if made - dip < held else made - worst
        perhaps = "" if made - dip < held else "perhaps "
        yield Says(
            "mind",
            rail.name,
            f"When the receiver's current jumps by {shown(jump, 'current', digits=2)}, the output "
            f"dips to {perhaps}{shown(least, 'voltage', digits=3)} for some microseconds.",
            f"Below {shown(held, 'voltage')} a receiver may reset, and it whines with its bursts.",
            "Solder 10 µF and 0.1 µF from the regulator's output to minus, close to its legs.",
            numbers=(
                Figure("jump of the current", jump, "current"),
                Figure("output in a burst", made - dip, "voltage"),
                Figure("output in a burst, worst", made - worst, "voltage"),
            ),
        )


def _in_a_beat(
    case: Case, rail: Rail, circuit: RailCircuit, *, top: float, held: float
) -> Iterator[Says]:
    amps = case.loudest(rail.name).amps.likely
    bottom = beat_volts(case, rail)
    volts = volts_at_beat(circuit, case.drawer, top=top, bottom=bottom, current=amps)
    likely = max(min(rail.voltage.likely, volts - rail.dropout.likely), 0.0)
    worst = max(min(rail.voltage.likely, volts - rail.dropout.high), 0.0)
    if worst >= held:
        return
    sure = likely < held
    least = shown(likely if sure else worst, "voltage", digits=3)
    yield Says(
        "mind",
        rail.name,
        f"On a loud bass beat near the end of the run its input falls to "
        f"{shown(volts, 'voltage', digits=3)} and its output to {'' if sure else 'perhaps '}"
        f"{least}.",
        f"Below {shown(held, 'voltage')} a receiver may reset: the music stops with a loud beat.",
        _carries(rail, top=top, amps=amps, held=held),
        numbers=(
            Figure("volts into it between beats", top, "voltage"),
            Figure("volts into it on a beat", volts, "voltage"),
            Figure("output on a beat", likely, "voltage"),
            Figure("output on a beat, worst", worst, "voltage"),
        ),
    )


def _carries(rail: Rail, *, top: float, amps: float, held: float) -> str:
    """What carries a regulator over a beat: a diode and a reservoir, or another regulator."""
    room = top - _DIODE_DROP - held - rail.dropout.high
    other = "use a low-dropout type or a step-down board."
    if room > 0.0:
        farads = float(smoothing_capacitance(amps, ripple=room, frequency=BEAT))
        farads = float(preferred_at_least(max(farads, _LEAST_RESERVOIR), "E6"))
        if farads <= _MOST_RESERVOIR:
            return (
                f"Put a Schottky diode ahead of its input and {shown(farads, 'capacitance')} "
                f"behind that, or {other}"
            )
    return other[:1].upper() + other[1:]
