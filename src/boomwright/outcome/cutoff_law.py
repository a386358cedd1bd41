"""How a low-voltage cutoff behaves at its battery, whatever is inside it."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["CutoffLaw", "early_trip_volts", "not_negative_number"]


@dataclass(frozen=True, kw_only=True)
class CutoffLaw:
    """How a low-voltage cutoff behaves at its battery, whatever is inside it.

    Parameters
    ----------
    off : float
        Filtered volts below which it opens [V].
    on : float
        Filtered volts at which it closes again by itself [V]; infinite or not a number: it stays
        open until its button is pressed.
    smoothing : float
        Time constant of the first-order filter in front of both thresholds [s]. Every real
        circuit has some; with none at all, cycles can be irregular and slow to count.
    delay_off, delay_on : float
        How long the filtered volts must stay beyond a threshold before the contact has moved [s];
        the mechanical time is part of it, and closing always takes some.
    drain_on, drain_off : float
        What the cutoff itself takes while closed and while open [A].
    resistance : float
        Of its contact or transistor, behind the point that is sensed [Ω].

    Raises
    ------
    ValueError
        A negative value, `on` below `off`, or a closing that takes no time.
    """

    off: float
    on: float
    smoothing: float = 0.0
    delay_off: float = 0.005
    delay_on: float = 0.010
    drain_on: float = 0.0
    drain_off: float = 0.0
    resistance: float = 0.0

    def __post_init__(self) -> None:
        if not (self.off > 0.0 and math.isfinite(self.off)):
            raise ValueError(f"off: got {self.off:g} V, must be above 0 V")
        if self.on < self.off:
            raise ValueError(f"on: got {self.on:g} V, must be {self.off:g} V (off) or more")
        if not (self.delay_on > 0.0 and math.isfinite(self.delay_on)):
            raise ValueError(f"delay_on: got {self.delay_on:g} s, must be above 0 s")
        for name, unit in (
            ("smoothing", "s"),
            ("delay_off", "s"),
            ("drain_on", "A"),
            ("drain_off", "A"),
            ("resistance", "Ω"),
        ):
            not_negative_number(getattr(self, name), name, unit)

    @property
    def stays_off(self) -> bool:
        """Whether only a button closes it again."""
        return not math.isfinite(self.on)


def early_trip_volts(
    law: CutoffLaw, *, resistance: float, dip_amps: float, dip_time: float
) -> float:
    """Mean volts of the battery at which a bass beat first opens the cutoff.

    A beat is a rectangle of more current on top of the mean; the filter has come to rest between
    beats. A delay helps little behind a slow filter, which stretches the dip.

    Parameters
    ----------
    law : CutoffLaw
        The cutoff.
    resistance : float
        What the beat pulls down at once: battery and leads up to the cutoff [Ω].
    dip_amps : float
        What a beat draws beyond the mean [A].
    dip_time : float
        How long it does [s].

    Returns
    -------
    float
        Volts [V], `law.off` if beats do no harm.

    Raises
    ------
    ValueError
        A negative value.

    Notes
    -----
    The filtered dip is at its deepest, X = I R (1 - exp(-T / tau)), as the beat ends. It stays
    deeper than s for the delay d if s = X / (exp((d - T) / tau) + 1 - exp(-T / tau)); without a
    delay s = X, without a filter s = I R for d up to T and 0 beyond.

    References
    ----------
    .. [1] Any circuits text, first-order step response.

    Examples
    --------
    3 A for 0.1 s at 50 mΩ behind a filter of 0.2 s.

    >>> law = CutoffLaw(off=10.5, on=10.5, smoothing=0.2, delay_off=0.0)
    >>> round(early_trip_volts(law, resistance=0.05, dip_amps=3.0, dip_time=0.1), 3)
    10.559
    """
    for value, name, unit in (
        (resistance, "resistance", "Ω"),
        (dip_amps, "dip_amps", "A"),
        (dip_time, "dip_time", "s"),
    ):
        not_negative_number(value, name, unit)
    drop = dip_amps * resistance
    if law.smoothing == 0.0:
        return law.off + (drop if dip_time > 0.0 and law.delay_off <= dip_time else 0.0)
    reached = -math.expm1(-dip_time / law.smoothing)
    excess = (law.delay_off - dip_time) / law.smoothing
    # Beyond e^700 there are no floats, and no dip either.
    return law.off + (drop * reached / (math.exp(excess) + reached) if excess < 700.0 else 0.0)


def not_negative_number(value: float, name: str, unit: str) -> None:
    """Refuse a value that is below zero, infinite or not a number, with a ValueError."""
    if not (value >= 0.0 and math.isfinite(value)):
        raise ValueError(f"{name}: got {value:g} {unit}, must be 0 {unit} or more")
