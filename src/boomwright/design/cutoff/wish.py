"""What is wanted of a cutoff, checked before any value is sought."""

from __future__ import annotations

from dataclasses import dataclass

from boomwright.build.power import Battery
from boomwright.build.quantities import format_quantity
from boomwright.build.thresholds import usual_thresholds
from boomwright.errors import InputError, Problem
from boomwright.physics.chemistry import load_chemistries

__all__ = ["CutoffWish", "cutoff_wish"]

_OVER_NOMINAL = 1.15
_LEAST_GAP = 0.01


@dataclass(frozen=True)
class CutoffWish:
    """What is wanted of a cutoff.

    Parameters
    ----------
    battery : Battery
        The battery it guards.
    off, on : float
        Wanted voltages [V]; a circuit that needs a button has no use for ``on``.
    load_current : float
        What the load takes on average [A].
    peak_current : float
        What it takes on a beat [A].
    highest : float
        Battery on the charger [V].
    rested_full, floor : float
        Full battery at rest, and where the chemistry is ruined [V].
    """

    battery: Battery
    off: float
    on: float
    load_current: float
    peak_current: float
    highest: float
    rested_full: float
    floor: float


def cutoff_wish(
    battery: Battery,
    *,
    off: float | None = None,
    on: float | None = None,
    load_current: float = 1.0,
    peak_current: float | None = None,
) -> CutoffWish:
    """A wish made whole with what is usual for the chemistry.

    Parameters
    ----------
    battery : Battery
        The battery.
    off, on : float or None
        Wanted voltages [V]; the chemistry's usual ones if None.
    load_current, peak_current : float
        What the load takes on average and on a beat [A]; three times the average if None.

    Returns
    -------
    CutoffWish

    Raises
    ------
    InputError
        If the wish cannot be: on not above off, off above the full battery or below what ruins it,
        on above the full battery; each with the nearest that can.

    Examples
    --------
    >>> from boomwright.build.words import battery_of_words
    >>> wish = cutoff_wish(battery_of_words("12 V 9 Ah AGM"))
    >>> round(wish.off, 1), round(wish.on, 1)
    (11.4, 12.6)
    """
    facts = load_chemistries()[battery.chemistry]
    cells = battery.cells
    usual_off, usual_on = usual_thresholds(battery.chemistry, cells)
    rested = float(facts.ocv_table[-1]) * cells
    highest = (facts.voltage_full_charge or facts.voltage_nominal * _OVER_NOMINAL) * cells
    floor = facts.voltage_floor * cells
    wanted_off = usual_off if off is None else off
    # A wish for off alone keeps the usual gap, as far as the full battery leaves room for it.
    gap = usual_on - usual_off
    wanted_on = min(wanted_off + gap, 0.985 * rested) if on is None else on
    problems = []
    if wanted_off >= rested:
        problems.append(
            Problem(
                "lets go above what a full battery shows at rest: it would never stay on",
                got=_volts(wanted_off),
                expected=f"below {_volts(rested)}",
                key="off",
                hint=f"Usual for {cells} cells of {battery.chemistry}: {_volts(usual_off)}.",
            )
        )
    elif wanted_off < floor:
        problems.append(
            Problem(
                "lets go below where the battery is ruined",
                got=_volts(wanted_off),
                expected=f"at least {_volts(floor)}",
                key="off",
                hint=f"Usual for {cells} cells of {battery.chemistry}: {_volts(usual_off)}.",
            )
        )
    if wanted_on < wanted_off + _LEAST_GAP:
        problems.append(
            Problem(
                "must come back above where it lets go, or it chatters",
                got=f"on {_volts(wanted_on)}, off {_volts(wanted_off)}",
                expected=f"on above {_volts(wanted_off)}",
                key="on",
                hint=f"Nearest that holds: {_volts(min(wanted_off + gap, 0.985 * rested))}.",
            )
        )
    elif wanted_on > rested:
        problems.append(
            Problem(
                "comes back above what a full battery shows at rest: it would stay open for ever",
                got=_volts(wanted_on),
                expected=f"at most {_volts(rested)}",
                key="on",
                hint=f"Nearest that works: {_volts(0.985 * rested)}.",
            )
        )
    if not load_current > 0.0:
        problems.append(
            Problem(
                "current of the load",
                got=format_quantity(load_current, "current"),
                expected="above 0",
                key="load",
            )
        )
    peak = 3.0 * load_current if peak_current is None else peak_current
    if problems:
        raise InputError(problems)
    return CutoffWish(battery, wanted_off, wanted_on, load_current, peak, highest, rested, floor)


def _volts(value: float) -> str:
    return format_quantity(value, "voltage", digits=4)
