"""What is wanted of a band split, and the frequency to split at where none is wanted."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.design.split.drive import Drive
from boomwright.errors import InputError, Problem
from boomwright.physics.filter_values import ALIGNMENTS, Alignment
from boomwright.physics.nature import speed_of_sound
from boomwright.physics.preferred import Series
from boomwright.physics.programme import Programme, load_programmes

__all__ = ["SplitWish", "band_of", "checked_split", "suggested_frequency", "usual_spacing"]

_LOWEST, _HIGHEST = 50.0, 15e3
_TWEETER_ROOM = {1: 4.0, 2: 2.5, 3: 2.2, 4: 2.0}
"""How far above its resonance a tweeter is used, by the order of its filter; common practice."""

_BEAMS = 2.0
"""Circumference over wavelength up to which a cone still sounds alike to the side; practice."""

_WOOFER_SHARE = 0.8
_RIM, _TWEETER_RIM = 1.25, 2.2
_USUAL_SIZE = {"low": 0.0133, "full": 0.0055, "mid": 0.0055, "high": 0.0006}


@dataclass(frozen=True, kw_only=True)
class SplitWish:
    """What is wanted of a band split.

    Parameters
    ----------
    frequency : float or None
        Where the bands meet [Hz]; None lets the drivers decide.
    alignment : str
        Which polynomial the sound of each driver is to follow.
    order : int
        How steep: 1 to 4.
    parts : str
        Series of preferred values that capacitors, coils and resistors come in.
    wire : float or None
        Diameter of the coils' wire [m]; None takes what each coil needs.
    distance : float
        Listener to the front [m].
    spacing : float or None
        Middle of the tweeter to middle of the woofer [m]; None for as close as they go.
    peak : float
        Greatest clean peak of the amplifier [V].
    load_min : float
        Least impedance that the amplifier is made for [Ω].
    programme : Programme
        What is played.
    correction : bool or None
        Whether the woofer gets a branch against the rise of its coil; None tries both, False keeps
        it from the tweeter too.
    together : bool
        Whether both hang on the same channel of the amplifier.
    one_channel : str
        Which drivers hear one side of a stereo pair only, in words; empty for none.
    builds : int
        How many builds the spread is taken over.
    """

    frequency: float | None = None
    alignment: Alignment = "linkwitz-riley"
    order: int = 2
    parts: Series = "E12"
    wire: float | None = None
    distance: float = 2.0
    spacing: float | None = None
    peak: float = 10.5
    load_min: float = 4.0
    programme: Programme = field(default_factory=lambda: load_programmes()["pop"])
    correction: bool | None = None
    together: bool = True
    one_channel: str = ""
    builds: int = 2000

    @property
    def drop(self) -> float:
        """What each driver's sound loses where the bands meet [dB]."""
        return 6.0206 if self.alignment == "linkwitz-riley" else 3.0103


def band_of(low: Drive | None, high: Drive | None, wish: SplitWish) -> tuple[float, float]:
    """Least frequency that the tweeter stands, and greatest that suits the woofer [Hz].

    Parameters
    ----------
    low, high : Drive or None
        Woofer and tweeter.
    wish : SplitWish
        What is wanted.

    Returns
    -------
    tuple of float
        The first may lie above the second: then no frequency suits both.
    """
    least, most = _LOWEST, _HIGHEST
    if high is not None:
        driver = high.driver
        if driver.fs is not None:
            least = _TWEETER_ROOM[wish.order] * driver.fs.likely
        elif driver.low_end is not None:
            least = driver.low_end.likely
    if low is not None:
        beams = _BEAMS * float(speed_of_sound()) / (2.0 * np.pi * _radius(low))
        most = min(_WOOFER_SHARE * low.driver.high_end.likely, beams)
    return least, most


def suggested_frequency(low: Drive | None, high: Drive | None, wish: SplitWish) -> float:
    """Frequency to split at: as low as the tweeter stands it, a little higher where there is room.

    Parameters
    ----------
    low, high : Drive or None
        Woofer and tweeter.
    wish : SplitWish
        What is wanted.

    Returns
    -------
    float
        Frequency in two digits [Hz].
    """
    least, most = band_of(low, high, wish)
    if high is None:
        wanted = most
    elif low is None or most <= least:
        wanted = least
    else:
        wanted = min(1.3 * least, np.sqrt(least * most))
    digits = 10.0 ** (np.floor(np.log10(wanted)) - 1.0)
    return float(np.clip(np.ceil(wanted / digits) * digits, _LOWEST, _HIGHEST))


def usual_spacing(low: Drive | None, high: Drive | None) -> float:
    """Middle to middle of two drivers mounted rim to rim [m].

    A rim reaches a quarter of the cone's radius beyond the cone; the tweeter's a little more.

    Parameters
    ----------
    low, high : Drive or None
        Woofer and tweeter.

    Returns
    -------
    float
        0 where there is one driver only.
    """
    if low is None or high is None:
        return 0.0
    return _RIM * _radius(low) + _TWEETER_RIM * _radius(high)


def _radius(drive: Drive) -> float:
    driver = drive.driver
    area = driver.sd.likely if driver.sd else _USUAL_SIZE[driver.band]
    return float(np.sqrt(area / np.pi))


def checked_split(low: Drive | None, high: Drive | None, wish: SplitWish) -> None:
    """Nothing if a wish can be served.

    Raises
    ------
    InputError
        With all that cannot be.
    """
    problems = []
    if low is None and high is None:
        problems.append(
            Problem("no driver to design for", key="drivers", hint="Name a woofer or a tweeter.")
        )
    orders = ALIGNMENTS[wish.alignment]
    if wish.order not in orders:
        nearest = min(orders, key=lambda one: (abs(one - wish.order), one))
        problems.append(
            Problem(
                f"a {wish.alignment} filter of this order",
                got=str(wish.order),
                expected=f"one of {', '.join(str(one) for one in orders)}",
                key="order",
                hint=f"The nearest is {nearest}; butterworth has 1 to 4.",
            )
        )
    if wish.frequency is not None and not _LOWEST <= wish.frequency <= _HIGHEST:
        problems.append(
            Problem(
                "a frequency that coils and capacitors cannot split at",
                got=format_quantity(wish.frequency, "frequency"),
                expected=f"{_LOWEST:g} Hz to {_HIGHEST / 1e3:g} kHz",
                key="frequency",
            )
        )
    for key, value, kind, least, most in (
        ("wire", wish.wire, "length", 0.3e-3, 3e-3),
        ("distance", wish.distance, "length", 0.2, 50.0),
        ("spacing", wish.spacing, "length", 0.0, 2.0),
        ("peak", wish.peak, "voltage", 0.5, 200.0),
    ):
        if value is not None and not least <= value <= most:
            low_text, high_text = format_quantity(least, kind), format_quantity(most, kind)
            problems.append(
                Problem(
                    f"a {key} that cannot be right here",
                    got=format_quantity(value, kind),
                    expected=f"{low_text} to {high_text}",
                    key=key,
                )
            )
    if problems:
        raise InputError(problems)
