"""Schematics of small circuits, drawn from the same netlist that is solved and exported."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import replace

from boomwright.circuit.netlist import Netlist
from boomwright.errors import InputError, NetlistError, Problem
from boomwright.paper.look import LIGHT, Look
from boomwright.paper.schematics.checks import drawn_nets, text_faults
from boomwright.paper.schematics.cutoffs import CUTOFF_LAYOUTS
from boomwright.paper.schematics.ladder import LADDER_LAYOUTS
from boomwright.paper.schematics.layout import Layout
from boomwright.paper.schematics.nets import netlist_nets
from boomwright.paper.schematics.sheet import Label, Sheet
from boomwright.paper.schematics.signals import SIGNAL_LAYOUTS
from boomwright.paper.schematics.split import SPLIT_LAYOUTS
from boomwright.paper.schematics.supplies import SUPPLY_LAYOUTS

__all__ = ["SCHEMATIC_KINDS", "Label", "schematic_svg"]

_LAYOUTS = {
    **CUTOFF_LAYOUTS,
    **SUPPLY_LAYOUTS,
    **SIGNAL_LAYOUTS,
    **LADDER_LAYOUTS,
    **SPLIT_LAYOUTS,
}

SCHEMATIC_KINDS = tuple(_LAYOUTS)
"""Names of all layouts."""


def schematic_svg(
    netlist: Netlist,
    kind: str,
    *,
    labels: Mapping[str, Label] | None = None,
    look: Look = LIGHT,
    title: str = "",
) -> str:
    """Schematic of a circuit as an SVG picture that needs nothing from outside.

    Parameters
    ----------
    netlist : Netlist
        The circuit; what is drawn is read back and compared with it.
    kind : str
        Name of the layout, one of :data:`SCHEMATIC_KINDS`.
    labels : mapping of str to Label, optional
        Type, pin order and need of a heat sink, by the name of the part.
    look : Look
        Colours and letters.
    title : str
        Heading; the netlist's own if empty.

    Returns
    -------
    str
        One ``<svg>`` element, with a title and the circuit in words for people who do not see it.

    Raises
    ------
    InputError
        If there is no such layout, a label names a part that is not there, or the circuit is wired
        otherwise than the layout draws it.

    Notes
    -----
    Power runs along the top, ground along the bottom, signals from left to right to the load.
    Contacts are drawn at rest. A dot joins; lines that cross without one do not touch.

    Examples
    --------
    >>> from boomwright.circuit.blocks.summing import PadValues, pad_netlist
    >>> netlist = pad_netlist(PadValues(series_resistor=9.1e3, shunt_resistor=1e3))
    >>> svg = schematic_svg(netlist, "pad", labels={"R1": Label("metal film")})
    >>> svg.startswith("<svg "), ">9.1 kΩ</text>" in svg, ">metal film</text>" in svg
    (True, True, True)
    """
    if kind not in _LAYOUTS:
        near = difflib.get_close_matches(kind, _LAYOUTS, n=1)
        raise InputError(
            [
                Problem(
                    "no drawing of this kind",
                    got=repr(kind),
                    expected=f"one of {', '.join(_LAYOUTS)}",
                    hint=f"Did you mean {near[0]!r}?" if near else "",
                )
            ]
        )
    names = [part.name for part in netlist.parts]
    given = {name: _printable(label) for name, label in (labels or {}).items()}
    strangers = [name for name in given if name not in names]
    if strangers:
        raise InputError(
            [
                Problem("a label for a part that is not there", got=repr(name), key=netlist.title)
                for name in strangers
            ]
        )
    layout = _LAYOUTS[kind]
    if all(
        name in names and isinstance(netlist.part(name), sort)
        for name, sort in layout.parts.items()
    ):
        try:
            return _honest(layout, netlist, kind, given, look, _clean(title or netlist.title))
        except NetlistError:
            # A part that the layout goes on to look for is not there.
            pass
    raise _misfit(layout, netlist, kind)


def _honest(
    layout: Layout, netlist: Netlist, kind: str, labels: Mapping[str, Label], look: Look, title: str
) -> str:
    """The drawing with as many words beside its parts as have room, its nets compared."""
    svg = ""
    for crowded in range(3):
        sheet = Sheet(netlist, labels, look, crowded=crowded)
        layout.draw(sheet)
        svg = sheet.svg(kind, title, layout.says)
        if drawn_nets(svg) != netlist_nets(netlist):
            raise _misfit(layout, netlist, kind)
        if not text_faults(svg):
            break
    return svg


def _misfit(layout: Layout, netlist: Netlist, kind: str) -> InputError:
    return InputError(
        [
            Problem(
                f"the drawing {kind!r} does not fit this circuit",
                got=", ".join(part.name for part in netlist.parts),
                expected=f"the parts {', '.join(layout.parts)}, wired as drawn",
                key=netlist.title,
            )
        ]
    )


def _printable(label: Label) -> Label:
    return replace(label, text=_clean(label.text), pins=_clean(label.pins))


def _clean(text: str) -> str:
    """Text without the characters that no picture may hold."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
