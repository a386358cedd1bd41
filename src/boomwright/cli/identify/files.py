"""What ``boomwright identify`` writes: the form, the test signal, and values into a build file."""

from __future__ import annotations

import json as json_text
from collections.abc import Mapping
from pathlib import Path

import typer
from rich.text import Text

from boomwright.bench.driver.known import Estimate
from boomwright.build.audio import Driver
from boomwright.build.drawer import load_drawer
from boomwright.build.edit import Edit, edits_between, with_values
from boomwright.build.files import read_toml, write_whole
from boomwright.build.history import file_text, write_kept
from boomwright.build.locate import Path as TomlPath
from boomwright.build.nearest import nearest
from boomwright.build.quantities import format_quantity
from boomwright.build.read import parse_build, read_parts
from boomwright.cli.asked import Asked
from boomwright.cli.show import console
from boomwright.errors import InputError, Problem

__all__ = ["measured_text", "put_values", "write_form", "write_sweep"]

_PUT = ("re", "fs", "qms", "qes", "vas", "sd", "mms", "bl", "le", "le2", "re2")
"""Parameters that a build file's driver may hold; others follow from them."""

_SHARP = 0.005
"""Share of error below which a fourth digit tells something."""


def write_form(output: Path, *, replace: bool, json: bool) -> None:
    """Write the form for readings.

    Raises
    ------
    WriteError
        If it cannot be written, or is there already.
    """
    from boomwright.bench.driver.sheet import form_text

    write_whole(output, form_text(output.name), replace=replace)
    _told(output, f"Fill it in at the bench; then: boomwright identify readings {output}", json)


def write_sweep(output: Path, texts: Mapping[str, str], *, replace: bool, json: bool) -> None:
    """Write the test signal.

    Raises
    ------
    InputError
        If such a signal cannot be.
    WriteError
        If it cannot be written, or is there already.
    """
    from boomwright.bench.driver.signal import TestSignal, write_signal

    asked = Asked(None, texts)
    duration = asked.number("--duration", "time")
    level = asked.number("--level", "decibel")
    rate = asked.number("--rate", "frequency")
    silence = asked.number("--silence", "time")
    if output.suffix.lower() != ".wav":
        asked.problems.append(
            Problem(
                "not the name of a WAV file",
                got=repr(output.name[:80]),
                expected="a name that ends in .wav",
                key="--output",
                hint=f"Write {output.with_suffix('.wav')}.",
            )
        )
    asked.settle()
    usual = TestSignal()
    wanted = TestSignal(
        duration=usual.duration if duration is None else duration,
        level_db=usual.level_db if level is None else level,
        rate=usual.rate if rate is None else round(rate),
        silence=usual.silence if silence is None else silence,
    )
    write_signal(output, wanted, replace=replace)
    says = (
        "Caution: volume at its lowest first, and small signals only into the sound card, never "
        "a bridge amplifier's output. Record both sides of the resistor while it plays; then: "
        'boomwright identify recording RECORDING.wav --resistor "100 Ω"'
    )
    _told(output, says, json)


def _told(output: Path, says: str, json: bool) -> None:
    if json:
        typer.echo(json_text.dumps({"file": str(output)}, ensure_ascii=False))
        return
    console().print(Text(f"Wrote {output}. {says}"))


def measured_text(estimate: Estimate) -> str:
    """Value and range as a build file holds them.

    Parameters
    ----------
    estimate : Estimate
        The value.

    Returns
    -------
    str

    Examples
    --------
    >>> measured_text(Estimate("fs", 47.2, 0.9))
    '47.2 Hz [45.5 to 49] (measured)'
    """
    digits = 3 if estimate.error > _SHARP * abs(estimate.value) else 4
    likely, low, high = (
        format_quantity(value, estimate.kind, digits=digits)
        for value in (estimate.value, estimate.low, estimate.high)
    )
    unit = likely.partition(" ")[2]
    if all(text.partition(" ")[2] == unit for text in (low, high)):
        low, high = low.partition(" ")[0], high.partition(" ")[0]
    return f"{likely} [{low} to {high}] (measured)"


def put_values(
    build: Path, parameters: Mapping[str, Estimate], *, driver: str, parts: Path | None = None
) -> tuple[Edit, ...]:
    """Write measured values into a driver's table of a build file.

    Parameters
    ----------
    build : Path
        The build file.
    parameters : mapping of str to Estimate
        What is known; what the table has no key for is passed over.
    driver : str
        Name of the driver; empty for the only one.
    parts : Path or None
        Own parts, laid over the drawer.

    Returns
    -------
    tuple of Edit
        What differs now.

    Raises
    ------
    InputError
        If the file cannot be used, has no such driver, or would not be right afterwards; nothing
        is written.
    WriteError
        If it cannot be written; it is untouched.
    """
    text = file_text(build)
    head = _table(build, driver)
    values = {
        (*head, name): measured_text(parameters[name])
        for name in _PUT
        if name in parameters and name in Driver.model_fields
    }
    if "sensitivity" in parameters and not _own(build, head, "sensitivity"):
        # What the drawer says of the class gives way; what a person wrote stays.
        values[(*head, "sensitivity")] = measured_text(parameters["sensitivity"])
    if not values:
        says = "nothing measured that a driver's table holds"
        raise InputError([Problem(says, hint="A driver in its cabinet tells only of both.")])
    new = with_values(text, values)
    drawer = load_drawer() if parts is None else read_parts(parts)
    source = read_toml(build)
    own = source.values.get("parts")
    if isinstance(own, str) and own:
        drawer = read_parts(build.parent / own, drawer=drawer)
    parse_build(new, file=str(build), drawer=drawer)
    write_kept(build, new)
    return edits_between(text, new)


def _own(build: Path, head: TomlPath, key: str) -> bool:
    """Whether a driver's table itself holds a key."""
    place: object = read_toml(build).values
    for step in head:
        if isinstance(place, dict):
            place = place.get(str(step))
        elif isinstance(place, list) and isinstance(step, int):
            place = place[step]
    return isinstance(place, dict) and key in place


def _usual_name(place: int) -> str:
    return "driver" if place == 0 else f"driver-{place + 1}"


def _table(build: Path, driver: str) -> TomlPath:
    """Path of a driver's table, by its name or as the only one."""
    content = read_toml(build).values.get("driver")
    tables = content if isinstance(content, list) else [] if content is None else [content]
    names = [
        str((isinstance(table, dict) and table.get("name")) or _usual_name(place))
        for place, table in enumerate(tables)
    ]
    if not tables:
        hint = 'Add a table [driver] with its impedance first, such as impedance = "8 Ω".'
        raise InputError([Problem("no driver in it", file=str(build), hint=hint)])
    if not driver and len(tables) > 1:
        named = ", ".join(repr(name) for name in names)
        problem = Problem(
            "several drivers: which one was measured?",
            got=named,
            expected="--driver NAME",
            file=str(build),
        )
        raise InputError([problem])
    if driver and driver not in names:
        hint = nearest(driver, names)
        problem = Problem(
            "no such driver", got=repr(driver[:80]), key="--driver", file=str(build), hint=hint
        )
        raise InputError([problem])
    place = names.index(driver) if driver else 0
    return ("driver", place) if isinstance(content, list) else ("driver",)
