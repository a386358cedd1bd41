"""Symbols of parts as strokes of an SVG picture, with the places where their leads end."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    CurrentSource,
    Diode,
    Fuse,
    Inductor,
    Mosfet,
    Part,
    Resistor,
    Switch,
    VoltageSource,
    Zener,
)
from boomwright.errors import InputError, Problem

if TYPE_CHECKING:
    from schemdraw.elements import Element

__all__ = [
    "FULL",
    "LINE",
    "LINK",
    "SCALE",
    "Point",
    "Symbol",
    "bipolar",
    "block",
    "coil_and_contact",
    "comparator",
    "ground",
    "line",
    "mosfet",
    "number",
    "shunt_reference",
    "two_leads",
]

SCALE = 40.0
"""Size of one step of the layouts' grid [px]."""

LINE = 1.4
"""Width of all lines [px]."""

FULL, LINK = ' class="full"', ' class="link"'
"""Marks of a filled stroke and of the broken line between coil and contact."""

Point = tuple[float, float]
"""A place on the layouts' grid, y upwards."""

_SPACE = re.compile(r"\s+")


@dataclass(frozen=True)
class Symbol:
    """Strokes of a symbol and the ends of its leads.

    Parameters
    ----------
    strokes : tuple of str
        SVG elements without colour.
    pins : dict of str to Point
        End of the lead of each terminal, named as the field of the part that holds its node.
    """

    strokes: tuple[str, ...]
    pins: dict[str, Point]


def number(value: float) -> str:
    """A coordinate to a hundredth of a pixel, without trailing zeros."""
    return f"{round(value, 2) + 0.0:.2f}".rstrip("0").rstrip(".")


def line(points: Iterable[Point], extra: str = "") -> str:
    """Polyline through places on the grid."""
    shown = " ".join(f"{number(x * SCALE)},{number(-y * SCALE)}" for x, y in points)
    return f'<polyline points="{shown}"{extra}/>'


def _drawn(*elements: Element) -> tuple[str, ...]:
    """Strokes of placed library elements, at the places of the layout."""
    import schemdraw

    drawing = schemdraw.Drawing(show=False, canvas="svg")
    drawing.config(inches_per_unit=SCALE / 72.0, lw=LINE)
    for element in elements:
        drawing.add(element)
    picture = ElementTree.fromstring(drawing.get_imagedata("svg"))
    return tuple(_plain(child) for child in picture)


def _plain(child: ElementTree.Element) -> str:
    """A stroke without its namespace and style; what is filled says so."""
    # The library fills some rings with the page's white, arrows with the line's black.
    filled = "fill:black" in child.attrib.pop("style", "")
    kept = {
        key: _SPACE.sub(" ", re.sub(r"-?\d+\.\d+", lambda found: number(float(found[0])), value))
        for key, value in child.attrib.items()
    }
    name = child.tag.rpartition("}")[2]
    shown = "".join(f' {key}="{value.strip()}"' for key, value in kept.items())
    return f"<{name}{shown}{FULL if filled else ''}/>"


_TWO_LEADS: dict[type[Part], str] = {
    Capacitor: "Capacitor",
    CurrentSource: "SourceI",
    Fuse: "FuseIEC",
    Inductor: "Inductor2",
    Resistor: "ResistorIEC",
    Zener: "Zener",
}

_DIODES = {"silicon": "Diode", "schottky": "Schottky", "signal": "Diode", "led": "LED"}


def _library_name(part: Part, *, signal: bool) -> str:
    """Name of the library's element for a part with two leads."""
    if isinstance(part, Diode):
        return _DIODES[part.kind]
    if isinstance(part, Switch):
        return "Button" if part.push_button else "Switch"
    if isinstance(part, VoltageSource):
        if part.name.startswith("BT"):
            return "Battery"
        return "SourceSin" if signal else "Source"
    if type(part) not in _TWO_LEADS:
        raise InputError([Problem("no symbol with two leads", got=part.name)])
    return _TWO_LEADS[type(part)]


def _element(name: str) -> Any:
    """An element of the library, whose makers are only partly typed."""
    from schemdraw import elements

    return getattr(elements, name)()


def two_leads(part: Part, start: Point, end: Point, *, signal: bool = False) -> Symbol:
    """Symbol between two places, in the order in which the part names its terminals.

    Parameters
    ----------
    part : Part
        A part with two terminals.
    start, end : Point
        Where its first and its second lead end.
    signal : bool
        Whether a voltage is a sound rather than a supply.

    Returns
    -------
    Symbol
        With marks of polarity.
    """
    pins = dict(zip(part.NODES, (start, end), strict=True))
    if part.name.startswith("LS"):
        return Symbol(_loudspeaker(start, end), pins)
    name = _library_name(part, signal=signal)
    strokes = _drawn(_element(name).endpoints(start, end))
    if isinstance(part, VoltageSource):
        if name == "Source":
            strokes += (_inside(start, end),)
        strokes += _plus(start, end, back=0.45 if part.name.startswith("BT") else 0.62)
    if isinstance(part, Capacitor) and part.polarised:
        strokes += _plus(start, end, back=0.27)
    return Symbol(strokes, pins)


def _inside(start: Point, end: Point) -> str:
    """The line through the ring of a voltage source, which is one step wide."""
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    share = 0.5 / math.dist(start, end)
    x, y = share * (end[0] - start[0]), share * (end[1] - start[1])
    return line([(middle[0] - x, middle[1] - y), (middle[0] + x, middle[1] + y)])


def _plus(start: Point, end: Point, back: float) -> tuple[str, ...]:
    """A small plus beside the first lead, on the left of a part that hangs."""
    length = math.dist(start, end)
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    across = (along[1], -along[0])
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    x = middle[0] - back * along[0] + 0.27 * across[0]
    y = middle[1] - back * along[1] + 0.27 * across[1]
    arm = 0.09
    return line([(x - arm, y), (x + arm, y)]), line([(x, y - arm), (x, y + arm)])


def _loudspeaker(start: Point, end: Point) -> tuple[str, ...]:
    """A loudspeaker that faces right, between a lead above and a lead below."""
    x, middle = start[0], (start[1] + end[1]) / 2
    upper, lower = (x, middle + 0.25), (x, middle - 0.25)
    element = _element("Speaker").right().at(upper)
    return (*_drawn(element), line([start, upper]), line([lower, end]))


def bipolar(part: Bipolar, base: Point) -> Symbol:
    """Bipolar transistor, its base at the left: collector up if NPN, emitter up if PNP."""
    element = (
        _element("BjtNpn" if part.polarity == "npn" else "BjtPnp").right().anchor("base").at(base)
    )
    strokes = _drawn(element)
    return Symbol(strokes, _pins(element, part.NODES))


def mosfet(part: Mosfet, source: Point, drain: Point, *, diode: bool = True) -> Symbol:
    """MOS transistor in a line that runs across, its gate below.

    Parameters
    ----------
    part : Mosfet
        The transistor.
    source, drain : Point
        Where these leads end, at least 1.7 apart.
    diode : bool
        Whether the body diode belongs to the symbol; not if it is a part of its own.
    """
    from schemdraw import elements

    if part.polarity == "p":
        element = elements.PMos2(diode=diode).endpoints(source, drain)
        backwards = source[0] > drain[0]
    else:
        element = elements.NMos2(diode=diode).endpoints(drain, source)
        backwards = drain[0] > source[0]
    if backwards:
        element.flip()
    strokes = _drawn(element)
    pins = _pins(element, ("gate",))
    return Symbol(strokes, {"drain": drain, "gate": pins["gate"], "source": source})


def _pins(element: Element, names: Iterable[str]) -> dict[str, Point]:
    return {
        name: (float(element.absanchors[name][0]), float(element.absanchors[name][1]))
        for name in names
    }


def ground(at: Point) -> tuple[str, ...]:
    """Strokes of the ground sign below a place."""
    return _drawn(_element("Ground").at(at))


def shunt_reference(anode: Point, cathode: Point, reference: Point) -> Symbol:
    """Shunt reference: a zener that stands, with a third lead into its middle from the side."""
    middle = (anode[1] + cathode[1]) / 2
    if not math.isclose(middle, reference[1]):
        raise ValueError(f"reference lead: got y {reference[1]}, must be {middle}")
    side = math.copysign(0.12, reference[0] - anode[0])
    strokes = _drawn(_element("Zener").endpoints(anode, cathode))
    strokes += (line([reference, (anode[0] + side, middle)]),)
    return Symbol(strokes, {"cathode": cathode, "reference": reference, "anode": anode})


def comparator(at: Point, *, minus_above: bool, supply: str = "") -> Symbol:
    """Comparator as a triangle; ``at`` is its upper input, the lower one is 1.2 below it.

    Parameters
    ----------
    at : Point
        Where the lead of the upper input ends.
    minus_above : bool
        Whether the upper input is the inverting one.
    supply : str
        Name to give to the supply lead; none is drawn if empty.

    Returns
    -------
    Symbol
        The output's lead ends 2.8 to the right, halfway between the inputs.
    """
    x, upper = at
    lower, middle, left, tip = upper - 1.2, upper - 0.6, x + 0.4, x + 2.4
    foot, half = x + 1.0, 1.2 * 0.7
    signs = {False: lower, True: upper}
    dash = signs[minus_above]
    cross = signs[not minus_above]
    strokes: tuple[str, ...] = (
        line([(left, middle + 1.2), (left, middle - 1.2), (tip, middle), (left, middle + 1.2)]),
        line([(x, upper), (left, upper)]),
        line([(x, lower), (left, lower)]),
        line([(tip, middle), (tip + 0.4, middle)]),
        line([(foot, middle - half), (foot, middle - 1.4)]),
        line([(left + 0.16, dash), (left + 0.36, dash)]),
        line([(left + 0.16, cross), (left + 0.36, cross)]),
        line([(left + 0.26, cross - 0.1), (left + 0.26, cross + 0.1)]),
    )
    pins = {
        "plus": (x, cross),
        "minus": (x, dash),
        "output": (tip + 0.4, middle),
        "ground": (foot, middle - 1.4),
    }
    if supply:
        pins[supply] = (foot, middle + 1.4)
        strokes += (line([(foot, middle + half), pins[supply]]),)
    return Symbol(strokes, pins)


def coil_and_contact(
    coil: tuple[Point, Point], contact: tuple[Point, Point], link: tuple[Point, ...] = ()
) -> Symbol:
    """Relay: coil as a box, contact at rest (open), and the broken line that joins them.

    Parameters
    ----------
    coil : tuple of Point
        Ends of the coil's leads, the first above the second.
    contact : tuple of Point
        Ends of the contact's leads, common first, left to right.
    link : tuple of Point
        Start and corners of the broken line; without them it leaves the coil to the side. It ends
        at the contact's blade.
    """
    (x, top), (_, bottom) = coil
    middle = (top + bottom) / 2
    wide, high = 0.55, 0.3
    (left, level), (right, _) = contact
    blade = ((left + right) / 2, level + 0.25)
    corners = link or ((x + wide, middle), (blade[0], middle))
    strokes = (
        line([(x, top), (x, middle + high)]),
        line(
            [
                (x - wide, middle + high),
                (x + wide, middle + high),
                (x + wide, middle - high),
                (x - wide, middle - high),
                (x - wide, middle + high),
            ]
        ),
        line([(x, middle - high), (x, bottom)]),
        *_drawn(_element("Switch").endpoints(*contact)),
        line([*corners, blade], LINK),
    )
    pins = {"coil_a": coil[0], "coil_b": coil[1], "common": contact[0], "made": contact[1]}
    return Symbol(strokes, pins)


def block(left: float, right: float, top: float, bottom: float, pins: dict[str, Point]) -> Symbol:
    """A box with leads that end at the given places; each goes straight to the nearest side."""
    strokes = [line([(left, top), (right, top), (right, bottom), (left, bottom), (left, top)])]
    for x, y in pins.values():
        inner = (min(max(x, left), right), min(max(y, bottom), top))
        strokes.append(line([(x, y), inner]))
    return Symbol(tuple(strokes), pins)
