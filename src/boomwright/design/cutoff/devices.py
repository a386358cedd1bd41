"""Relay and transistors of a cutoff, from the drawer, strong enough and quick to find."""

from __future__ import annotations

import numpy as np

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.components import Comparator, Reference, Relay, Transistor
from boomwright.build.drawer import Drawer
from boomwright.build.quantities import format_quantity
from boomwright.design.cutoff.wish import CutoffWish
from boomwright.errors import InputError, Problem

__all__ = ["driver_for", "relay_for", "stands_supply", "transistor_for"]

_COMFORTABLE = 1.25
_DARLINGTON = 600.0
_EVERYDAY = "2N2222A"
_CONTACT_MARGIN = 1.25


def relay_for(
    wish: CutoffWish, drawer: Drawer, *, loses: float = 0.3, most_current: float = np.inf
) -> str:
    """Relay of the drawer that carries the load and pulls in before the battery is at ``on``.

    Parameters
    ----------
    wish : CutoffWish
        What is wanted.
    drawer : Drawer
        Parts to choose from.
    loses : float
        Volts that the driver keeps from the coil.
    most_current : float
        Greatest coil current that the driver stands [A].

    Returns
    -------
    str
        The one whose coil takes least.

    Raises
    ------
    InputError
        If none serves; says for each reason how far off the nearest is.
    """
    found, best_contact, least_pull = [], 0.0, np.inf
    for name in drawer.names("relay"):
        part = drawer.part("relay", name)
        if not isinstance(part, Relay) or part.contacts == "latching":
            continue
        pull = part.operate.high * part.coil_voltage.likely
        carries = part.contact_current.low >= _CONTACT_MARGIN * wish.peak_current
        # A coil stands a quarter more than its rating for ever; common practice, no source.
        stands = part.coil_voltage.likely * 1.25 >= wish.highest
        stands &= (wish.highest - loses) / part.coil_resistance.low <= most_current
        if stands:
            best_contact = max(best_contact, part.contact_current.low)
        if carries and stands:
            least_pull = min(least_pull, pull + loses)
            if pull + loses <= wish.on:
                amps = part.coil_voltage.likely / part.coil_resistance.likely
                found.append((amps, name))
    if found:
        return min(found)[1]
    if best_contact == 0.0:
        says, hint = "no relay coil of the drawer stands the full battery", "Add a relay of yours."
    elif not np.isfinite(least_pull):
        says = "no relay contact of the drawer carries the load's peaks"
        most = best_contact / _CONTACT_MARGIN
        hint = f"Nearest: {format_quantity(most, 'current')} of peaks."
    else:
        says = "no relay of the drawer is sure to pull in at the wanted on voltage"
        nearest = np.ceil(least_pull * 100.0) / 100.0
        hint = f"Nearest: on at {format_quantity(nearest, 'voltage', digits=4)}, or a MOSFET kind."
    got = f"{format_quantity(wish.peak_current, 'current')} of peaks, {wish.on:.4g} V"
    raise InputError([Problem(says, got=got, key="relay", hint=hint)])


def driver_for(relay: str, wish: CutoffWish, drawer: Drawer) -> str:
    """Smallest NPN transistor of the drawer that drives a relay's coil, half on as well.

    Half on it turns a quarter of what the coil would take at full volts to heat: that is where a
    slowly falling battery leaves it.

    Parameters
    ----------
    relay : str
        The relay, a part of the drawer.
    wish : CutoffWish
        What is wanted.
    drawer : Drawer
        Parts to choose from.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If none serves.
    """
    part = drawer.part("relay", relay)
    if not isinstance(part, Relay):
        raise TypeError(f"{relay} is no relay")
    amps = wish.highest / part.coil_resistance.low
    watts = wish.highest * amps / 4.0
    found = []
    for name in drawer.names("transistor"):
        item = drawer.part("transistor", name)
        if not isinstance(item, Transistor) or item.type != "npn" or item.gain is None:
            continue
        strong = item.power.low >= _COMFORTABLE * watts and item.current_max.low >= 1.5 * amps
        # A Darlington's gain leaves no gap at all, and its two junctions cost volts.
        usual = item.gain.likely < _DARLINGTON and item.voltage_max.likely >= 1.5 * wish.highest
        if strong and usual:
            found.append((item.power.likely, -item.gain.likely, name))
    if not found:
        got = f"{format_quantity(amps, 'current')}, {format_quantity(watts, 'power')} half on"
        says = "no NPN transistor of the drawer drives this relay's coil"
        raise InputError([Problem(says, got=got, key="transistor", hint="Take a lighter relay.")])
    # The everyday type where it serves: any shop and any drawer has it.
    if any(name == _EVERYDAY for *_, name in found):
        return _EVERYDAY
    return min(found)[2]


def transistor_for(wish: CutoffWish, drawer: Drawer, *, loses: float) -> str:
    """P-channel transistor of the drawer with the least loss that stands the battery and the load.

    Parameters
    ----------
    wish : CutoffWish
        What is wanted.
    drawer : Drawer
        Parts to choose from.
    loses : float
        Volts that the driver keeps from the gate.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If none serves.
    """
    found, most = [], 0.0
    for name in drawer.names("transistor"):
        part = drawer.part("transistor", name)
        if not isinstance(part, Transistor) or part.type != "p-mosfet":
            continue
        if part.on_resistance is None or part.threshold is None:
            continue
        # Driven from the battery itself: at the off voltage there must be drive enough left.
        drives = wish.off - loses >= 2.0 * part.threshold.high
        stands = part.voltage_max.likely >= 1.3 * wish.highest
        if drives and stands:
            most = max(most, part.current_max.low)
            if part.current_max.low >= 1.5 * wish.peak_current:
                found.append((part.on_resistance.likely, name))
    if found:
        return min(found)[1]
    got = f"{format_quantity(wish.peak_current, 'current')} of peaks at {wish.highest:.4g} V"
    limit = format_quantity(most / 1.5, "current")
    hint = f"Nearest: {limit} of peaks, or a relay." if most else "Take a relay."
    says = "no P-channel transistor of the drawer stands this battery and load"
    raise InputError([Problem(says, got=got, key="mosfet", hint=hint)])


def stands_supply(kind: str, wish: CutoffWish, drawer: Drawer) -> None:
    """Nothing, where the usual reference or comparator stands the full battery.

    Parameters
    ----------
    kind : str
        ``reference`` or ``comparator``.
    wish : CutoffWish
        What is wanted.
    drawer : Drawer
        Where the usual one is looked up.

    Raises
    ------
    InputError
        If it does not stand it.
    """
    name = str(CutoffCircuit.model_fields[kind].default)
    part = drawer.part(kind, name)
    if not isinstance(part, Reference | Comparator):
        raise TypeError(f"{name} is no {kind}")
    if part.voltage_max.likely < wish.highest:
        got = format_quantity(wish.highest, "voltage")
        expected = f"at most {format_quantity(part.voltage_max.likely, 'voltage')}"
        says = f"the {kind} does not stand the full battery"
        hint = "A zener and a relay do."
        raise InputError([Problem(says, got=got, expected=expected, key=kind, hint=hint)])
