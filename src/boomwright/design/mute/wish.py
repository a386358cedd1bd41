"""What a mute delay cannot do, with the nearest that it can."""

from __future__ import annotations

from dataclasses import dataclass

from boomwright.build.components import Relay
from boomwright.build.drawer import Drawer
from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.mute import MUTE_KINDS, MuteKind
from boomwright.errors import InputError, Problem

__all__ = ["MuteWish", "checked_mute", "chosen_relay"]

_DRIVER_DROP = 0.3
_COIL_ROOM = 1.3


@dataclass(frozen=True, kw_only=True)
class MuteWish:
    """What is wanted of a mute delay.

    Parameters
    ----------
    kind : str
        Kind of mute.
    on_delay, supply, supply_low, supply_high, rail_capacitor, idle_current, pin_voltage, pull_up
        As :func:`boomwright.design.mute.design.design_mute` has them.
    impedance : float
        Loudspeaker [Ω].
    capacitor_tolerance : tuple of float
        Least and greatest, as shares.
    """

    kind: MuteKind
    on_delay: float
    supply: float
    supply_low: float
    supply_high: float
    rail_capacitor: float
    idle_current: float
    pin_voltage: float
    pull_up: float
    impedance: float
    capacitor_tolerance: tuple[float, float]


def checked_mute(wish: MuteWish) -> None:
    """Nothing if a wish can be; all that cannot be, otherwise.

    Parameters
    ----------
    wish : MuteWish
        What is wanted.

    Raises
    ------
    InputError
        With every number out of range.
    """
    problems = []
    if wish.kind not in MUTE_KINDS:
        problems.append(
            Problem(
                "no such kind of mute",
                got=repr(wish.kind),
                expected=f"one of {', '.join(MUTE_KINDS)}",
                key="kind",
            )
        )
    for key, unit, least, most in (
        ("on_delay", "time", 0.1, 10.0),
        ("supply", "voltage", 4.5, 30.0),
        ("supply_low", "voltage", 3.6, 30.0),
        ("supply_high", "voltage", 4.5, 36.0),
        ("rail_capacitor", "capacitance", 1e-6, 0.1),
        ("idle_current", "current", 1e-3, 10.0),
        ("pin_voltage", "voltage", 1.8, 30.0),
        ("pull_up", "resistance", 1e3, 1e6),
        ("impedance", "resistance", 1.0, 100.0),
    ):
        value = getattr(wish, key)
        if not least <= value <= most:
            near = least if value < least else most
            problems.append(
                Problem(
                    f"{key.replace('_', ' ')} of a mute",
                    got=format_quantity(value, unit),
                    expected=f"{format_quantity(least, unit)} to {format_quantity(most, unit)}",
                    key=key,
                    hint=f"the nearest possible is {format_quantity(near, unit)}"
                    + (
                        "; a longer wait wants a timer"
                        if key == "on_delay" and value > most
                        else ""
                    ),
                )
            )
    fewer, more = wish.capacitor_tolerance
    if not -0.9 <= fewer <= 0.0 <= more <= 2.0:
        problems.append(
            Problem(
                "tolerance of the delay capacitor",
                got=f"{100 * fewer:g} % to {100 * more:g} %",
                expected="a share from -90 % to 0, and one from 0 to 200 %",
                key="capacitor_tolerance",
                hint="-20 % to +50 % for an old electrolytic",
            )
        )
    if not problems and not wish.supply_low <= wish.supply <= wish.supply_high:
        problems.append(
            Problem(
                "usual battery voltage outside its own range",
                got=format_quantity(wish.supply, "voltage"),
                expected=f"{format_quantity(wish.supply_low, 'voltage')} to "
                f"{format_quantity(wish.supply_high, 'voltage')}",
                key="supply",
            )
        )
    if problems:
        raise InputError(problems)


def chosen_relay(wish: MuteWish, drawer: Drawer) -> Relay:
    """Relay of the drawer that pulls in on the emptiest battery and stands the fullest.

    Parameters
    ----------
    wish : MuteWish
        What is wanted.
    drawer : Drawer
        The parts to choose from.

    Returns
    -------
    Relay
        The one that takes least current.

    Raises
    ------
    InputError
        If none fits.
    """
    fits, coils = [], set()
    for name in drawer.names("relay"):
        relay = drawer.part("relay", name)
        if not isinstance(relay, Relay) or relay.contacts == "latching":
            continue
        coil = relay.coil_voltage.likely
        coils.add(coil)
        pulls = relay.operate.high * coil <= wish.supply_low - _DRIVER_DROP
        carries = relay.contact_current.low >= wish.supply_high / wish.impedance
        if pulls and wish.supply_high <= _COIL_ROOM * coil and carries:
            fits.append((relay.coil_resistance.likely, name, relay))
    if fits:
        _, name, relay = max(fits, key=lambda entry: entry[0])
        return relay.model_copy(update={"part": name})
    shown = ", ".join(format_quantity(volts, "voltage") for volts in sorted(coils))
    raise InputError(
        [
            Problem(
                "no relay of the drawer pulls in on the emptiest battery, stands the fullest and "
                "carries the loudspeaker",
                got=f"{format_quantity(wish.supply_low, 'voltage')} to "
                f"{format_quantity(wish.supply_high, 'voltage')}, "
                f"{format_quantity(wish.supply_high / wish.impedance, 'current')}",
                expected=f"coils of {shown}",
                key="supply",
                hint="a mute pin works from any supply; or feed the coil through a resistor",
            )
        ]
    )
