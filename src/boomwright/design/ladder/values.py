"""Values of an LED ladder from its marks, and how far each LED may miss its own."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import cast

import numpy as np

from boomwright.build.components import Diode as DrawerDiode
from boomwright.build.drawer import Drawer
from boomwright.circuit.blocks.ladder import LadderValues, ladder_netlist
from boomwright.circuit.operating import operating_point
from boomwright.circuit.parts import Comparator, Diode, ShuntReference
from boomwright.circuit.values import Floats, thermal_voltage
from boomwright.physics.preferred import (
    Series,
    nearest_preferred,
    preferred_at_least,
    preferred_at_most,
    preferred_values,
)

__all__ = [
    "ladder_leds",
    "ladder_values",
    "led_thresholds",
    "threshold_spread",
    "trimmed_values",
]

_TOP_OF_REFERENCE = 0.9
_SOURCE_RESISTANCE = 47e3
_TRIM_SHARE = 0.1
"""Trimmer over the divider: its half makes good a reference and a divider of 1 %."""

_REFERENCE_CURRENT = 1.6e-3
"""Above the 1 mA that the 431 class needs at the lowest mark [A], from memory."""

_OFFSET = 5e-3
"""Greatest offset of a comparator of the 339 class [V], typical of class, from memory."""

_LEAKAGE = 0.2e-6
"""What a formed electrolytic far below its rated volts may leak, with the comparators' inputs [A];
typical of class, from memory."""

_LEDS = ("led-green-5mm", "led-yellow-5mm", "led-red-5mm")
_LED_EMISSION = 2.0
_LED_RESISTANCE = 8.0
_COMPARATOR_DROP = 0.25
_ROUNDS = 4
_CHAIN = np.linspace(33e3, 68e3, 351)


def ladder_leds(drawer: Drawer, count: int) -> tuple[tuple[str, Diode, float], ...]:
    """Drawer key, part and drop of each LED: red lowest, yellow above it, green for the rest."""
    keys = (*(_LEDS[0],) * max(count - 2, 0), *_LEDS[1:])[-count:]
    found = []
    for key in keys:
        part = cast(DrawerDiode, drawer.part("diode", key))
        drop, rated = part.drop.likely, part.current.likely
        junction = (drop - rated * _LED_RESISTANCE) / (_LED_EMISSION * float(thermal_voltage()))
        led = Diode(
            name="D1",
            anode="",
            cathode="",
            saturation_current=rated / math.exp(junction),
            emission=_LED_EMISSION,
            resistance=_LED_RESISTANCE,
            kind="led",
        )
        found.append((key, led, drop))
    return tuple(found)


def ladder_values(
    wanted: Floats,
    reference: ShuntReference,
    leds: tuple[tuple[str, Diode, float], ...],
    *,
    trimmer: bool,
    series: Series,
    filter_time: float,
    led_current: float,
) -> tuple[LadderValues, float]:
    """Preferred values that come nearest, and the trimmer's full resistance (0 without one)."""
    volts = float(np.max(reference.voltage))
    ratio = float(wanted[0]) / (_TOP_OF_REFERENCE * volts)
    target = _SOURCE_RESISTANCE * ratio / (ratio - 1.0)
    bottoms = preferred_values(series) * 10.0 ** math.floor(math.log10(target))
    bottoms = bottoms[np.argsort(np.abs(np.log(bottoms / target)))[:24]]
    full = float(preferred_at_least(_TRIM_SHARE * (ratio - 1.0) * target, "E6")) if trimmer else 0.0
    tops = nearest_preferred((ratio - 1.0) * bottoms - 0.5 * full, series)
    made = 1.0 + (tops + 0.5 * full) / bottoms
    best = int(np.argmin(np.abs(made - ratio)))
    top, bottom, ratio = float(tops[best]), float(bottoms[best]), float(made[best])

    taps = wanted / (ratio * volts)
    steps = -np.diff(np.concatenate([[1.0], taps, [0.0]]))
    chains = nearest_preferred(_CHAIN[:, None] * steps, series)
    reached = 1.0 - np.cumsum(chains, axis=1)[:, :-1] / np.sum(chains, axis=1, keepdims=True)
    misses = reached / taps
    if trimmer:
        # The trimmer takes out what all marks are off by, so only the rest counts.
        misses = misses / misses[:, [len(wanted) // 2]]
    chain = chains[int(np.argmin(np.max(np.abs(misses - 1.0), axis=1)))]

    upper = top + 0.5 * full
    source = upper * bottom / (upper + bottom)
    middle = 0.5 * float(wanted[0] + wanted[-1])
    lamps = [
        float(nearest_preferred((middle - drop - _COMPARATOR_DROP) / led_current, "E24"))
        for _, _, drop in leds
    ]
    feed = (0.9 * float(wanted[-1]) - volts) / _REFERENCE_CURRENT
    return (
        LadderValues(
            reference=reference,
            comparator=Comparator(name="U2A", plus="", minus="", output="", ground=""),
            leds=tuple(led for _, led, _ in leds),
            led_resistors=tuple(lamps),
            chain=tuple(float(value) for value in chain),
            divider_top=top,
            divider_bottom=bottom,
            trimmer=0.5 * full if trimmer else None,
            filter_capacitor=float(nearest_preferred(filter_time / source, "E6")),
            reference_resistor=float(preferred_at_most(feed, "E24")),
        ),
        full,
    )


def led_thresholds(values: LadderValues, wanted: Floats) -> Floats:
    """Battery voltage at which each LED changes.

    The scaled battery follows the battery in proportion and the taps hardly at all, so the ratio of
    the two, solved again at the voltage that it gives, closes in at once.

    Parameters
    ----------
    values : LadderValues
        The circuit, one sample or many.
    wanted : array, shape (steps,)
        Voltages to start from [V].

    Returns
    -------
    array, shape (steps, samples)
        Middle of each comparator's gap [V].
    """
    netlist = ladder_netlist(values)
    offsets = values.offsets or (0.0,) * len(wanted)
    found = []
    for step, start in enumerate(wanted):
        volts, point = np.full(netlist.samples, float(start)), None
        for _ in range(_ROUNDS):
            point = operating_point(netlist, levels={"BT1": volts}, start=point)
            tap = point.voltage(f"tap{step + 1}") + offsets[step]
            volts = volts * tap / point.voltage("sense")
        found.append(volts)
    return np.stack(found)


def trimmed_values(values: LadderValues, marks: Floats, step: int, full: float) -> LadderValues:
    """The same ladder with its trimmer turned until one LED changes at its mark."""
    wanted = float(marks[step])
    now = float(led_thresholds(values, marks)[step, 0])
    rest = float(np.max(values.divider_top)) + float(np.max(values.divider_bottom))
    setting = (rest + 0.5 * full) * wanted / now - rest
    return replace(values, trimmer=min(max(setting, 0.02 * full), 0.98 * full))


def threshold_spread(
    values: LadderValues,
    trim_step: int | None,
    *,
    tolerances: tuple[float, float, float],
    marks: Floats,
) -> tuple[Floats, Floats]:
    """Thresholds of the nominal circuit, and how far each may lie off at worst [V]."""
    resistor, reference, meter = tolerances
    steps = len(values.leds)
    names = ["voltage", "top", "bottom", *range(steps + 1), *(f"offset{i}" for i in range(steps))]
    ones = np.ones(1 + 2 * len(names))

    def moved(name: str | int, share: float) -> Floats:
        column = names.index(name)
        factor = ones.copy()
        factor[1 + 2 * column : 3 + 2 * column] += (-share, share)
        return factor

    spread = replace(
        values,
        reference=replace(
            values.reference, voltage=values.reference.voltage * moved("voltage", reference)
        ),
        divider_top=values.divider_top * moved("top", resistor),
        divider_bottom=values.divider_bottom * moved("bottom", resistor),
        chain=tuple(part * moved(i, resistor) for i, part in enumerate(values.chain)),
        offsets=tuple(moved(f"offset{i}", _OFFSET) - 1.0 for i in range(steps)),
    )
    found = led_thresholds(spread, marks)
    nominal = found[:, 0]
    shares = found / found[:, :1]
    if trim_step is not None:
        shares = shares / shares[[trim_step]]
    pairs = np.abs(shares[:, 1:] - 1.0).reshape(steps, len(names), 2)
    worst = np.sum(np.max(pairs, axis=2), axis=1)
    # A leaky filter capacitor pulls the divider down whether it was trimmed or not.
    upper = values.divider_top + (0.0 if values.trimmer is None else values.trimmer)
    leak = _LEAKAGE * float(np.max(upper))
    return nominal, nominal * (worst + (meter if trim_step is not None else 0.0)) + leak
