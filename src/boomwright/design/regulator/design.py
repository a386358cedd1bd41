"""A linear regulator from what is wanted: capacitors, dropout, heat, and what to do instead."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boomwright.build.drawer import Drawer, load_drawer
from boomwright.build.power import Rail
from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.polarity import fitted_diode
from boomwright.circuit.blocks.regulator import RegulatorValues, regulator_netlist
from boomwright.circuit.operating import operating_point
from boomwright.circuit.parts import Regulator
from boomwright.circuit.transient import transient
from boomwright.circuit.values import Floats, Value
from boomwright.circuit.waveforms import Pulse, Sine
from boomwright.design.regulator.sheet import (
    CAUTIONS,
    regulator_parts,
    regulator_readings,
    regulator_remarks,
)
from boomwright.design.regulator.wish import RegulatorWish, chosen_regulator
from boomwright.design.sheet import Design, Expected
from boomwright.design.spread import corners, expected
from boomwright.physics.converter import converter_input_power
from boomwright.physics.fuse import fuse_resistance, next_rating, survives_inrush
from boomwright.physics.heatsink import junction_temperature, sink_resistance_needed
from boomwright.physics.inrush import inrush_integral
from boomwright.physics.linear import linear_current_limit, linear_heat, linear_input_current
from boomwright.physics.preferred import preferred_at_least
from boomwright.physics.smoothing import (
    holdup_time,
    smoothing_capacitance,
)

__all__ = ["HOLDS", "design_regulator"]

HOLDS = 0.95
"""Share of the set volts down to which the output counts as held: 4.75 V of 5 V, as USB asks."""

_LONG = 36_000.0
_STEPS = 601
_CONVERTER_SHARE = 0.5
# Typical of class, from memory: output impedance of a 78xx rises as a coil would make it, its
# ripple rejection at 100 Hz, and the series resistance of a small electrolytic.
_RESPONSE = (0.3e-6, 0.1e-6, 1e-6)
_SERIES = (0.5, 0.1, 2.0)
_REJECTION_DB = (70.0, 78.0, 60.0)
_OUTPUT_RESISTANCE = 0.02
_LEAST_INPUT, _MOST_INPUT, _LEAST_OUTPUT = 100e-6, 4700e-6, 10e-6
# A 1N5819 at its rated ampere, and at the tenth of it that flows here.
_INPUT_DROP, _DIODE_DROP = 0.52, 0.45
_LOAD_BYPASS = 100e-9
_FUSE, _LEAST_FUSE, _LEADS = "tube_time_lag", 1.0, 0.1


def design_regulator(
    *,
    battery_low: float,
    battery_high: float,
    output: float = 5.0,
    load: float = 0.05,
    burst: float = 0.1,
    droop: float = 0.05,
    sag: float = 1.0,
    sag_frequency: float = 60.0,
    part: str = "",
    drawer: Drawer | None = None,
    ambient: float = 313.15,
    sink: float | None = None,
) -> Design:
    """Design of a linear regulator with its fuse and capacitors.

    Rest and movement are solved in the circuit; heat is the steady state at the highest battery.
    The regulator's law has no bandwidth of its own: a coil stands for the rise of its output
    impedance, typical of class, and ripple above dropout goes by a typical rejection.

    Parameters
    ----------
    battery_low, battery_high : float
        Battery volts the regulator meets, at rest [V].
    output : float
        Output wanted [V].
    load, burst : float
        Steady load, and what a receiver draws on top of it in bursts [A].
    droop : float
        Most the output may dip in a burst [V].
    sag : float
        What the bass pulls the battery down by, peak to peak [V].
    sag_frequency : float
        Its frequency [Hz].
    part : str
        Regulator of the drawer; the usual one for the output if empty.
    drawer : Drawer or None
        The parts to choose from; the shipped ones if None.
    ambient : float
        Air around the regulator, inside the box [K].
    sink : float or None
        Heat sink, sink to air [K/W]; None for a bare part.

    Returns
    -------
    Design

    Raises
    ------
    InputError
        With everything that cannot be, and the nearest that can.

    Notes
    -----
    P = (V_in - V_out) I + V_in I_q, T_j = T_a + P R. Left out: short-circuit limiting, the
    regulator's own thermal shut-down (near 150 °C in this class), load and line regulation of some
    tens of millivolts.

    References
    ----------
    .. [1] Universal Serial Bus Specification, revision 2.0: 4.75 V to 5.25 V at a high-power port
       (from memory).
    .. [2] :mod:`boomwright.physics.linear`, :mod:`boomwright.physics.heatsink`.

    Examples
    --------
    >>> sheet = design_regulator(battery_low=10.5, battery_high=12.6, load=0.1)
    >>> print(sheet.figure("heat in the regulator"))
    heat in the regulator 713 mW (582 mW to 861 mW)
    """
    drawer = drawer or load_drawer()
    wish = RegulatorWish(
        battery_low=battery_low,
        battery_high=battery_high,
        output=output,
        load=load,
        burst=burst,
        droop=droop,
        sag=sag,
        sag_frequency=sag_frequency,
        ambient=ambient,
        sink=sink,
    )
    name, rail = chosen_regulator(wish, part, drawer)
    values, floor = _values(wish, rail)
    buck = _step_down(wish, drawer)
    figures = (
        Expected("output", rail.voltage.likely, rail.voltage.low, rail.voltage.high, "voltage"),
        _lowest_battery(values, rail, wish),
        *_heat_figures(wish, rail),
        *_moving_figures(wish, rail, values),
        *_step_down_figures(wish, rail, buck),
    )
    sheet = Design(
        block="regulator",
        family="linear",
        title=f"Linear regulator, {format_quantity(rail.voltage.likely, 'voltage')}",
        netlist=regulator_netlist(values, voltage=battery_high),
        figures=figures,
        parts=regulator_parts(wish, name, rail, values),
        readings=(),
        cautions=CAUTIONS,
    )
    return replace(
        sheet,
        readings=regulator_readings(sheet, wish, rail),
        remarks=regulator_remarks(sheet, wish, rail, floor=floor, diode=values.input_diode),
    )


def _device(rail: Rail, dropout: Value) -> Regulator:
    return Regulator(
        name="U1",
        input="",
        output="",
        ground="",
        voltage=rail.voltage.likely,
        dropout=dropout,
        quiescent=rail.ground_current.likely,
        resistance=_OUTPUT_RESISTANCE,
    )


def _values(wish: RegulatorWish, rail: Rail) -> tuple[RegulatorValues, float]:
    """Values of its parts, and the battery volts between beats below which bass reaches the output.

    A diode in front of the input capacitor is fitted where a bass beat dips below dropout and a
    capacitor of the trade can carry the load through it, as the circuit in time shows.
    """
    needed = HOLDS * rail.voltage.likely + rail.dropout.high
    # The output's impedance rises as a coil's; coil and capacitor swing by I sqrt(L/C).
    swing = _RESPONSE[0] * (wish.burst / wish.droop) ** 2
    values = RegulatorValues(
        regulator=_device(rail, rail.dropout.likely),
        input_capacitor=_LEAST_INPUT,
        output_capacitor=_can(max(swing, _LEAST_OUTPUT)),
        load_resistance=rail.voltage.likely / wish.load,
    )
    amps = wish.load + wish.burst + rail.ground_current.high
    values = _fused(values, wish, amps)
    room = wish.battery_low - _DIODE_DROP - needed
    if wish.battery_low - wish.sag >= needed or room <= 0.0:
        return values, needed + wish.sag
    farads = float(smoothing_capacitance(amps, ripple=room, frequency=wish.sag_frequency))
    diode = fitted_diode(_INPUT_DROP, current=1.0, kind="schottky")
    while (farads := _can(max(farads, _LEAST_INPUT))) <= _MOST_INPUT:
        guarded = replace(values, input_capacitor=farads, input_diode=diode)
        guarded = _fused(guarded, wish, amps)
        if _bottom_of_beat(wish, rail, guarded, "high") >= HOLDS * rail.voltage.likely:
            return guarded, wish.battery_low
        farads *= 1.05
    return values, needed + wish.sag


def _can(farads: float) -> float:
    return float(f"{float(preferred_at_least(farads, 'E6')):.3g}")


def _fused(values: RegulatorValues, wish: RegulatorWish, amps: float) -> RegulatorValues:
    """Values with the smallest fuse that carries the load and outlives the input capacitor."""
    rating = float(next_rating(max(2.0 * amps, _LEAST_FUSE), kind=_FUSE))
    while True:
        resistance = float(fuse_resistance(rating, kind=_FUSE))
        pulse = inrush_integral(
            wish.battery_high,
            capacitance=values.input_capacitor or 0.0,
            resistance_loop=resistance + _LEADS,
        )
        larger = float(next_rating(1.01 * rating, kind=_FUSE))
        if bool(survives_inrush(pulse, rating=rating, kind=_FUSE)) or not np.isfinite(larger):
            return replace(values, fuse_rating=rating, fuse_resistance=resistance)
        rating = larger


def _lowest_battery(values: RegulatorValues, rail: Rail, wish: RegulatorWish) -> Expected:
    """Least battery volts at which the output holds, bursts included, solved in the circuit."""
    held = HOLDS * rail.voltage.likely
    dropouts = (rail.dropout.likely, rail.dropout.low, rail.dropout.high)
    levels = np.linspace(held, held + rail.dropout.high + 5.0, _STEPS)
    volts, drops = np.meshgrid(levels, np.array(dropouts))
    loaded = replace(
        values,
        regulator=_device(rail, drops.ravel()),
        load_resistance=rail.voltage.likely / (wish.load + wish.burst),
    )
    point = operating_point(regulator_netlist(loaded, voltage=volts.ravel()))
    outputs = point.voltage("out").reshape(volts.shape)
    found = [float(np.interp(held, row, levels)) for row in outputs]
    return Expected("lowest battery", found[0], found[1], found[2], "voltage")


def _heat_figures(wish: RegulatorWish, rail: Rail) -> tuple[Expected, ...]:
    own = rail.ground_current
    middle = 0.5 * (wish.battery_low + wish.battery_high)

    def heat(battery: float, ground: float) -> float:
        volts = max(battery, rail.voltage.likely)
        return float(
            linear_heat(
                volts, voltage_out=rail.voltage.likely, current_out=wish.load, current_ground=ground
            )
        )

    watts = Expected(
        "heat in the regulator",
        heat(middle, own.likely),
        heat(wish.battery_low, own.low),
        heat(wish.battery_high, own.high),
        "power",
    )
    hottest = heat(wish.battery_high, own.likely)
    case = rail.junction_case
    if wish.sink is None:
        ambient = rail.junction_ambient
        chains = [[ambient.likely], [ambient.low], [ambient.high]]
    else:
        chains = [[value, wish.sink] for value in (case.likely, case.low, case.high)]
    junction = [
        float(junction_temperature(power, ambient=wish.ambient, resistances=chain))
        for power, chain in zip((hottest, watts.low, watts.high), chains, strict=True)
    ]
    limits = [
        float(
            linear_current_limit(
                wish.battery_high,
                voltage_out=rail.voltage.likely,
                current_ground=own.likely,
                junction_max=rail.junction_max.likely,
                ambient=wish.ambient,
                resistance_thermal=path,
            )
        )
        for path in (
            rail.junction_ambient.likely,
            rail.junction_ambient.high,
            rail.junction_ambient.low,
        )
    ]
    needed = [
        max(
            0.0,
            float(
                sink_resistance_needed(
                    power,
                    ambient=wish.ambient,
                    junction_max=rail.junction_max.likely,
                    junction_case=path,
                    case_sink=0.0,
                )
            ),
        )
        for power, path in (
            (hottest, case.likely),
            (watts.high, case.high),
            (watts.low, case.low),
        )
    ]
    return (
        watts,
        expected("junction on the fullest battery", np.array(junction), "temperature"),
        expected("load a bare part stands", np.array(limits), "current"),
        expected("largest heat sink", np.array(needed), "thermal"),
    )


def _moving_figures(
    wish: RegulatorWish, rail: Rail, values: RegulatorValues
) -> tuple[Expected, ...]:
    likely, best, worst = (wish.sag * 10.0 ** (-level / 20.0) for level in _REJECTION_DB)
    dip = [_bottom_of_beat(wish, rail, values, drop) for drop in ("likely", "low", "high")]
    figures = [
        Expected("ripple at the output", likely, best, worst, "voltage"),
        Expected("output at the bottom of a bass beat", dip[0], dip[2], dip[1], "voltage"),
        expected("dip in a burst", _burst_dip(wish, values), "voltage"),
        expected(
            "dip in a burst without output capacitor",
            _burst_dip(wish, replace(values, output_capacitor=None, output_bypass=None)),
            "voltage",
        ),
    ]
    if values.input_diode is not None:
        amps = wish.load + wish.burst + rail.ground_current.likely
        needed = HOLDS * rail.voltage.likely
        held = [
            float(
                holdup_time(
                    amps,
                    capacitance=values.input_capacitor or 0.0,
                    voltage_start=wish.battery_low - _DIODE_DROP,
                    voltage_end=needed + drop,
                )
            )
            for drop in (rail.dropout.likely, rail.dropout.high, rail.dropout.low)
        ]
        figures.append(expected("input capacitor carries the load for", np.array(held), "time"))
    return tuple(figures)


def _bottom_of_beat(wish: RegulatorWish, rail: Rail, values: RegulatorValues, corner: str) -> float:
    """Least output over three bass beats on the emptiest battery, bursts drawn all the while."""
    beat = Sine(wish.battery_low - 0.5 * wish.sag, 0.5 * wish.sag, wish.sag_frequency)
    busy = replace(
        values,
        regulator=_device(rail, getattr(rail.dropout, corner)),
        load_resistance=rail.voltage.likely / (wish.load + wish.burst),
    )
    netlist = regulator_netlist(busy, voltage=wish.battery_low, sag=beat)
    run = transient(netlist, 3.0 / wish.sag_frequency)
    return float(np.min(run.voltage("out")))


def _burst_dip(wish: RegulatorWish, values: RegulatorValues) -> Floats:
    """How far the output dips in a burst, at the corners of what its impedance is made of."""
    spread = corners({"coil": _RESPONSE, "series": _SERIES})
    burst = Pulse(0.0, wish.burst, 2e-6, 1e-7, 2e-5, 1e-7)
    moving = replace(
        values,
        response_inductance=spread["coil"],
        output_series=spread["series"] if values.output_capacitor is not None else None,
        load_bypass=_LOAD_BYPASS,
    )
    run = transient(regulator_netlist(moving, voltage=wish.battery_high, burst=burst), 2e-5)
    out = run.voltage("out")
    return np.asarray(out[0] - np.min(out, axis=0))


def _step_down(wish: RegulatorWish, drawer: Drawer) -> Rail | None:
    """First step-down board of the drawer that carries this load without a heat sink."""
    for name in drawer.names("rail"):
        rail = drawer.part("rail", name)
        if not isinstance(rail, Rail) or rail.type != "buck" or rail.bare_limit is None:
            continue
        fits = abs(rail.voltage.likely - wish.output) <= 0.04 * wish.output
        stands = rail.input_max is None or wish.battery_high <= rail.input_max.low
        if fits and stands and wish.load + wish.burst <= rail.bare_limit.low:
            return rail
    return None


def _step_down_figures(wish: RegulatorWish, rail: Rail, buck: Rail | None) -> tuple[Expected, ...]:
    """What the linear regulator takes from the battery, and what a step-down board would."""
    own = rail.ground_current
    linear = [
        float(linear_input_current(wish.load, current_ground=amps))
        for amps in (own.likely, own.low, own.high)
    ]
    taken = expected("charge taken in 10 h", _LONG * np.array(linear), "charge")
    if buck is None:
        return (taken,)
    middle = 0.5 * (wish.battery_low + wish.battery_high)
    power = buck.voltage.likely * wish.load
    given = [
        float(
            converter_input_power(
                power,
                power_idle=idle,
                resistive_share=_CONVERTER_SHARE,
                efficiency_peak=efficiency,
                power_rated=buck.voltage.likely * buck.current_limit.likely,
            )
        )
        for idle, efficiency in (
            (buck.idle_power.likely, buck.efficiency.likely),
            (buck.idle_power.low, buck.efficiency.high),
            (buck.idle_power.high, buck.efficiency.low),
        )
    ]
    lost = [watts - power for watts in given]
    charges = [_LONG * watts / middle for watts in given]
    return (
        taken,
        expected("heat in a step-down board instead", np.array(lost), "power"),
        expected("charge taken in 10 h, step-down board", np.array(charges), "charge"),
    )
