"""What the options of ``boomwright design box``, a build file and the drawer ask of a box."""

from __future__ import annotations

import math

from boomwright.build.audio import Amplifier, Driver
from boomwright.build.drawer import Drawer
from boomwright.build.fields import typical
from boomwright.build.nearest import nearest
from boomwright.build.quantities import Quantity, format_quantity
from boomwright.cli.asked import Asked
from boomwright.cli.design.given import Given, volts_of
from boomwright.design.box.wish import KINDS, BoxKind, BoxWish
from boomwright.errors import Problem
from boomwright.outcome.speakers import channels_of
from boomwright.outcome.voices import winding_of
from boomwright.physics.programme import load_programmes
from boomwright.physics.stuffing import STUFFINGS
from boomwright.physics.wire import wire_resistance

__all__ = ["box_wish"]

_OWN = {
    "--fs": ("fs", "frequency"),
    "--qes": ("qes", "ratio"),
    "--qms": ("qms", "ratio"),
    "--vas": ("vas", "volume"),
    "--sd": ("sd", "cone"),
    "--xmax": ("xmax", "length"),
    "--re": ("re", "resistance"),
    "--power": ("power", "power"),
}
_NEEDED = ("--fs", "--qes", "--vas", "--sd", "--xmax", "--re")
_EXAMPLE = 'boomwright design box --driver driver-5in-8ohm --largest "14 L"'
_IN_SERIES = 0.3
"""Amplifier, leads and contacts in series with a driver of which no build is known [Ω]; common
practice, no source."""
_BRIDGE_LOSS = 1.5
"""Supply volts that an amplifier of a battery box does not reach [V]; typical, from memory."""
_AIR_ENDS = (1e-4, 1.0)
"""Least and most air of a box, as a build file takes it [m³]."""
_USUAL_VOLTS = (10.5, 12.0, 14.4)


def box_wish(
    asked: Asked, given: Given | None, drawer: Drawer, *, count: int | None
) -> tuple[BoxWish, str]:
    """Wish for a box, with where it comes from in words.

    Parameters
    ----------
    asked : Asked
        The options; what is wrong with them is noted there.
    given : Given or None
        The build.
    drawer : Drawer
        Where a driver is looked up.
    count : int or None
        Drivers that share the box, if said.

    Returns
    -------
    BoxWish, str

    Raises
    ------
    InputError
        With everything that cannot be.
    """
    driver = _driver(asked, given, drawer)
    if count is not None and not 1 <= count <= 16:
        asked.problems.append(
            Problem("not a number of drivers", got=str(count), expected="1 to 16", key="--count")
        )
    kind = asked.one_of("--kind", (*KINDS, "all"), usual="all")
    stuffing = asked.one_of("--stuffing", tuple(STUFFINGS), usual="none")
    programmes = load_programmes()
    own = given.build.want.programme if given is not None else "pop"
    programme = asked.one_of("--programme", tuple(programmes), usual=own)
    net, largest = _air(asked, "--net"), _air(asked, "--largest")
    if asked.given("--net") and asked.given("--largest"):
        asked.wrong("--largest", "both --net and --largest were given", hint="Give one.")
    low_end, hump = _positive(asked, "--bass", "frequency"), asked.number("--hump", "decibel")
    board, amps = _positive(asked, "--board", "length"), _positive(asked, "--amps", "current")
    wall = given.build.cabinet.wall.likely if given and given.build.cabinet else 0.015
    volts, limit, series, says = _drive(asked, given, driver)
    asked.settle()
    if driver is None:
        raise TypeError("a wish without a driver is refused above")
    kinds: tuple[BoxKind, ...] = tuple(one for one in KINDS if kind in {one, "all"})
    wish = BoxWish(
        driver=driver,
        count=count or (driver.count if given is not None else 1),
        volts=volts,
        amps=limit if amps is None else amps,
        resistance=series,
        programme=programmes[programme],
        kinds=kinds,
        net=net,
        largest=largest,
        low_end=low_end,
        hump=2.0 if hump is None else hump,
        wall=wall if board is None else board,
        stuffing=stuffing,  # type: ignore[arg-type]
    )
    return wish, says


def _positive(asked: Asked, option: str, kind: str) -> float | None:
    found = asked.quantity(option, kind)
    if found is not None and not found.low > 0.0:
        asked.problems.append(Problem("must be above 0", got=repr(asked.text(option)), key=option))
        return None
    return None if found is None else found.likely


def _air(asked: Asked, option: str) -> float | None:
    found = _positive(asked, option, "volume")
    if found is not None and not _AIR_ENDS[0] <= found <= _AIR_ENDS[1]:
        asked.problems.append(
            Problem(
                "no box of that size",
                got=repr(asked.text(option)[:80]),
                expected=" to ".join(format_quantity(end, "volume") for end in _AIR_ENDS),
                key=option,
            )
        )
        return None
    return found


def _driver(asked: Asked, given: Given | None, drawer: Drawer) -> Driver | None:
    name, own = asked.text("--driver"), _own_parameters(asked)
    found: Driver | None = None
    if given is not None:
        fit = [driver for driver in given.build.driver if driver.band in {"full", "low"}]
        named = [driver for driver in fit if driver.name == name]
        if named or (fit and not name):
            found = (named or fit)[0]
    if found is None and name:
        part = drawer.part("driver", name) if name in drawer.names("driver") else None
        if not isinstance(part, Driver):
            own_names = [driver.name for driver in given.build.driver] if given else []
            known = [*own_names, *drawer.names("driver")]
            hint = nearest(name, known)
            says = "no such driver"
            asked.problems.append(
                Problem(
                    says, got=repr(name[:80]), key="--driver", hint=hint or f"As in: {_EXAMPLE}"
                )
            )
            return None
        found = part
    if found is not None:
        return found.model_copy(update=own)
    missing = [option for option in _NEEDED if not asked.given(option)]
    if missing:
        given_some = len(missing) < len(_NEEDED)
        says = f"missing: {', '.join(missing)}" if given_some else "no driver was named"
        asked.wrong("--driver", says, hint=f"Such as: {_EXAMPLE}")
        return None
    if any(key not in own for key in ("fs", "qes", "vas", "sd", "xmax", "re")):
        return None
    rated = Quantity(
        own["re"].likely / 0.8, own["re"].low / 0.8, own["re"].high / 0.8, "resistance"
    )
    power = typical("20 W [10 to 40]", "power")
    bare = Driver.model_construct(name="driver", impedance=rated, power=power)
    return bare.model_copy(update=own)


def _own_parameters(asked: Asked) -> dict[str, Quantity]:
    found = {}
    for option, (field, kind) in _OWN.items():
        value = asked.quantity(option, kind)
        if value is None:
            continue
        if not value.low > 0.0:
            asked.problems.append(
                Problem("must be above 0", got=repr(asked.text(option)), key=option)
            )
            continue
        found[field] = value
    return found


def _drive(
    asked: Asked, given: Given | None, driver: Driver | None
) -> tuple[tuple[float, float, float], float, float, str]:
    """Peak volts at a driver in three states, amps for it, ohms in series, and whence."""
    amplifier = _amplifier(given, driver)
    words = any(asked.given(option) for option in ("--battery", "--lowest", "--highest"))
    if given is not None and amplifier is not None and driver is not None and not words:
        board = next(one for one in given.outcome.amplifiers if one.name == amplifier.name)
        full, empty = board.volts_peak_full.likely, board.volts_peak_empty.likely
        most = max(channels_of(driver, amplifier).values())
        parallel = 1 if driver.wiring == "series" else most
        share = most if driver.wiring == "series" else 1
        lead = 2.0 * float(wire_resistance(driver.lead_area.likely, driver.lead_length.likely))
        current = amplifier.current_max.likely if amplifier.current_max else math.inf
        states = (full / share, 0.5 * (full + empty) / share, empty / share)
        series = (lead + _windings(driver)) * parallel
        return states, current / parallel, series, f"{given.build.name}, {amplifier.name}"
    if words or (given is not None and amplifier is not None):
        volts = volts_of(asked, given, example=_EXAMPLE)
        low, usual, high, of = volts.low, volts.usual, volts.high, volts.of
    else:
        (low, usual, high), of = _USUAL_VOLTS, "a 12 V battery, as nothing else was said"
    full, half, empty = (max(volts - _BRIDGE_LOSS, 0.5) for volts in (high, usual, low))
    return (full, half, empty), math.inf, _IN_SERIES, f"{of}, a bridge amplifier"


def _windings(driver: Driver) -> float:
    """Wire of the coils in series with a driver, which damps it less [Ω]."""
    return sum(
        winding_of(component)
        for step in driver.filter
        if step.place == "series"
        for component in step.components
        if component.kind == "coil"
    )


def _amplifier(given: Given | None, driver: Driver | None) -> Amplifier | None:
    if given is None or driver is None:
        return None
    named = [one for one in given.build.amplifier if one.name == driver.amplifier]
    return next(iter(named or given.build.amplifier), None)
