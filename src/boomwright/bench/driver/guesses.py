"""First guesses from which a fit starts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from boomwright.bench.driver.asked import Asked
from boomwright.bench.driver.model import Model
from boomwright.bench.driver.start import coil_guesses, humps, three_point_q
from boomwright.physics.acoustic_load import air_compliance

__all__ = ["AREA_GUESS", "VOLUME_GUESS", "first_guesses"]

AREA_GUESS, VOLUME_GUESS = 0.01, 0.01
"""Cone area [m²] and Vas [m³] where nothing tells them: any serve, they cancel."""


def first_guesses(asked: Asked, model: Model) -> Iterator[dict[str, float]]:
    """First guesses: those of driver and box, each with those of the coil.

    Parameters
    ----------
    asked : Asked
        The sweeps.
    model : Model
        Whose unknowns are sought.

    Yields
    ------
    dict of str to float
        A value for every unknown, SI units.
    """
    re = asked.humps[0].base if asked.re is None else asked.re[0]
    coils = coil_guesses(asked.setups[0].sweep, re=re)
    for coil in coils if "le" in model.names else coils[:1]:
        for guess in _driver_guesses(asked, model, re):
            yield {"re": re, "creep": 0.05, "ql": 20.0, **coil, **guess}


def _driver_guesses(asked: Asked, model: Model, re: float) -> Iterator[dict[str, float]]:
    """First guesses of driver and box."""
    hump = asked.humps[0]
    if "fb" in model.names:
        for qes in (0.3, 0.6, 1.2):
            yield {**_vented_guess(asked), "qes": qes}
        return
    sides = np.isfinite(hump.below) and np.isfinite(hump.above) and hump.height > 1.05 * re
    qms, qes = three_point_q(replace(hump, base=re)) if sides else (4.0, 0.6)
    if asked.setups[0].place == "box":
        # What is seen is driver and box as one; how much of the stiffness is air is not.
        for stiffer in (1.25, 1.6):
            own = {"fs": hump.frequency / stiffer, "qms": qms / stiffer, "qes": qes / stiffer}
            yield {**own, "vas": (stiffer**2 - 1.0) * asked.setups[0].volume}
        return
    yield {"fs": hump.frequency, "qms": qms, "qes": qes, "vas": _vas_guess(asked)}


def _vas_guess(asked: Asked) -> float:
    """Volume that the shift of the resonance lets expect."""
    area = AREA_GUESS if asked.sd is None else asked.sd
    fs = asked.humps[0].frequency
    shifted = [(peak.frequency, peak.mass, peak.volume) for peak in asked.peaks]
    for setup in asked.setups[1:]:
        found = humps(setup.sweep)
        if found:
            shifted.append((found[0].frequency, setup.mass, setup.volume))
    for frequency, mass, volume in shifted:
        if np.isfinite(volume) and frequency > 1.001 * fs:
            return float(volume * ((frequency / fs) ** 2 - 1.0))
        if mass and frequency < 0.999 * fs:
            mms = mass / ((fs / frequency) ** 2 - 1.0)
            cms = 1.0 / ((2.0 * np.pi * fs) ** 2 * mms)
            # Stiffness of air is volume over compliance, whatever the volume.
            unit = 1.0 / float(air_compliance(1.0, temperature=asked.temperature))
            return float(unit * area**2 * cms)
    return VOLUME_GUESS


def _vented_guess(asked: Asked) -> dict[str, float]:
    """Driver and box of the two peaks and the dip between them, as if without losses."""
    low, high = asked.humps[0], asked.humps[1]
    setup = asked.setups[0]
    sweep = setup.sweep
    between = (sweep.frequency > low.frequency) & (sweep.frequency < high.frequency)
    fb = float(sweep.frequency[between][np.argmin(sweep.magnitude[between])])
    fs = low.frequency * high.frequency / fb
    alpha = (low.frequency**2 + high.frequency**2 - fb**2) / fs**2 - 1.0
    return {"fs": fs, "fb": fb, "vas": max(alpha, 0.05) * setup.volume, "qms": 4.0, "ql": 10.0}
