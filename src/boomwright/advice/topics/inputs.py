"""What is soldered at an amplifier's input: a mute, resistors that sum or take level away."""

from __future__ import annotations

from collections.abc import Iterator

from boomwright.advice.finding import Figure
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.quantities import format_quantity as shown
from boomwright.build.soldered_input import bass_corner, receiver_load
from boomwright.build.soldered_mute import delay_after_break
from boomwright.physics.preferred import preferred_at_least

__all__: list[str] = []

_STARTS = 0.5
"""Time in which a small receiver has started and its outputs have settled [s]; typical of class,
from memory: 0.3 s to 1 s."""

_BREAK = 1.0
"""A quick off and on [s]."""


@rule(
    "mute-short",
    "loud",
    title="Mute that ends before the receiver has settled",
    source="small receivers settle in 0.3 s to 1 s: typical of class, from memory",
)
def mute_short(case: Case) -> Iterator[Says]:
    """Shortest delay of a soldered mute against the start of a receiver."""
    for board in case.build.amplifier:
        circuit, delay = board.mute_circuit, board.mute_delay
        if circuit is None or delay is None or delay.low >= _STARTS:
            continue
        surely = delay.likely < _STARTS
        least = shown(delay.likely if surely else delay.low, "time", digits=2)
        longer = _STARTS / delay.low if delay.low > 0.0 else 10.0
        wanted = circuit.capacitor.likely * min(longer, 10.0)
        better = float(preferred_at_least(wanted, "E6"))
        yield Says(
            "mind",
            board.name,
            f"The mute lasts {'' if surely else 'perhaps only '}{least}, and a receiver needs "
            f"about {shown(_STARTS, 'time')} until its outputs have settled.",
            "What the receiver's start makes of clicks and thumps then reaches the drivers.",
            f"Take a larger capacitor, {shown(better, 'capacitance')} or more.",
            numbers=(
                Figure("mute, likely", delay.likely, "time"),
                Figure("mute, shortest", delay.low, "time"),
                Figure("a receiver's start", _STARTS, "time"),
            ),
        )


@rule(
    "mute-after-break",
    "loud",
    title="Mute after a quick off and on",
    source="charge left on the mute's capacitor after a second",
)
def mute_after_break(case: Case) -> Iterator[Says]:
    """Delay of a soldered mute when the box has been off for a second only."""
    for board in case.build.amplifier:
        circuit, delay = board.mute_circuit, board.mute_delay
        if circuit is None or delay is None:
            continue
        volts = case.outcome.wanted.part(board.name).volts_in.likely
        # The capacitor at the board's pins keeps the rail up until its idle power has emptied it.
        rail = board.supply_capacitor.likely * volts**2 / max(board.idle_power.likely, 1e-3)
        again = delay_after_break(circuit, supply=volts, off=_BREAK, rail=rail)
        if again >= min(0.5 * delay.likely, _STARTS):
            continue
        guarded = bool(circuit.discharge)
        yield Says(
            "mind",
            board.name,
            f"Off for {shown(_BREAK, 'time')} and on again, the mute lasts "
            f"{shown(again, 'time', digits=2) if again > 0 else 'no time at all'} instead of "
            f"{shown(delay.likely, 'time', digits=2)}.",
            "Its capacitor still holds charge"
            + (", as the supply falls slowly" if guarded else " with nothing to empty it")
            + ", so a switch that bounces or a quick restart thumps.",
            "Wait a few seconds before switching on again."
            if guarded
            else "Solder a small diode from the capacitor to the switched supply, its band to the "
            "supply: it empties the capacitor as the supply falls.",
            numbers=(
                Figure("mute after a long rest", delay.likely, "time"),
                Figure("mute after a second off", again, "time"),
            ),
        )


@rule(
    "input-loads-receiver",
    "loud",
    title="Resistors at the input that load the receiver",
    source="least load of small receivers: typical of class, from memory",
)
def input_loads_receiver(case: Case) -> Iterator[Says]:
    """What one of the receiver's outputs sees against what it stands."""
    for board in case.build.amplifier:
        circuit = board.input_circuit
        if circuit is None:
            continue
        load, least = receiver_load(circuit, board.channels), circuit.least_load
        if load >= least.likely:
            continue
        summed = circuit.left_resistor is not None
        what = "summing resistors" if summed else "input pad"
        other = "the other output pulls against it" if summed else "all of it is too low in ohms"
        yield Says(
            "mind",
            board.name,
            f"Through the {what} an output of the receiver sees {shown(load, 'resistance')}; it "
            f"stands {shown(least.likely, 'resistance')} or more.",
            f"An output that is loaded so far distorts and loses bass, as {other}.",
            "Take two equal resistors of 1 kΩ for the sum."
            if summed
            else f"Take all resistors of the pad "
            f"{max(2.0, round(least.likely / load + 0.5)):.0f} times as large.",
            numbers=(
                Figure("load on the receiver", load, "resistance"),
                Figure("least load", least.likely, "resistance"),
            ),
        )


@rule(
    "input-takes-bass",
    "loud",
    title="Capacitor ahead of the input that takes bass",
    source="first-order high-pass of the capacitor and the resistances around it",
)
def input_takes_bass(case: Case) -> Iterator[Says]:
    """Corner of a coupling capacitor against the lowest note of the drivers."""
    low_ends = {driver.name: driver.low_end for driver in case.outcome.drivers}
    for board in case.build.amplifier:
        circuit = board.input_circuit
        driven = [low_ends[item.name] for item in case.drivers_of(board) if item.name in low_ends]
        if circuit is None or circuit.coupling_capacitor is None or not driven:
            continue
        corner, lowest = bass_corner(circuit, board.channels), min(driven)
        if corner <= lowest:
            continue
        fitted = circuit.coupling_capacitor.likely
        # At half of the lowest note it costs one decibel there.
        better = float(preferred_at_least(2.0 * fitted * corner / lowest, "E6"))
        yield Says(
            "mind",
            board.name,
            f"{shown(fitted, 'capacitance')} ahead of the input cuts the bass below "
            f"{shown(corner, 'frequency')}; the drivers go down to {shown(lowest, 'frequency')}.",
            "Below that corner the capacitor keeps the bass from the amplifier.",
            f"Fit {shown(better, 'capacitance')} or more; above 1 µF an electrolytic, its plus "
            "towards the side with the higher direct voltage.",
            numbers=(
                Figure("corner of the capacitor", corner, "frequency"),
                Figure("bass end of the drivers", lowest, "frequency"),
                Figure("capacitor needed", better, "capacitance"),
            ),
        )
