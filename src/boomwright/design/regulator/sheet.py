"""The sheet of a linear regulator: parts list, bench readings, what to mind."""

from __future__ import annotations

from boomwright.build.power import Rail
from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.regulator import RegulatorValues
from boomwright.circuit.parts import Diode
from boomwright.design.regulator.wish import RegulatorWish
from boomwright.design.sheet import BenchReading, Design, Expected, PartLine, Remark

__all__ = ["CAUTIONS", "regulator_parts", "regulator_readings", "regulator_remarks"]

CAUTIONS = (
    "The tab of the regulator gets hot enough to burn: let it cool before you touch it.",
    "Electrolytic capacitors with plus and minus swapped burst: the stripe marks minus.",
    "Fuse the input at the battery's plus before anything is connected; a battery feeds a short "
    "with enough current to set a wire alight.",
    "Pin order differs between cases and types: read the data sheet of the one in your hand. The "
    "tab of most fixed positive regulators is ground.",
)

_BENCH_AIR = 296.15
_DIODE_SHARE = 0.4
_CAN_VOLTS = (10.0, 16.0, 25.0, 35.0, 50.0, 63.0, 100.0, 160.0)


def _shown(value: float, kind: str = "voltage") -> str:
    return format_quantity(value, kind)


def _can(name: str, farads: float, volts: float, note: str) -> PartLine:
    rating = next((size for size in _CAN_VOLTS if size >= 1.25 * volts), 2.0 * volts)
    return PartLine(
        name,
        "electrolytic capacitor",
        value=_shown(farads, "capacitance"),
        carries=_shown(volts),
        rating=f"{_shown(rating)} or more",
        margin=rating / volts,
        note=note,
    )


def _ceramic(name: str, farads: float, volts: float, note: str) -> PartLine:
    return PartLine(
        name,
        "ceramic capacitor",
        value=_shown(farads, "capacitance"),
        carries=_shown(volts),
        rating="50 V or more" if volts <= 25.0 else "100 V or more",
        margin=(50.0 if volts <= 25.0 else 100.0) / volts,
        note=note,
    )


def regulator_parts(
    wish: RegulatorWish, name: str, rail: Rail, values: RegulatorValues
) -> tuple[PartLine, ...]:
    """Parts list of a linear regulator.

    Parameters
    ----------
    wish : RegulatorWish
        What is wanted.
    name : str
        The regulator's name in the drawer.
    rail : Rail
        The regulator.
    values : RegulatorValues
        The values chosen.

    Returns
    -------
    tuple of PartLine
    """
    top = wish.load + wish.burst
    most = values.fuse_rating
    lines = [
        PartLine(
            "F1",
            "tube fuse 5 x 20 mm, time-lag, at the battery's plus",
            value=_shown(most, "current"),
            carries=_shown(top, "current"),
            rating=_shown(most, "current"),
            margin=most / top,
            note="within 100 to 300 mm of the battery",
        )
    ]
    if values.input_diode is not None:
        lines.append(
            PartLine(
                "D1",
                "Schottky diode 1N5819",
                carries=_shown(top, "current"),
                rating="1 A, 40 V",
                margin=min(1.0 / top, 40.0 / wish.battery_high),
                part="1N5819",
                note="ring (cathode) to C1 and U1",
            )
        )
    lines.append(
        PartLine(
            "U1",
            rail.title,
            value=_shown(rail.voltage.likely),
            carries=_shown(top, "current"),
            rating=_shown(rail.current_limit.low, "current"),
            margin=rail.current_limit.low / top,
            part=name,
            note="bare" if wish.sink is None else f"heat sink of {_shown(wish.sink, 'thermal')}",
        )
    )
    if values.input_capacitor is not None:
        farads = float(values.input_capacitor)
        lines.append(_can("C1", farads, wish.battery_high, "plus to the input, stripe to ground"))
    if values.output_capacitor is not None:
        farads = float(values.output_capacitor)
        lines.append(_can("C2", farads, rail.voltage.high, "plus to the output, stripe to ground"))
    at_legs = "within 10 mm of the legs of U1"
    if values.input_bypass is not None:
        lines.append(_ceramic("C3", float(values.input_bypass), wish.battery_high, at_legs))
    if values.output_bypass is not None:
        lines.append(_ceramic("C4", float(values.output_bypass), rail.voltage.high, at_legs))
    return tuple(lines)


def regulator_readings(sheet: Design, wish: RegulatorWish, rail: Rail) -> tuple[BenchReading, ...]:
    """Bench readings of a linear regulator, in a safe order.

    Parameters
    ----------
    sheet : Design
        The design with its figures.
    wish : RegulatorWish
        What is wanted.
    rail : Rail
        The regulator.

    Returns
    -------
    tuple of BenchReading
    """
    volts, watts = rail.voltage, sheet.figure("heat in the regulator")
    lowest = sheet.figure("lowest battery")
    meter = "multimeter, 20 V direct"
    load = volts.likely / wish.load
    dummy = f"{_shown(load, 'resistance')}, {_shown(2.0 * volts.likely * wish.load, 'power')}"
    own = rail.ground_current
    case = rail.junction_case
    # Heat on the fullest battery, with the likely, least and greatest current of its own.
    heats = [
        watts.high - wish.battery_high * (own.high - amps)
        for amps in (own.likely, own.low, own.high)
    ]
    path = rail.junction_ambient
    if wish.sink is None:
        outside = (path.likely - case.likely, path.low - case.high, path.high - case.low)
    else:
        outside = (wish.sink, wish.sink, wish.sink)
    hot = [_BENCH_AIR + heat * way for heat, way in zip(heats, outside, strict=True)]
    drop = _DIODE_SHARE if "D1" in {line.name for line in sheet.parts} else 0.0
    readings = [
        BenchReading(
            "Nothing connected to the output. Feed the input from a bench supply at "
            f"{_shown(wish.battery_high)}, limit 0.1 A. Probes across C1.",
            meter,
            Expected(
                "input",
                wish.battery_high - 0.5 * drop,
                0.97 * wish.battery_high - drop,
                wish.battery_high,
                "voltage",
            ),
            "If the supply goes into its limit, switch off: a capacitor or U1 is the wrong way "
            "round.",
        ),
        BenchReading(
            "Probes across C2, still unloaded.",
            meter,
            Expected("output, unloaded", volts.likely, volts.low, volts.high, "voltage"),
        ),
        BenchReading(
            "Meter in series with the input, still unloaded.",
            "multimeter, 200 mA direct",
            Expected("own current", own.likely, own.low, own.high, "current"),
            "Move the red lead back to the volts socket before the next reading: a meter left on "
            "amps is a short.",
        ),
        BenchReading(
            f"Limit at {_shown(1.5 * wish.load + 0.05, 'current')}. A resistor of {dummy} or more "
            "across the output. Probes across C2.",
            meter,
            Expected("output, loaded", volts.likely, volts.low - 0.05, volts.high, "voltage"),
            "The load resistor gets hot.",
        ),
        BenchReading(
            "Turn the supply down slowly until the output has fallen to "
            f"{_shown(0.95 * volts.likely)}; read the input there.",
            meter,
            Expected("input at dropout", lowest.likely, lowest.low, lowest.high, "voltage"),
        ),
    ]
    if hot[0] < rail.junction_max.likely:
        readings.append(
            BenchReading(
                f"Back to {_shown(wish.battery_high)}, loaded, for 30 minutes in a room of 23 °C; "
                "thermometer on the tab.",
                "thermocouple or infrared thermometer on matt tape",
                Expected("tab after 30 minutes", hot[0], hot[1], hot[2], "temperature"),
                "The tab may burn you: do not try it with a finger.",
            )
        )
    return tuple(readings)


def regulator_remarks(
    sheet: Design, wish: RegulatorWish, rail: Rail, *, floor: float, diode: Diode | None
) -> tuple[Remark, ...]:
    """What to mind about a linear regulator, worst first.

    Parameters
    ----------
    sheet : Design
        The design with its figures.
    wish : RegulatorWish
        What is wanted.
    rail : Rail
        The regulator.
    floor : float
        Battery volts between beats below which bass reaches the output [V].
    diode : Diode or None
        The input diode, if there is one.

    Returns
    -------
    tuple of Remark
    """
    stops, minds, fines = [], [], []
    junction = sheet.figure("junction on the fullest battery")
    limit = rail.junction_max.likely
    sink = sheet.figure("largest heat sink")
    watts = sheet.figure("heat in the regulator")
    instead = [figure for figure in sheet.figures if "step-down" in figure.label]
    charge = _shown(sheet.figure("charge taken in 10 h").likely, "charge")
    other = (
        f"Or take a step-down board: {_shown(instead[0].likely, 'power')} of heat instead of "
        f"{_shown(watts.high, 'power')}, and {_shown(instead[1].likely, 'charge')} from the "
        f"battery in 10 h instead of {charge}."
        if instead
        else "Or take a step-down board."
    )
    fit = (
        f"Fit a heat sink of {_shown(sink.low, 'thermal')} or less. {other}"
        if sink.low > 1.0
        else f"No heat sink of sensible size is enough. {other}"
    )
    hot = (
        f"On {_shown(wish.battery_high)} it turns {_shown(watts.high, 'power')} to heat and its "
        f"junction would reach {_shown(junction.likely, 'temperature')} (limit "
        f"{_shown(limit, 'temperature')})."
    )
    if junction.likely > limit:
        stops.append(Remark("stop", hot, fit))
    elif junction.high > limit:
        minds.append(Remark("mind", hot + " A poor sample passes the limit.", fit))
    else:
        fines.append(Remark("fine", hot))
    lowest = sheet.figure("lowest battery")
    if lowest.likely > wish.battery_low:
        minds.append(
            Remark(
                "mind",
                f"Below {_shown(lowest.likely)} at the battery the output falls out of its limits; "
                f"the battery goes down to {_shown(wish.battery_low)}.",
                "Cut off above that, or take a low-dropout type.",
            )
        )
    if wish.sag > 0.0 and floor > wish.battery_low:
        minds.append(
            Remark(
                "mind",
                f"Below {_shown(floor)} between beats, bass of {_shown(wish.sag)} dips reaches the "
                "output and the receiver may drop out.",
                "Shorter and thicker leads to the amplifier, a cutoff above that voltage, or a "
                "low-dropout type.",
            )
        )
    if diode is not None:
        fines.append(
            Remark(
                "fine",
                "D1 keeps the amplifier from emptying C1 in a bass beat: C1 carries the receiver "
                "alone.",
            )
        )
    if rail.dropout.likely < 1.5:
        minds.append(
            Remark(
                "mind",
                "Low-dropout types may swing with the wrong output capacitor.",
                "Keep to the capacitance and series resistance its data sheet asks for.",
            )
        )
    bare = sheet.figure("load a bare part stands")
    fines.append(
        Remark(
            "fine",
            f"Bare, in air of {_shown(wish.ambient, 'temperature')}, it stands "
            f"{_shown(bare.likely, 'current')} on the fullest battery.",
        )
    )
    return (*stops, *minds, *fines)
