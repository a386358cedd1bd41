"""From sweeps to a known driver: looked at, fitted, doubted, and all of it told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from boomwright.advice.finding import Level, worst
from boomwright.bench.driver.asked import COILS, Asked
from boomwright.bench.driver.faults import looked_at, mass_remarks
from boomwright.bench.driver.fit import Fitted, fit_driver
from boomwright.bench.driver.known import Estimate, estimates
from boomwright.bench.driver.model import NO_DOUBTS, Doubts, Peak, Setup
from boomwright.bench.driver.start import Hump
from boomwright.build.quantities import format_quantity
from boomwright.design.sheet import Remark
from boomwright.errors import InputError, Problem
from boomwright.physics.nature import ROOM_TEMPERATURE

__all__ = ["Cabinet", "Identified", "cone_area", "identify"]

Cabinet = Literal["", "closed", "vented"]
"""What the driver sits in while it is measured; empty for free air."""

_WRONG_OHMS, _BENT_OHMS, _SURE = 0.08, 0.15, 4.0
_LEAKY, _CLEARLY = 20.0, 20.0
_LOWERED, _LEAST_STIFFENING = 0.99, 1.1
_APART = 0.25
_MISSES = 0.05
_ANY_VOLUME = 0.01
_LOOSE, _UNTOLD = 0.2, 0.6
_USUAL_OHMS, _USUAL_CONE = (1.2, 60.0), (0.3, 5.0)
"""D.c. ohms [Ω] and moving mass over cone area [kg/m²] of all but a few loudspeaker drivers; common
practice, no source."""


@dataclass(frozen=True, eq=False)
class Identified:
    """A driver, as far as it is known now.

    Parameters
    ----------
    parameters : dict of str to Estimate
        What the measurements tell.
    remarks : tuple of Remark
        What to mind, of the sweeps and of the fit.
    fitted : Fitted
        The fit itself.
    measured : tuple of Setup
        The sweeps with every point.
    cabinet : str
        One of `Cabinet`.
    """

    parameters: dict[str, Estimate]
    remarks: tuple[Remark, ...]
    fitted: Fitted
    measured: tuple[Setup, ...]
    cabinet: Cabinet

    @property
    def level(self) -> Level:
        """The worst of its remarks."""
        return worst([remark.level for remark in self.remarks])


def cone_area(diameter: float) -> float:
    """Area of a cone by the ruler.

    Parameters
    ----------
    diameter : float
        Across the cone and half the surround on either side [m].

    Returns
    -------
    float
        Area [m²].

    Examples
    --------
    >>> round(1e4 * cone_area(0.13))
    133
    """
    return 0.25 * np.pi * diameter**2


def identify(
    setups: Sequence[Setup],
    *,
    peaks: Sequence[Peak] = (),
    cabinet: Cabinet = "",
    re: tuple[float, float] | None = None,
    sd: float | None = None,
    doubts: Doubts = NO_DOUBTS,
    creep: bool = False,
    coil: str = "",
    temperature: float = ROOM_TEMPERATURE,
) -> Identified:
    """Parameters of a driver with their uncertainties, and what is wrong with the measurements.

    Parameters
    ----------
    setups : sequence of Setup
        The sweep in free air or in its cabinet first, then any with mass or on a test box.
    peaks : sequence of Peak
        Resonances read alone.
    cabinet : str
        What the driver sits in; its volume stands in the first setup, infinite if unknown.
    re : tuple of float and float, or None
        D.c. ohms by ohmmeter and their standard error as a share.
    sd : float or None
        Cone area [m²].
    doubts : Doubts
        Of resistor, inputs, mass, volume and cone area.
    creep : bool
        Whether the suspension may creep.
    coil : str
        Kind of coil; empty for the one that the sweeps bear out.
    temperature : float
        Of the air [K].

    Returns
    -------
    Identified

    Raises
    ------
    InputError
        With everything for which the measurements cannot be used.
    """
    if cabinet and (len(setups) > 1 or peaks):
        hint = "Take the driver out for the sweeps with mass or on a test box."
        problem = Problem(f"a driver in its {cabinet} cabinet takes one sweep alone", hint=hint)
        raise InputError([problem])
    humps, remarks = _looked_at(setups, peaks, cabinet, re)
    first = setups[0]
    if cabinet == "vented":
        known = bool(np.isfinite(first.volume))
        first = replace(first, place="vented", volume=first.volume if known else _ANY_VOLUME)
    asked = Asked(
        setups=(first, *setups[1:]),
        humps=tuple(humps),
        peaks=tuple(peaks),
        re=re,
        sd=sd,
        doubts=doubts,
        volume_known=cabinet != "vented" or bool(np.isfinite(setups[0].volume)),
        coil=coil,
        creep=creep,
        temperature=temperature,
    )
    fitted, wrong = _against_ohmmeter(asked)
    if cabinet == "closed":
        fitted = _with_leak(asked, fitted)
    remarks += [*wrong, *fitted.remarks]
    found, untold = _told(estimates(fitted, in_box=cabinet == "closed"))
    remarks += untold
    remarks += _box_remarks(asked, fitted)
    remarks += _loose_remarks(fitted, found)
    remarks += _unusual_remarks(found)
    return Identified(found, tuple(remarks), fitted, asked.setups, cabinet)


def _looked_at(
    setups: Sequence[Setup],
    peaks: Sequence[Peak],
    cabinet: Cabinet,
    re: tuple[float, float] | None,
) -> tuple[list[Hump], list[Remark]]:
    """Peaks of the first sweep and remarks on all; InputError with every problem of all."""
    wanted = 2 if cabinet == "vented" else 1
    first: list[Hump] = []
    remarks, problems = [], []
    for number, setup in enumerate(setups):
        humps, minded, wrong = looked_at(
            setup.sweep, re=None if re is None else re[0], peaks=wanted if number == 0 else 1
        )
        remarks += [*setup.sweep.remarks, *minded]
        problems += wrong
        if number == 0:
            first = humps
        elif humps and first:
            found = _shift(first[0], humps[0].frequency, setup.mass, setup.sweep.source)
            remarks += [item for item in found if isinstance(item, Remark)]
            problems += [item for item in found if isinstance(item, Problem)]
    for peak in peaks if first else ():
        found = _shift(first[0], peak.frequency, peak.mass, setups[0].sweep.source)
        remarks += [item for item in found if isinstance(item, Remark)]
        problems += [item for item in found if isinstance(item, Problem)]
    if problems:
        raise InputError(problems)
    return first, list(dict.fromkeys(remarks))


def _shift(first: Hump, frequency: float, mass: float, source: str) -> list[Remark | Problem]:
    """Whether mass or box moved the resonance the right way and far enough."""
    if mass:
        return mass_remarks(first.frequency, frequency, source=source)
    ratio = frequency / first.frequency
    shown = f"{_hz(frequency)} on the box, {_hz(first.frequency)} without"
    if ratio < _LOWERED:
        return [
            Problem(
                "the box did not raise the resonance",
                got=shown,
                file=source,
                hint="It leaks like an open window, or the two sweeps are swapped.",
            )
        ]
    if ratio < _LEAST_STIFFENING:
        return [
            Remark(
                "mind",
                f"The box hardly raised the resonance ({shown}).",
                "Take a smaller box, and seal the driver's rim.",
            )
        ]
    return []


def _against_ohmmeter(asked: Asked) -> tuple[Fitted, list[Remark]]:
    """Fit with the ohmmeter's word, unless the curve says something quite different."""
    if asked.re is None:
        return fit_driver(asked), []
    try:
        free = fit_driver(replace(asked, re=None))
    except InputError:
        # Too few readings to do without it.
        return fit_driver(asked), []
    ohms, error = asked.re
    variance = float(free.covariance[0, 0])
    off = float(np.log(free.value("re") / ohms))
    # A coil whose resistance grows with frequency seems to stand on more than its d.c. ohms.
    least = _BENT_OHMS if free.bent else _WRONG_OHMS
    if abs(off) < max(least, _SURE * float(np.sqrt(variance + error**2))):
        return fit_driver(asked), []
    shown = format_quantity(free.value("re"), "resistance")
    says = (
        f"The curve stands on {shown}, the ohmmeter says {format_quantity(ohms, 'resistance')}: "
        f"the known resistor has {np.exp(-off):.2f} of the ohms stated, or a lead has come loose. "
        "Resonance and Q stand; ohms, bl and le do not."
    )
    do = "Read the resistor with the ohmmeter and give what it shows."
    return free, [Remark("stop", says, do)]


def _with_leak(asked: Asked, tight: Fitted) -> Fitted:
    """Fit of a closed cabinet with a leak, where that explains the curve much better."""
    if tight.model.setups[0].sweep.error is not None:
        return tight
    # The same points for both, or their scores could not be compared.
    cabinet = replace(tight.model.setups[0], place="box", volume=_ANY_VOLUME)
    leaky = fit_driver(
        replace(asked, setups=(cabinet,), sd=None, re=tight.model.re, coil=tight.coil)
    )
    clear = leaky.score < tight.score - _CLEARLY and leaky.value("ql") < _LEAKY
    return leaky if clear else tight


def _box_remarks(asked: Asked, fitted: Fitted) -> list[Remark]:
    """Whether the test box leaks, by its own losses or by what the added mass says."""
    on_box = [setup for setup in fitted.model.setups if setup.place == "box"]
    if not on_box:
        return []
    remarks = []
    values = fitted.model.values(fitted.row)
    if len(fitted.model.setups) == 1:
        remarks.append(
            Remark(
                "mind",
                f"The cabinet leaks: its loss Q is {float(values['ql']):.1f}.",
                "Seal the driver's rim, the terminals and the joints, and measure again.",
            )
        )
    elif "ql" in fitted.model.names and float(values["ql"]) < _LEAKY:
        remarks.append(
            Remark(
                "mind",
                f"The test box leaks: its loss Q is {float(values['ql']):.1f}. The fit allows for "
                "it, with wider ranges.",
                "Seal the rim and every hole, and measure again.",
            )
        )
    if any(setup.place == "mass" for setup in asked.setups):
        ways = []
        for place in ("mass", "box"):
            kept = tuple(setup for setup in asked.setups if setup.place in ("free", place))
            ways.append(estimates(fit_driver(replace(asked, setups=kept))).get("vas"))
        if ways[0] is not None and ways[1] is not None:
            off = float(np.log(ways[1].value / ways[0].value))
            doubt = np.hypot(ways[0].error / ways[0].value, ways[1].error / ways[1].value)
            if abs(off) > max(_APART, 3.0 * float(doubt)):
                by_mass, by_box = (format_quantity(way.value, "volume") for way in ways if way)
                low = off < 0.0
                remarks.append(
                    Remark(
                        "stop",
                        f"By the mass Vas is {by_mass}, by the box {by_box}: the box stiffens the "
                        f"cone {'less' if low else 'more'} than its volume should.",
                        "Seal the box." if low else "Measure the box's free volume again.",
                    )
                )
    return remarks


def _told(found: dict[str, Estimate]) -> tuple[dict[str, Estimate], list[Remark]]:
    """Parameters less those of the coil, where the readings do not tell them apart."""
    coil = [name for name in COILS["lossy"] if name in found]
    if all(found[name].error < _UNTOLD * found[name].value for name in coil):
        return found, []
    remark = Remark(
        "fine",
        "The inductance is not told by these readings; the other values allow for it.",
        "Readings at 500 Hz, 1, 2 and 5 kHz would tell it.",
    )
    return {name: item for name, item in found.items() if name not in coil}, [remark]


def _loose_remarks(fitted: Fitted, found: dict[str, Estimate]) -> list[Remark]:
    """What the fit does not hold well."""
    remarks = []
    for setup, scatter in zip(fitted.model.setups, fitted.scatter, strict=True):
        if setup.sweep.error is None and scatter > _MISSES:
            remarks.append(
                Remark(
                    "mind",
                    f"The points miss the fitted curve by {100.0 * scatter:.0f} % "
                    f"({setup.sweep.source}).",
                    "Look at the chart: a second resonance, a rubbing coil or noise shows there.",
                )
            )
    loose = [
        name
        for name, item in found.items()
        if name not in ("sensitivity", "creep", "ql", *COILS["lossy"])
        and item.error > _LOOSE * item.value
    ]
    if loose:
        remarks.append(
            Remark(
                "mind",
                f"Loose within more than 20 %: {', '.join(loose)}.",
                "More points near the peak, or a sweep with mass, narrow them.",
            )
        )
    return remarks


def _unusual_remarks(found: dict[str, Estimate]) -> list[Remark]:
    """Values that hardly any driver has: most often a decimal point in what was stated."""
    remarks = []
    ohms, mass, area = found.get("re"), found.get("mms"), found.get("sd")
    if ohms is not None and not _USUAL_OHMS[0] <= ohms.value <= _USUAL_OHMS[1]:
        shown, low, high = (
            format_quantity(value, "resistance") for value in (ohms.value, *_USUAL_OHMS)
        )
        says = f"{shown} of d.c. resistance is hardly any driver's: {low} to {high} is usual."
        do = "Check the known resistor: every other value in ohms hangs on it."
        remarks.append(Remark("mind", says, do))
    if mass is None or area is None:
        return remarks
    if not _USUAL_CONE[0] <= mass.value / area.value <= _USUAL_CONE[1]:
        shown, cone = format_quantity(mass.value, "mass"), format_quantity(area.value, "cone")
        low, high = (format_quantity(area.value * each, "mass") for each in _USUAL_CONE)
        says = f"A moving mass of {shown} is hardly any cone's of {cone}: {low} to {high} is usual."
        do = "Check the decimal point of the added mass, the box and the diameter."
        remarks.append(Remark("mind", says, do))
    return remarks


def _hz(value: float) -> str:
    return format_quantity(value, "frequency")
