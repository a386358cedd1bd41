"""What to measure on a soldered cutoff before it is trusted, with limits from its tolerances."""

from __future__ import annotations

import numpy as np

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.quantities import format_quantity
from boomwright.build.soldered import SolvedCutoff
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES
from boomwright.circuit.values import Floats
from boomwright.design.cutoff.wish import CutoffWish
from boomwright.design.sheet import BenchReading, Expected

__all__ = ["bench_readings"]

_LIMITS = (0.01, 0.99)
_OPEN = 5e3


def bench_readings(
    wish: CutoffWish, circuit: CutoffCircuit, solved: SolvedCutoff
) -> tuple[BenchReading, ...]:
    """Readings in a safe order, each with what to expect.

    Parameters
    ----------
    wish : CutoffWish
        Load and voltages.
    circuit : CutoffCircuit
        The circuit.
    solved : SolvedCutoff
        Its versions, which the limits rest on.

    Returns
    -------
    tuple of BenchReading
    """
    family = CUTOFF_FAMILIES[circuit.family]
    full = format_quantity(wish.highest, "voltage")
    start = "press the button once" if family.holding else "it must switch on by itself"
    point = solved.closed
    readings = [
        BenchReading(
            "Nothing connected: ohms with the plus probe at battery plus and the minus probe at "
            + (
                "load plus. (The other way round the transistor's own diode conducts.)"
                if "mosfet" in family.needs
                else "load plus, then the other way round."
            ),
            "multimeter, 20 kΩ",
            Expected("ohms", _OPEN, _OPEN, np.inf, "resistance"),
            "A short here feeds the load past the cutoff.",
        ),
        BenchReading(
            f"Bench supply at {full}, limit 0.3 A, no load; {start}. Amps from the supply.",
            "multimeter, 200 mA",
            _limits("takes itself", solved.drain_on, "current"),
            "Amps leads go in series, never across the supply.",
        ),
    ]
    if "zener" in family.needs:
        zener = point.voltage("zener" if circuit.zener_resistor is not None else "sense", "base")
        readings.append(
            BenchReading(
                "Still on: volts across the zener D1.",
                "multimeter, 20 V",
                _limits("zener", zener, "voltage"),
            )
        )
        emitter = "e" if circuit.emitter_resistor is not None else "0"
        readings.append(
            BenchReading(
                "Still on: volts from base to emitter of Q1.",
                "multimeter, 2 V",
                _limits("base", point.voltage("base", emitter), "voltage"),
            )
        )
    elif "comparator" in family.needs:
        readings.append(
            BenchReading(
                "Still on: volts at the reference U2.",
                "multimeter, 20 V",
                _limits("reference", point.voltage("ref"), "voltage"),
            )
        )
    if "mosfet" in family.needs:
        readings.append(
            BenchReading(
                "Still on: volts from source to gate of Q1.",
                "multimeter, 20 V",
                _limits("gate", point.voltage("batt", "gate"), "voltage"),
            )
        )
    readings.append(
        BenchReading(
            "A lamp of about the real load as load, limit raised to suit. Turn the supply down "
            "slowly, waiting a second or two at each step, and note where the lamp goes out.",
            "multimeter, 20 V, at the circuit's own input",
            _limits("lets go at", solved.off, "voltage"),
            "A car lamp gets hot.",
        )
    )
    if family.holding:
        readings.append(
            BenchReading(
                "Turn the supply up to full again: the lamp must stay out. Amps from the supply.",
                "multimeter, 200 µA",
                Expected("takes itself, open", 0.0, 0.0, 1e-5, "current"),
            )
        )
    else:
        readings.append(
            BenchReading(
                "Turn the supply up slowly and note where the lamp comes on.",
                "multimeter, 20 V, at the circuit's own input",
                _limits("comes back at", solved.on, "voltage"),
            )
        )
        readings.append(
            BenchReading(
                "Off, with the supply midway between the two voltages: amps from the supply.",
                "multimeter, 200 mA",
                _limits("takes itself, open", solved.drain_off, "current"),
            )
        )
    readings.append(
        BenchReading(
            "On, with the real load at full volume: volts from battery plus to load plus.",
            "multimeter, 2 V",
            _limits("drop", solved.resistance * wish.load_current, "voltage"),
            "Loud tests wear ears: use a dummy load or ear protection.",
        )
    )
    return tuple(readings)


def _limits(label: str, values: Floats, kind: str) -> Expected:
    usable = values[np.isfinite(values)]
    low, high = (float(value) for value in np.quantile(usable, _LIMITS))
    likely = float(values[0]) if np.isfinite(values[0]) else float(np.median(usable))
    return Expected(label, likely, min(low, likely), max(high, likely), kind)
