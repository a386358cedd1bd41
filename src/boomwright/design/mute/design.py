"""A mute delay against the thump: part values for a wanted delay, and what they really do."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from boomwright.build.components import Relay as DrawerRelay
from boomwright.build.components import Transistor
from boomwright.build.drawer import Drawer, load_drawer
from boomwright.circuit.blocks.mute import MUTE_KINDS, MuteKind, MuteValues, mute_netlist
from boomwright.circuit.blocks.polarity import fitted_diode
from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import Bipolar, Comparator, Relay, VoltageSource
from boomwright.circuit.transient import Transient, transient
from boomwright.circuit.values import Floats, Value, thermal_voltage
from boomwright.design.mute.sheet import (
    CAUTIONS,
    MuteChoice,
    mute_parts,
    mute_readings,
    mute_remarks,
)
from boomwright.design.mute.wish import MuteWish, checked_mute, chosen_relay
from boomwright.design.sheet import Design, Expected
from boomwright.design.spread import expected
from boomwright.physics.preferred import nearest_preferred, preferred_at_most, preferred_values
from boomwright.physics.smoothing import charging_time

__all__ = ["design_mute"]

_SWITCH_ON, _ACCURACY = 1e-3, 2e-3
_OFF_TIME = 1.0
_WATCH = "U9"
_DEAD_RAIL = 1.0
_RESISTOR_TOLERANCE = 0.05
_BASE_SPREAD = 0.04
_THRESHOLD_SHARE = 0.6
_DIVIDER_OVER_CHARGE = {"mute-low": 10.0, "mute-high": 10.0, "relay": 5.0}
_CHARGE_RESISTOR = {
    "mute-low": (3.3e3, 22e3, 47e3),
    "mute-high": (3.3e3, 22e3, 47e3),
    "relay": (2.2e3, 6.8e3, 22e3),
}
_SATURATION = 1e-14
_FIRST, _SWITCH, _DRIVER = "2N3904", "2N3904", "2N2907A"
_LEAST_BASE_CURRENT, _FORCED_GAIN = 50e-6, 20.0
_KEEPER = 10e3


def design_mute(
    kind: MuteKind = "mute-low",
    *,
    on_delay: float = 1.0,
    supply: float = 12.0,
    supply_low: float | None = None,
    supply_high: float | None = None,
    rail_capacitor: float = 1e-3,
    idle_current: float = 0.1,
    pin_voltage: float = 5.0,
    pull_up: float = 10e3,
    impedance: float = 4.0,
    capacitor_tolerance: tuple[float, float] = (-0.2, 0.2),
    drawer: Drawer | None = None,
) -> Design:
    """Design of a mute delay that lets sound through late and cuts it off at once.

    Delay, release and a second quick start are followed in time in the circuit, for the likely
    values and for the fastest and slowest that tolerance and battery allow together.

    Parameters
    ----------
    kind : str
        ``mute-low`` for a pin that mutes when low, ``mute-high`` for one that mutes when high,
        ``relay`` for boards without a mute pin.
    on_delay : float
        Wanted time from switch-on to sound [s].
    supply : float
        Usual battery voltage [V].
    supply_low, supply_high : float or None
        Emptiest and fullest battery [V]; 80 % and 115 % of the usual one if None.
    rail_capacitor : float
        What stands on the amplifier's rail [F].
    idle_current : float
        What the amplifier draws at rest: it empties the rail at switch-off [A].
    pin_voltage, pull_up : float
        What the board pulls its mute pin up to, and through what [V, Ω].
    impedance : float
        Loudspeaker behind the relay [Ω].
    capacitor_tolerance : tuple of float
        Of the delay capacitor, as shares: (-0.2, 0.5) for an old electrolytic.
    drawer : Drawer or None
        The parts to choose from; the shipped ones if None.

    Returns
    -------
    Design

    Raises
    ------
    InputError
        With everything that cannot be, and the nearest that can.

    Notes
    -----
    The threshold is V_be (1 + R2/R3) + I_b R2, 60 % of what the capacitor reaches on the emptiest
    battery, so that it plays there and mutes while the rail is still high. Every value moves the
    delay one way, which makes two corners enough.

    References
    ----------
    .. [1] P. Horowitz and W. Hill, The Art of Electronics, 3rd ed., Cambridge, 2015 (RC timing,
       from memory).

    Examples
    --------
    >>> sheet = design_mute(on_delay=1.0)
    >>> sheet.netlist.part("C1").capacitance, sheet.netlist.part("R1").resistance
    (0.0001, 16000.0)
    """
    wish = MuteWish(
        kind=kind,
        on_delay=on_delay,
        supply=supply,
        supply_low=0.8 * supply if supply_low is None else supply_low,
        supply_high=1.15 * supply if supply_high is None else supply_high,
        rail_capacitor=rail_capacitor,
        idle_current=idle_current,
        pin_voltage=pin_voltage,
        pull_up=pull_up,
        impedance=impedance,
        capacitor_tolerance=capacitor_tolerance,
    )
    checked_mute(wish)
    drawer = drawer or load_drawer()
    relay = chosen_relay(wish, drawer) if kind == "relay" else None
    first = drawer.part("transistor", _FIRST)
    values, threshold = _values(wish, relay, first)
    batch = _corners(values, wish, first)
    figures = _figures(wish, batch, values, threshold)
    choice = MuteChoice(values=values, relay=relay, first=_FIRST, second=_second(kind))
    sheet = Design(
        block="mute",
        family=kind,
        title=MUTE_KINDS[kind],
        netlist=mute_netlist(kind, values, voltage=supply),
        figures=figures,
        parts=mute_parts(choice, wish),
        readings=(),
        cautions=CAUTIONS[kind],
    )
    return replace(
        sheet,
        readings=mute_readings(sheet, wish, threshold),
        remarks=mute_remarks(sheet, wish),
    )


def _second(kind: MuteKind) -> str:
    return {"mute-low": _SWITCH, "mute-high": "", "relay": _DRIVER}[kind]


def _bipolar(name: str, *, gain: Value, polarity: str = "npn") -> Bipolar:
    return Bipolar(
        name=name,
        collector="",
        base="",
        emitter="",
        polarity="pnp" if polarity == "pnp" else "npn",
        saturation_current=_SATURATION,
        gain=gain,
    )


@dataclass(frozen=True)
class _Ends:
    """What the first transistor drives, and its collector current when the sound comes."""

    second: Bipolar | None
    drive: float | None
    turns_at: float


def _ends(wish: MuteWish, relay: DrawerRelay | None) -> _Ends:
    pin = wish.pin_voltage / wish.pull_up
    if wish.kind == "mute-high":
        return _Ends(None, None, 0.5 * pin)
    if relay is None:
        base = max(pin / _FORCED_GAIN, _LEAST_BASE_CURRENT)
        drive = float(preferred_at_most((wish.supply_low - 0.7) / base, "E12"))
        turns_at = (wish.supply - 0.6) / drive - 0.5 * pin / 180.0
        return _Ends(_bipolar("Q2", gain=180.0), drive, turns_at)
    coil = wish.supply / relay.coil_resistance.likely
    drive = float(preferred_at_most((wish.supply_low - 0.9) * _FORCED_GAIN / coil, "E12"))
    operate = relay.operate.likely * relay.coil_voltage.likely / relay.coil_resistance.likely
    turns_at = operate / 150.0 + 0.7 / _KEEPER
    return _Ends(_bipolar("Q2", gain=150.0, polarity="pnp"), drive, turns_at)


def _values(wish: MuteWish, relay: DrawerRelay | None, first: object) -> tuple[MuteValues, float]:
    """Values from the E-series, and the volts on the capacitor at which sound comes."""
    ends = _ends(wish, relay)
    ratio = _DIVIDER_OVER_CHARGE[wish.kind]
    base = float(thermal_voltage() * np.log(ends.turns_at / _SATURATION))
    threshold = max(_THRESHOLD_SHARE * wish.supply_low * ratio / (1.0 + ratio), 1.2 * base)
    final = wish.supply * ratio / (1.0 + ratio)
    turns = float(np.log(final / (final - threshold)))
    least, best, most = _CHARGE_RESISTOR[wish.kind]
    cans = np.outer(10.0 ** np.arange(-6.0, -3.0), preferred_values("E6")[::2]).ravel()
    wanted = wish.on_delay * (1.0 + ratio) / (cans * ratio * turns)
    place = int(np.argmin(np.abs(np.log(wanted / best))))
    charge = float(nearest_preferred(np.clip(wanted[place], least, most), "E24"))
    gain = first.gain.likely if isinstance(first, Transistor) and first.gain else 150.0
    drawn = ends.turns_at / gain
    bottom = ratio * charge * base / max(threshold - drawn * ratio * charge, 1.05 * base)
    values = MuteValues(
        charge_resistor=charge,
        capacitor=float(f"{cans[place]:.3g}"),
        divider_top=float(nearest_preferred(ratio * charge - bottom, "E24")),
        divider_bottom=float(nearest_preferred(bottom, "E24")),
        transistor=_bipolar("Q1", gain=gain),
        discharge=fitted_diode(1.0, current=0.2, kind="signal"),
        second=ends.second,
        drive_resistor=ends.drive,
        keeper_resistor=_KEEPER if relay is not None else None,
        relay=_wired(relay),
        flyback=None if relay is None else fitted_diode(0.95, current=1.0, kind="silicon"),
        pin_voltage=wish.pin_voltage,
        pull_up=wish.pull_up,
        speaker_resistance=wish.impedance,
        rail_capacitor=wish.rail_capacitor,
        rail_load=wish.supply / wish.idle_current,
    )
    top, low = float(values.divider_top), float(values.divider_bottom)
    return values, base * (1.0 + top / low) + drawn * top


def _wired(relay: DrawerRelay | None) -> Relay | None:
    if relay is None:
        return None
    amps = relay.coil_voltage.likely / relay.coil_resistance.likely
    return Relay(
        name="K1",
        coil_a="",
        coil_b="",
        coil_resistance=relay.coil_resistance.likely,
        coil_inductance=relay.coil_inductance.likely,
        operate=relay.operate.likely * amps,
        release=relay.release.likely * amps,
        contact_resistance=relay.contact_resistance.likely,
    )


def _corners(values: MuteValues, wish: MuteWish, first: object) -> MuteValues:
    """Likely, fastest and slowest; then likely twice more, for the emptiest and fullest battery."""
    fewer, more = wish.capacitor_tolerance
    down, up = 1.0 - _RESISTOR_TOLERANCE, 1.0 + _RESISTOR_TOLERANCE
    shift = float(np.exp(_BASE_SPREAD / thermal_voltage()))
    gain = first.gain if isinstance(first, Transistor) else None
    slow, fast = (gain.low, gain.high) if gain else (75.0, 300.0)

    def spread(likely: Value, quick: float, late: float) -> Floats:
        return float(np.asarray(likely)) * np.array([1.0, quick, late, 1.0, 1.0])

    usual = float(np.asarray(values.transistor.gain))
    transistor = replace(
        values.transistor,
        saturation_current=spread(_SATURATION, shift, 1.0 / shift),
        gain=spread(usual, fast / usual, slow / usual),
    )
    return replace(
        values,
        charge_resistor=spread(values.charge_resistor, down, up),
        capacitor=spread(values.capacitor, 1.0 + fewer, 1.0 + more),
        divider_top=spread(values.divider_top, down, up),
        divider_bottom=spread(values.divider_bottom, up, down),
        transistor=transistor,
    )


def _figures(
    wish: MuteWish, batch: MuteValues, values: MuteValues, threshold: float
) -> tuple[Expected, ...]:
    volts = np.array(
        [wish.supply, wish.supply_high, wish.supply_low, wish.supply_low, wish.supply_high]
    )
    slowest = float(
        charging_time(
            batch.charge_resistor,
            batch.capacitor,
            divider=batch.divider_top + np.asarray(batch.divider_bottom),
            voltage=volts,
            threshold=threshold * np.array([1.0, 0.9, 1.1, 1.0, 1.0]),
        )[2]
    )
    constant = float(np.max(batch.charge_resistor * np.asarray(batch.capacitor)))
    until = _SWITCH_ON + min(slowest, 10.0 * constant) * 1.5 + constant
    emptied = 5.0 * wish.rail_capacitor * float(np.asarray(values.rail_load))
    end = until + max(emptied, 2.0 * _OFF_TIME)
    run = transient(
        _watched(
            wish,
            mute_netlist(
                wish.kind, batch, voltage=volts, schedule=((_SWITCH_ON, True), (until, False))
            ),
        ),
        end,
        accuracy=_ACCURACY,
    )
    plays = _moments(run, wish, begin=_SWITCH_ON, end=until, plays=True) - _SWITCH_ON
    mutes = _moments(run, wish, begin=until, end=end, plays=False)
    # A rail that is gone at once mutes by itself: nothing is left to hold the pin, or to play.
    fed = (run.voltage("rail") > _DEAD_RAIL) & (run.times >= until)[:, None]
    gone = run.times[np.minimum(np.argmax(run.times >= until) + fed.sum(axis=0), fed.shape[0] - 1)]
    mutes = np.where(np.isnan(mutes), gone, mutes)
    rail = np.array(
        [
            np.interp(moment, run.times, run.voltage("rail")[:, sample])
            for sample, moment in enumerate(mutes)
        ]
    )
    return (
        expected("sound comes after", plays[:3], "time"),
        expected("sound comes after, by the battery alone", plays[[0, 3, 4]], "time"),
        expected("mutes after switch-off", (mutes - until)[:3], "time"),
        expected("rail when it mutes", rail[:3], "voltage"),
        _short_off(wish, values, run, until, threshold),
        _again(wish, values, until),
    )


def _watched(wish: MuteWish, netlist: Netlist) -> Netlist:
    """The circuit with a comparator at the mute pin, so that its moments are found as events."""
    if wish.kind == "relay":
        return netlist
    half = VoltageSource(name="V9", a="half", b=GROUND, voltage=0.5 * wish.pin_voltage)
    watch = Comparator(name=_WATCH, plus="half", minus="pin", output="seen", ground=GROUND)
    return Netlist(netlist.title, (*netlist.parts, half, watch))


def _moments(run: Transient, wish: MuteWish, *, begin: float, end: float, plays: bool) -> Floats:
    """Moment in each sample at which sound comes for good, or first goes; nan where it does not."""
    found = np.full(run.unknowns.shape[-1], np.nan)
    watch = "K1" if wish.kind == "relay" else _WATCH
    # A high pin plays on the boards that mute when low.
    wanted = plays != (wish.kind == "mute-high")
    before = {name: states[0] for name, states in run.states.items()}[watch].copy()
    for moment, name, state in run.events:
        if name != watch:
            continue
        now = np.broadcast_to(state, found.shape)
        flips = (now != before) & (now == wanted) & (begin <= moment) & (moment <= end)
        # A pin that its board pulls up stands high for a moment before the circuit wakes.
        fresh = flips & (np.isnan(found) | plays)
        found[fresh] = moment
        before = now.copy()
    return found


def _short_off(
    wish: MuteWish, values: MuteValues, run: Transient, until: float, threshold: float
) -> Expected:
    """Off time after which the capacitor is empty enough for half the delay."""
    after = run.times >= until
    left = run.voltage("delay")[after, 0]
    again = charging_time(
        values.charge_resistor,
        values.capacitor,
        divider=values.divider_top + np.asarray(values.divider_bottom),
        voltage=wish.supply,
        threshold=threshold,
        start=left,
    )
    enough = np.flatnonzero(again >= 0.5 * wish.on_delay)
    waits = float(run.times[after][enough[0]] - until) if enough.size else float("inf")
    return Expected("off time for half the delay", waits, waits, waits, "time")


def _again(wish: MuteWish, values: MuteValues, until: float) -> Expected:
    """Delay of the next switch-on after a second off, followed in time."""
    back = until + _OFF_TIME
    end = back + 3.0 * wish.on_delay
    run = transient(
        _watched(
            wish,
            mute_netlist(
                wish.kind,
                values,
                voltage=wish.supply,
                schedule=((_SWITCH_ON, True), (until, False), (back, True)),
            ),
        ),
        end,
        accuracy=_ACCURACY,
    )
    moment = float(_moments(run, wish, begin=back, end=end, plays=True)[0]) - back
    if np.isnan(_moments(run, wish, begin=until, end=back, plays=False)[0]):
        # The rail has outlasted the second: it has never muted.
        moment = 0.0
    return Expected("sound comes after, off for 1 s before", moment, moment, moment, "time")
