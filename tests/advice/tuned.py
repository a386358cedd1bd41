"""Builds with a tuned box for tests of rules: the maximally flat box of a driver that is known."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from tests.advice.cases import BASE, case_of, with_

from boomwright.advice.finding import Finding

DRIVER = {
    "impedance": "8 Ω (standard)",
    "band": "full",
    "re": "6 Ω (standard)",
    "fs": "40 Hz (standard)",
    "qms": "4 (standard)",
    "qes": "0.4504 (standard)",
    "vas": "40 L (standard)",
    "sd": "132 cm² (standard)",
    "xmax": "5 mm (standard)",
    "power": "30 W (standard)",
    "count": 1,
    "volume_taken": "0 L (standard)",
}
"""Qts of 0.4048: with a leak Q of 7 the flattest box has an alpha of 1.0613 and is tuned to fs
(Small, vented boxes, from memory; O3.25 of the published values)."""

VENT = {"diameter": "6 cm (standard)", "length": "9.61 cm (standard)"}
"""28.27 cm² (c/(2 pi 40 Hz))²/37.69 L = 0.1399 m, less 1.463 radii of 30 mm."""

BOX = {
    "volume": "37.69 L (standard)",
    "type": "vented",
    "ql": "7 (standard)",
    "qa": "1000 (standard)",
    "electronics_apart": True,
    "vent": VENT,
}
RADIATOR = {
    "sd": "330 cm² (standard)",
    "mass": "62.3 g (standard)",
    "fs": "18 Hz (standard)",
    "qms": "9 (standard)",
}


def tuned(
    driver: Mapping[str, Any] | None = None,
    cabinet: Mapping[str, Any] | None = None,
    want: Mapping[str, Any] | None = None,
) -> str:
    """The flat box with keys of driver, cabinet and wish laid over it; None takes a key out.

    The cabinet's volume is what its vent leaves.
    """
    changed = {
        "driver": [_laid(DRIVER, driver)],
        "cabinet": _with_room_for_its_vent(_laid(BOX, cabinet)),
        "want": dict(want or {}),
    }
    return with_(BASE, changed, ["cabinet"])


def passive(
    radiator: Mapping[str, Any] | None = None,
    driver: Mapping[str, Any] | None = None,
    cabinet: Mapping[str, Any] | None = None,
    want: Mapping[str, Any] | None = None,
) -> str:
    """The same with a passive radiator in the vent's place."""
    box = {"type": "radiator", "vent": None, "radiator": _laid(RADIATOR, radiator)}
    return tuned(driver, {**box, **(cabinet or {})}, want)


def _laid(under: Mapping[str, Any], over: Mapping[str, Any] | None) -> dict[str, Any]:
    return {key: value for key, value in {**under, **(over or {})}.items() if value is not None}


def _with_room_for_its_vent(box: dict[str, Any]) -> dict[str, Any]:
    """The box with the volume its tube takes inside added, so that `volume` is what is left."""
    vent = box.get("vent")
    if box["type"] != "vented" or "volume" not in box or "diameter" not in (vent or {}):
        return box
    bore, length = (float(vent[key].split()[0]) for key in ("diameter", "length"))
    # A tube 2.5 mm thick, its length less 15 mm of panel [cm, litres].
    tube = np.pi * (bore + 0.5) ** 2 / 4 * max(length - 1.5, 0.0) / 1e3
    litres = float(box["volume"].split()[0]) + tube
    return {**box, "wall": "15 mm (standard)", "volume": f"{litres:.5f} L (standard)"}


def one_note(frequency: float) -> str:
    """A [music] table all of whose power lies in the third octave around a frequency."""
    return (
        '\n[music]\ntitle = "One note"\nlevels = [0, 1.41421356]\ntime_above = [1, 0.00001]\n'
        f"bands = [{frequency:g}]\nspectrum_db = [0]\n"
    )


QUIET = {"level": "45 dB(A) at 2 m"}
"""A wish that one low note reaches: A-weighting takes 35 dB of it at 40 Hz."""


def figures(finding: Finding) -> dict[str, float]:
    """Numbers of a finding by their labels."""
    return {figure.label: figure.value for figure in finding.numbers}


def clean_level_at(text: str, frequency: float) -> float:
    """Level at 1 m of the first driver at the clean limit, at one frequency [dB]."""
    case = case_of(text)
    output, voice = case.sound.voices()[0]
    pressure = np.interp(frequency, case.sound.frequency, np.abs(voice.pressure))
    return float(20 * np.log10(pressure * output.peak_volts[0] / np.sqrt(2) / 20e-6))
