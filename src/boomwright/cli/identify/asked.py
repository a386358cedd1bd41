"""``boomwright identify readings``, ``sweep`` and ``recording``: from files to a known driver."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot
from pathlib import Path

from boomwright.bench.driver.identified import Cabinet, Identified, cone_area, identify
from boomwright.bench.driver.model import Doubts, Setup
from boomwright.bench.driver.readings import likely_error, read_readings
from boomwright.bench.driver.sweep import ImpedanceSweep
from boomwright.build.edit import Edit
from boomwright.build.quantities import Quantity
from boomwright.cli.asked import Asked
from boomwright.cli.chart_file import chart_problems
from boomwright.design.sheet import Remark
from boomwright.errors import InputError, Problem

__all__ = ["IdentifyRequest", "from_readings", "from_recordings", "from_sweeps"]

_OHMS_ERROR = 0.005
"""Standard error of an ohmmeter without a stated one, as a share; common practice, no source."""


@dataclass(frozen=True)
class IdentifyRequest:
    """What one of the three commands was asked; empty where an option was not given.

    Parameters
    ----------
    file : Path
        The form, the sweep or the recording.
    with_mass, in_box, calibration : Path or None
        Further sweeps or recordings.
    mass, box, cabinet, diameter, re, ohms_error, resistor : str
        Options as written.
    driver_channel, calibration_resistor, driver : str
        Options as written.
    creep, json : bool
        Switches.
    chart, put : Path or None
        Files to write.
    """

    file: Path
    with_mass: Path | None = None
    mass: str = ""
    in_box: Path | None = None
    box: str = ""
    cabinet: str = ""
    diameter: str = ""
    re: str = ""
    ohms_error: str = ""
    resistor: str = ""
    driver_channel: str = ""
    calibration: Path | None = None
    calibration_resistor: str = ""
    creep: bool = False
    chart: Path | None = None
    put: Path | None = None
    driver: str = ""
    json: bool = False


@dataclass(frozen=True)
class _Known:
    """What the options say of the measurement."""

    cabinet: Cabinet
    mass: Quantity | None
    volume: Quantity | None
    diameter: Quantity | None
    re: tuple[float, float] | None

    @property
    def sd(self) -> float | None:
        return None if self.diameter is None else cone_area(self.diameter.likely)

    def doubts(self, ohms: float, match: float = 0.0) -> Doubts:
        def error(quantity: Quantity | None) -> float:
            return 0.0 if quantity is None else likely_error(quantity)

        alike = hypot(ohms, match)
        return Doubts(
            alike, match, error(self.mass), error(self.volume), 2.0 * error(self.diameter)
        )


def from_readings(request: IdentifyRequest) -> int:
    """Identify a driver by a filled-in form, print and write what is known.

    Parameters
    ----------
    request : IdentifyRequest
        What was asked.

    Returns
    -------
    int
        Exit code: 1 where the measurement cannot be trusted, else 0.

    Raises
    ------
    InputError
        With everything that is wrong with what was given.
    """
    asked = _asked(request)
    known = _known(asked, request)
    asked.settle()
    form = read_readings(request.file)
    known = replace(
        known,
        mass=form.mass,
        volume=known.volume if known.cabinet else form.volume,
        diameter=form.diameter,
        re=form.re,
    )
    first, *others = form.setups
    found = identify(
        [_in_cabinet(first, known), *others],
        peaks=form.peaks,
        cabinet=known.cabinet,
        re=form.re,
        sd=known.sd,
        doubts=known.doubts(likely_error(form.resistor)),
    )
    return _told(request, found, name=form.name)


def from_sweeps(request: IdentifyRequest) -> int:
    """Identify a driver by impedance sweeps, print and write what is known.

    Parameters
    ----------
    request : IdentifyRequest
        What was asked.

    Returns
    -------
    int
        Exit code: 1 where the measurement cannot be trusted, else 0.

    Raises
    ------
    InputError
        With everything that is wrong with what was given.
    """
    from boomwright.bench.driver.sweep_file import read_sweep

    asked = _asked(request)
    known = _known(asked, request)
    error = asked.quantity("--ohms-error", "share")
    asked.settle()
    files = [request.file, *(file for file in (request.with_mass, request.in_box) if file)]
    sweeps: list[ImpedanceSweep] = []
    problems: list[Problem] = []
    for file in files:
        try:
            sweeps.append(read_sweep(file))
        except InputError as wrong:
            problems += wrong.problems
    if problems:
        raise InputError(problems)
    scale = 0.0 if error is None else error.likely / 3.0**0.5
    return _identified(request, known, sweeps, scale)


def from_recordings(request: IdentifyRequest) -> int:
    """Identify a driver by a sound card's recordings, print and write what is known.

    Parameters
    ----------
    request : IdentifyRequest
        What was asked.

    Returns
    -------
    int
        Exit code: 1 where the measurement cannot be trusted, else 0.

    Raises
    ------
    InputError
        With everything that is wrong with what was given.
    """
    from boomwright.bench.driver.recording import (
        Recorded,
        Side,
        read_recorded,
        recorded_impedance,
    )

    asked = _asked(request)
    known = _known(asked, request)
    resistor = asked.quantity("--resistor", "resistance")
    told = asked.one_of("--driver-channel", ("left", "right"))
    side: Side = "left" if told == "left" else "right" if told == "right" else ""
    second = asked.quantity("--calibration-resistor", "resistance")
    for quantity, option in ((resistor, "--resistor"), (second, "--calibration-resistor")):
        if quantity is not None and quantity.likely <= 0.0:
            asked.wrong(option, f"not above zero: {quantity.text}")
    if (request.calibration is None) != (second is None):
        asked.wrong(
            "--calibration",
            "a calibration takes a recording and its resistor, both or neither",
        )
    asked.settle()
    if resistor is None:
        raise InputError([Problem("no resistor given", key="--resistor", expected="'100 Ω ±1 %'")])
    files = [request.file, *(file for file in (request.with_mass, request.in_box) if file)]
    recordings: list[Recorded] = []
    problems: list[Problem] = []
    for file in [*files, *([request.calibration] if request.calibration else [])]:
        try:
            recordings.append(read_recorded(file))
        except InputError as wrong:
            problems += wrong.problems
    if problems:
        raise InputError(problems)
    calibration = None
    if request.calibration is not None and second is not None:
        calibration = recordings.pop(), second.likely
    sweeps, match = [], 0.0
    for recorded in recordings:
        sweep, match = recorded_impedance(
            recorded, resistor=resistor.likely, side=side, calibration=calibration
        )
        sweeps.append(sweep)
    return _identified(request, known, sweeps, likely_error(resistor), match)


def _identified(
    request: IdentifyRequest,
    known: _Known,
    sweeps: list[ImpedanceSweep],
    scale: float,
    match: float = 0.0,
) -> int:
    first, *others = sweeps
    setups = [_in_cabinet(Setup(first), known)]
    if request.with_mass is not None and known.mass is not None:
        setups.append(Setup(others.pop(0), "mass", mass=known.mass.likely))
    if request.in_box is not None and known.volume is not None:
        setups.append(Setup(others.pop(0), "box", volume=known.volume.likely))
    found = identify(
        setups,
        cabinet=known.cabinet,
        re=known.re,
        sd=known.sd,
        doubts=known.doubts(scale, match),
        creep=request.creep,
    )
    return _told(request, found, name=request.file.stem)


def _in_cabinet(setup: Setup, known: _Known) -> Setup:
    """The first sweep with its cabinet's volume, where that counts."""
    if known.cabinet == "vented" and known.volume is not None:
        return replace(setup, volume=known.volume.likely)
    return setup


def _asked(request: IdentifyRequest) -> Asked:
    return Asked(
        None,
        {
            "--mass": request.mass,
            "--box": request.box,
            "--cabinet": request.cabinet,
            "--diameter": request.diameter,
            "--re": request.re,
            "--ohms-error": request.ohms_error,
            "--resistor": request.resistor,
            "--driver-channel": request.driver_channel,
            "--calibration-resistor": request.calibration_resistor,
        },
    )


def _known(asked: Asked, request: IdentifyRequest) -> _Known:
    """Options that the three commands share; what is wrong with them is noted."""
    asked.problems += chart_problems(request.chart)
    told = asked.one_of("--cabinet", ("closed", "vented"))
    cabinet: Cabinet = "closed" if told == "closed" else "vented" if told == "vented" else ""
    found = {
        option: _measured(asked, option, kind)
        for option, kind in (
            ("--mass", "mass"),
            ("--box", "volume"),
            ("--diameter", "length"),
            ("--re", "resistance"),
        )
    }
    if (request.with_mass is None) != (not request.mass):
        asked.wrong("--mass", "a sweep with mass takes --with-mass FILE and --mass, both")
    if request.in_box is not None and not request.box:
        asked.wrong("--box", "a sweep on a test box takes its volume too", hint='Such as "8 L".')
    if request.box and request.in_box is None and cabinet != "vented":
        asked.wrong("--box", "a volume, but no sweep on that box", hint="Give --in-box FILE.")
    if cabinet and (request.with_mass or request.in_box):
        asked.wrong("--cabinet", "a driver in its cabinet takes one sweep alone")
    if request.put is not None and cabinet == "closed":
        asked.wrong(
            "--put",
            "a closed cabinet hides the driver's own resonance and Q: nothing of it to write",
            hint="Measure the driver out of its cabinet.",
        )
    if request.driver and request.put is None:
        asked.wrong("--driver", "names a driver of a build", hint="Give --put BUILD.")
    ohms = found["--re"]
    re = None
    if ohms is not None:
        spread = likely_error(ohms) if _says_range(ohms) else _OHMS_ERROR
        re = ohms.likely, max(spread, 1e-4)
    return _Known(cabinet, found["--mass"], found["--box"], found["--diameter"], re)


def _says_range(quantity: Quantity) -> bool:
    return any(sign in quantity.text for sign in ("±", "[", " to "))


def _measured(asked: Asked, option: str, kind: str) -> Quantity | None:
    """A value above zero, measured unless it says otherwise."""
    text = asked.text(option)
    if not text:
        return None
    written = text if text.rstrip().endswith(")") else f"{text} (measured)"
    one = Asked(None, {option: written})
    found = one.quantity(option, kind)
    asked.problems += [replace(problem, got=repr(text)) for problem in one.problems]
    if found is not None and found.likely <= 0.0:
        asked.wrong(option, f"not above zero: {text}")
        return None
    return found


def _told(request: IdentifyRequest, found: Identified, *, name: str) -> int:
    """Print, draw and write; the exit code."""
    from boomwright.cli.identify.files import put_values
    from boomwright.cli.identify.show import print_identified

    edits: tuple[Edit, ...] = ()
    if found.level == "stop" and request.put is not None:
        refused = Remark("stop", f"Nothing was written into {request.put}.", "Mend that first.")
        found = replace(found, remarks=(*found.remarks, refused))
    elif request.put is not None:
        edits = put_values(request.put, found.parameters, driver=request.driver)
    if request.chart is not None:
        from boomwright.cli.identify.show import draw_identified

        draw_identified(request.chart, found, name=name)
    print_identified(
        found, name=name, edits=edits, put=request.put, chart=request.chart, json=request.json
    )
    return 1 if found.level == "stop" else 0
