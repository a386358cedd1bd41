"""What a linear regulator cannot do, with the nearest that it can."""

from __future__ import annotations

from dataclasses import dataclass

from boomwright.build.drawer import Drawer
from boomwright.build.power import Rail
from boomwright.build.quantities import format_quantity
from boomwright.errors import InputError, Problem

__all__ = ["RegulatorWish", "chosen_regulator"]


@dataclass(frozen=True, kw_only=True)
class RegulatorWish:
    """What is wanted of a regulator.

    Parameters
    ----------
    battery_low, battery_high, output, load, burst, droop, sag, sag_frequency, ambient, sink
        As :func:`boomwright.design.regulator.design.design_regulator` has them.
    """

    battery_low: float
    battery_high: float
    output: float
    load: float
    burst: float
    droop: float
    sag: float
    sag_frequency: float
    ambient: float
    sink: float | None


def chosen_regulator(wish: RegulatorWish, part: str, drawer: Drawer) -> tuple[str, Rail]:
    """Regulator of the drawer that serves a wish, with its name.

    Parameters
    ----------
    wish : RegulatorWish
        What is wanted.
    part : str
        Its name in the drawer; the first one of that output if empty.
    drawer : Drawer
        The parts to choose from.

    Returns
    -------
    tuple of str and Rail

    Raises
    ------
    InputError
        With everything that cannot be, and the nearest that can.
    """
    _check_numbers(wish)
    name, rail = _chosen(wish, part, drawer)
    _check_rail(wish, name, rail, drawer)
    return name, rail


def _shown(value: float, kind: str = "voltage") -> str:
    return format_quantity(value, kind)


def _check_numbers(wish: RegulatorWish) -> None:
    problems = []
    for key, kind, least, most in (
        ("battery_low", "voltage", 1.0, 100.0),
        ("battery_high", "voltage", 1.0, 100.0),
        ("output", "voltage", 1.0, 60.0),
        ("load", "current", 1e-4, 20.0),
        ("burst", "current", 0.0, 20.0),
        ("droop", "voltage", 1e-3, 5.0),
        ("sag", "voltage", 0.0, 50.0),
        ("sag_frequency", "frequency", 1.0, 20e3),
        ("ambient", "temperature", 233.15, 373.15),
        ("sink", "thermal", 0.05, 200.0),
    ):
        value = getattr(wish, key)
        if value is not None and not least <= value <= most:
            problems.append(
                Problem(
                    f"{key.replace('_', ' ')} of a regulator",
                    got=_shown(value, kind),
                    expected=f"{_shown(least, kind)} to {_shown(most, kind)}",
                    key=key,
                )
            )
    if not problems and wish.battery_low > wish.battery_high:
        problems.append(
            Problem(
                "lowest battery voltage above the highest",
                got=_shown(wish.battery_low),
                expected=f"{_shown(wish.battery_high)} or less",
                key="battery_low",
            )
        )
    if not problems and wish.sag >= wish.battery_low:
        problems.append(
            Problem(
                "a bass beat that pulls the battery below zero",
                got=_shown(wish.sag),
                expected=f"less than {_shown(wish.battery_low)}",
                key="sag",
                hint="1 V is much already; more wants shorter leads or a bigger battery",
            )
        )
    if problems:
        raise InputError(problems)


def _linear_rails(drawer: Drawer) -> dict[str, Rail]:
    rails = {}
    for name in drawer.names("rail"):
        rail = drawer.part("rail", name)
        if isinstance(rail, Rail) and rail.type == "linear":
            rails[name] = rail
    return rails


def _chosen(wish: RegulatorWish, part: str, drawer: Drawer) -> tuple[str, Rail]:
    rails = _linear_rails(drawer)
    if part:
        if part not in rails:
            raise InputError(
                [
                    Problem(
                        "no such linear regulator in the drawer",
                        got=repr(part),
                        expected=f"one of {', '.join(rails)}",
                        key="part",
                    )
                ]
            )
        return part, rails[part]
    for name, rail in rails.items():
        if abs(rail.voltage.likely - wish.output) <= 0.02 * wish.output:
            return name, rail
    sets = sorted({rail.voltage.likely for rail in rails.values()})
    near = min(sets, key=lambda volts: abs(volts - wish.output)) if sets else wish.output
    raise InputError(
        [
            Problem(
                "no linear regulator of that output in the drawer",
                got=_shown(wish.output),
                expected=", ".join(_shown(volts) for volts in sets),
                key="output",
                hint=f"the nearest is {_shown(near)}; an adjustable one wants a part of its own",
            )
        ]
    )


def _check_rail(wish: RegulatorWish, name: str, rail: Rail, drawer: Drawer) -> None:
    problems = []
    needed = rail.voltage.likely + rail.dropout.likely
    others = _linear_rails(drawer).items()
    if wish.battery_high <= needed:
        lower = sorted(
            (other.dropout.likely, key)
            for key, other in others
            if abs(other.voltage.likely - rail.voltage.likely) < 0.1
            and other.voltage.likely + other.dropout.likely < wish.battery_high
        )
        do = f"{lower[0][1]} would hold from less" if lower else "take a step-up converter"
        problems.append(
            Problem(
                f"a battery that never stands above what {name} needs",
                got=_shown(wish.battery_high),
                expected=f"above {_shown(needed)}: {_shown(rail.voltage.likely)} and the dropout "
                f"of {_shown(rail.dropout.likely)}",
                key="battery_high",
                hint=do,
            )
        )
    if rail.input_max is not None and wish.battery_high > rail.input_max.low:
        problems.append(
            Problem(
                f"a battery above what {name} stands",
                got=_shown(wish.battery_high),
                expected=f"{_shown(rail.input_max.low)} or less",
                key="battery_high",
                hint="take a regulator for more volts, or a step-down board",
            )
        )
    top = wish.load + wish.burst
    if top > rail.current_limit.low:
        problems.append(
            Problem(
                f"a load beyond the rating of {name}",
                got=_shown(top, "current"),
                expected=f"{_shown(rail.current_limit.low, 'current')} or less, bursts included",
                key="load",
                hint="a step-down board gives more and stays cool",
            )
        )
    if wish.ambient >= rail.junction_max.likely - 5.0:
        problems.append(
            Problem(
                "air as hot as the junction may become",
                got=_shown(wish.ambient, "temperature"),
                expected=f"well below {_shown(rail.junction_max.likely, 'temperature')}",
                key="ambient",
                hint="move the regulator out of the hot place; no heat sink cools below its air",
            )
        )
    if problems:
        raise InputError(problems)
