"""Parameters of drivers: whether they can all be true, and which to measure before cutting wood."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import numpy as np

from boomwright.advice.bass import bass_voices, known_well
from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.audio import Driver
from boomwright.build.quantities import Quantity
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.bass import Bass, bass_of
from boomwright.outcome.data import Range
from boomwright.outcome.speakers import rated_watt_db, sensitivity_of
from boomwright.outcome.voices import USUAL_QMS
from boomwright.physics.alignment import vented_box
from boomwright.physics.driver import driver_model
from boomwright.physics.loudspeaker import qts, sensitivity_from_parameters

__all__: list[str] = []

_FLATTERED = 3.0
"""What a midrange peak may honestly add to a sensitivity [dB]; common practice, no source."""
_DRIVERS_LIE = (65.0, 110.0)
"""Levels for 1 W between which drivers lie [dB]; 112 dB would be all of the watt as sound. No
source."""
_APART = 1.2
"""Two roads to one value that differ by more cannot both be right; common practice, no source."""
_COIL_MOST = 1.02
"""Resistance of a coil over the rated impedance, which is above it in honest drivers:
IEC 60268-5 has the impedance fall to 80 % of its rating at least, from memory."""
_OPEN = 1.35
"""Highest over lowest bass end that leaves a box to chance; no source."""


@rule(
    "sensitivity-belied",
    "loud",
    title="Sensitivity against the motor that makes it",
    source="efficiency from fs, vas and qes: R. H. Small, Direct-Radiator Loudspeaker System "
    "Analysis, J. Audio Eng. Soc. 1972; a midrange peak may add 3 dB, common practice, no source",
)
def sensitivity_belied(case: Case) -> Iterator[Says]:
    """Stated sensitivity against what resonance, air of the suspension and electrical Q allow."""
    for driver in case.build.driver:
        if driver.sensitivity is None:
            continue
        if driver.fs is None or driver.vas is None or driver.qes is None:
            continue
        stated = sensitivity_of(driver)
        # Labels count their watt in the rated impedance.
        rated = rated_watt_db(driver)
        least, likely, most = (
            float(sensitivity_from_parameters(fs, vas, qes=qes)) + rated
            for fs, vas, qes in (
                (driver.fs.low, driver.vas.low, driver.qes.high),
                (driver.fs.likely, driver.vas.likely, driver.qes.likely),
                (driver.fs.high, driver.vas.high, driver.qes.low),
            )
        )
        over = stated.low - most > _FLATTERED
        if not over and least - stated.high <= _FLATTERED:
            continue
        credible = _DRIVERS_LIE[0] <= likely <= _DRIVERS_LIE[1]
        written = f"{likely:.1f} dB ±1.5 dB (typical)"
        yield Says(
            "mind",
            driver.name,
            f"A sensitivity of {shown(stated.likely, 'decibel')} for 1 W stands in the file or its "
            f"part, and fs, vas and qes make it {shown(likely, 'decibel')}: "
            f"{shown(abs(stated.likely - likely), 'decibel')} apart.",
            "Mass, motor and cone fix how loud a driver is for its watts; no label changes that."
            if over and credible
            else "One of these numbers belongs to another driver, or was read wrong.",
            f"Reckon with {shown(likely, 'decibel')} until you have measured one of the four."
            if credible
            else f"No driver gives {shown(likely, 'decibel')} for 1 W: read fs, vas and qes again, "
            "their units first.",
            numbers=(
                Figure("stated, 1 W at 1 m", stated.likely, "decibel"),
                Figure("from fs, vas and qes", likely, "decibel"),
                Figure("most that their ranges allow", most, "decibel"),
                Figure("least that their ranges allow", least, "decibel"),
            ),
            fix=Fix(
                f"reckon with {shown(likely, 'decibel')}",
                (
                    Change(driver.name, "sensitivity", written),
                    Change(driver.name, "sensitivity_at", "1 W"),
                ),
            )
            if credible
            else None,
        )


@rule(
    "parameters-disagree",
    "loud",
    title="Parameters of a driver that cannot all be right",
    source="R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 1972, "
    "from memory; 20 % beyond the stated ranges, no source",
)
def parameters_disagree(case: Case) -> Iterator[Says]:
    """Moving mass, force factor and coil against what the other parameters make of them."""
    for driver in case.build.driver:
        for name, stated, made, kind, roads, hint in _two_roads(driver):
            if stated.low <= _APART * made.high and made.low <= _APART * stated.high:
                continue
            yield Says(
                "mind",
                driver.name,
                f"The file has {name} at {shown(stated.likely, kind, digits=2)}, and {roads} make "
                f"it {shown(made.likely, kind, digits=2)}.",
                "These are tied by the physics of a cone on a spring: where two roads to one "
                "number differ, one of the numbers is wrong, and the bass is worked out from it.",
                hint,
                numbers=(
                    Figure(f"{name} stated", stated.likely, kind),
                    Figure(f"{name} from {roads}", made.likely, kind),
                    Figure("least by their ranges", made.low, kind),
                    Figure("most by their ranges", made.high, kind),
                ),
            )
        if driver.re is not None and driver.re.low > _COIL_MOST * driver.impedance.high:
            yield Says(
                "mind",
                driver.name,
                f"The file has re at {shown(driver.re.likely, 'resistance')}, above the rated "
                f"impedance of {shown(driver.impedance.likely, 'resistance')}.",
                "A coil has 70 to 85 % of the rated impedance; current and loudness are worked out "
                "from both.",
                "Read the coil again with the leads off, the meter's own leads taken off the "
                "reading, and look at the label: it may be a driver of the next higher impedance.",
                numbers=(
                    Figure("re stated", driver.re.likely, "resistance"),
                    Figure("rated impedance", driver.impedance.likely, "resistance"),
                ),
            )


Roads = tuple[str, Quantity, Range, str, str, str]


def _two_roads(driver: Driver) -> Iterator[Roads]:
    """Stated values that others give as well: name, stated, made, kind, from what, what to do."""
    fs, vas, qes, sd, re = driver.fs, driver.vas, driver.qes, driver.sd, driver.re
    if fs is None:
        return
    mass: Range | None = None
    if vas is not None and sd is not None:
        # Heaviest for the smallest resonance and spring, and the largest cone.
        made = driver_model(
            re=re.likely if re else driver.impedance.likely,
            fs=np.array([fs.likely, fs.high, fs.low]),
            qms=USUAL_QMS,
            qes=1.0,
            vas=np.array([vas.likely, vas.high, vas.low]),
            sd=np.array([sd.likely, sd.low, sd.high]),
        ).mms
        mass = Range(float(made[0]), float(made[1]), float(made[2]))
        if driver.mms is not None:
            yield (
                "mms",
                driver.mms,
                mass,
                "mass",
                "fs, vas and sd",
                "Measure sd first, across the middle of the surround: it counts squared. Then vas "
                "with a known mass on the cone.",
            )
    if driver.mms is not None:
        mass = Range(driver.mms.likely, driver.mms.low, driver.mms.high)
    if driver.bl is None or qes is None or re is None or mass is None:
        return
    force = [
        float(np.sqrt(2.0 * np.pi * ends[0] * ends[1] * ends[2] / ends[3]))
        for ends in (
            (fs.likely, mass.likely, re.likely, qes.likely),
            (fs.low, mass.low, re.low, qes.high),
            (fs.high, mass.high, re.high, qes.low),
        )
    ]
    of_mass = "mms" if driver.mms is not None else "vas, sd"
    yield (
        "bl",
        driver.bl,
        Range(*force),
        "motor",
        f"fs, {of_mass}, re and qes",
        "Measure qes again from the impedance around the resonance, with the coil's resistance "
        "read in the same minute.",
    )


@rule(
    "driver-unknown",
    "loud",
    title="A tuned box around a driver nobody measured",
    source="bass over the stated ranges of fs, qes and vas; R. H. Small, Vented-Box Loudspeaker "
    "Systems, J. Audio Eng. Soc. 1973, from memory",
)
def driver_unknown(case: Case) -> Iterator[Says]:
    """How far the ranges of a driver leave the bass of a vented box or passive radiator open."""
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.type not in {"vented", "radiator"}:
        return
    if cabinet.type == "vented" and cabinet.vent is None and cabinet.tuning is None:
        return
    for driver, _, _ in bass_voices(case):
        bass = bass_of(driver, case.build)
        if bass is None or bass.tuning <= 0.0 or driver.low_end is not None:
            continue
        if known_well(driver.fs) and known_well(driver.qes) and known_well(driver.vas):
            continue
        ends, humps = _spread(driver, bass)
        if ends[1] <= _OPEN * ends[0]:
            continue
        yield Says(
            "mind",
            driver.name,
            "All that is known of this driver is its class: in this box its bass may end anywhere "
            f"from {shown(ends[0], 'frequency', digits=2)} to "
            f"{shown(ends[1], 'frequency', digits=2)}, with a hump of up to "
            f"{shown(humps[1], 'decibel')}.",
            "A tuned box fits one driver: cut for another it booms or stays thin, and wood does "
            "not grow back.",
            "Measure three things before you cut: the coil's resistance, resonance and Q from the "
            "impedance in free air, and vas from the same with a known mass on the cone.",
            numbers=(
                Figure("bass end, lowest", ends[0], "frequency"),
                Figure("bass end, highest", ends[1], "frequency"),
                Figure("least hump", humps[0], "decibel"),
                Figure("greatest hump", humps[1], "decibel"),
            ),
        )


def _spread(driver: Driver, bass: Bass) -> tuple[tuple[float, float], tuple[float, float]]:
    """Least and greatest bass end [Hz] and hump [dB] over the corners of what is known."""
    if driver.fs is None or driver.qes is None or driver.vas is None:
        raise ValueError(f"{driver.name} has no parameters to spread")
    corners = np.array(
        list(
            product(
                (driver.fs.low, driver.fs.high),
                (driver.qes.low, driver.qes.high),
                (driver.vas.low, driver.vas.high),
            )
        )
    ).T
    mechanical = driver.qms.likely if driver.qms else USUAL_QMS
    found = vented_box(
        fs=corners[0],
        qts=qts(mechanical, corners[1]),
        vas=corners[2],
        volume=bass.volume,
        fb=bass.tuning,
    )
    return (
        (float(np.min(found.f3)), float(np.max(found.f3))),
        (float(np.min(found.peak_db)), float(np.max(found.peak_db))),
    )
