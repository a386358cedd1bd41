"""A sheet to lay out a circuit on: parts, wires and words by hand, joints found by themselves."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias, TypeVar
from xml.etree import ElementTree
from xml.sax.saxutils import escape, quoteattr

from boomwright.circuit.netlist import Netlist
from boomwright.circuit.parts import (
    Capacitor,
    CurrentSource,
    Inductor,
    Part,
    Resistor,
    VoltageSource,
)
from boomwright.errors import InputError, Problem
from boomwright.paper.look import Look
from boomwright.paper.room import text_width, wrapped
from boomwright.paper.schematics.lettering import Words, fins, grounded, written
from boomwright.paper.schematics.nets import Segment, joints
from boomwright.paper.schematics.strokes import pieces_of
from boomwright.paper.schematics.symbols import (
    FULL,
    LINK,
    SCALE,
    Point,
    Symbol,
    line,
    number,
    two_leads,
)
from boomwright.paper.schematics.words import described, part_value, part_word

__all__ = ["Label", "Sheet", "Side"]

Side: TypeAlias = Literal["right", "left", "above", "below"]
"""Where the words of a part stand."""

_P = TypeVar("_P", bound=Part)

_MARGIN = 20.0
_LEADING = 4.0
_GAP = 0.18
"""Free room between a part and its words, on the grid."""

_DOT = 3.0

_WORDS_ROOM = 2.5
"""Width beside a part after which its words take a new line, on the grid."""

_VERY_CROWDED = 2


@dataclass(frozen=True)
class Label:
    """What is written beside a part besides its name and value.

    Parameters
    ----------
    text : str
        Type of the part, such as "1N4739A".
    pins : str
        Order of its pins, as it is held; written below the drawing.
    heat : bool
        Whether it needs a heat sink.
    """

    text: str = ""
    pins: str = ""
    heat: bool = False


class Sheet:
    """A drawing of a netlist while it is laid out.

    Places are on a grid with y upwards; one step is :data:`symbols.SCALE` pixels.

    Parameters
    ----------
    netlist : Netlist
        The circuit.
    labels : mapping of str to Label
        More to be written beside parts.
    look : Look
        Colours and letters.
    crowded : int
        What goes below the drawing: 0 only what is too wide, 1 all types, 2 all values too.
    """

    def __init__(
        self, netlist: Netlist, labels: Mapping[str, Label], look: Look, *, crowded: int = 0
    ) -> None:
        self.crowded = crowded
        self.netlist = netlist
        self.labels = labels
        self.look = look
        self._symbols: list[tuple[str, Symbol]] = []
        self._wires: list[tuple[Point, ...]] = []
        self._words: list[Words] = []
        self._fins: list[tuple[float, float]] = []
        self._grounds: list[Point] = []
        self._open: list[Point] = []
        self._notes: list[str] = []
        self._types: dict[str, list[str]] = {}

    def has(self, name: str) -> bool:
        """Whether the circuit has a part of this name."""
        return any(part.name == name for part in self.netlist.parts)

    def place(self, name: str, symbol: Symbol, words: Point, side: Side, *, say: str = "") -> None:
        """Put a symbol down as the drawing of a part, with its words at a place beside it.

        Parameters
        ----------
        name : str
            The part; a pin of another part is named with that part and a full stop.
        symbol : Symbol
            What is drawn.
        words : Point
            Middle of the edge of the words that faces the part.
        side : str
            On which side of the part they stand.
        say : str
            What the part does here, if its value does not tell.
        """
        self._symbols.append((name, symbol))
        self._label(name, words, side, say)

    def two(
        self,
        name: str,
        start: Point,
        end: Point,
        side: Side,
        *,
        say: str = "",
        signal: bool = False,
    ) -> None:
        """Put down a part with two leads, in the order in which it names them."""
        symbol = two_leads(self.part(name), start, end, signal=signal)
        x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        upright = math.isclose(start[0], end[0])
        reach = (_reach(self.part(name)) if upright else 0.7) + _GAP
        offset = {
            "right": (reach, 0.0),
            "left": (-reach, 0.0),
            "above": (0.0, reach - 0.2),
            "below": (0.0, -reach + 0.2),
        }[side]
        self.place(name, symbol, (x + offset[0], y + offset[1]), side, say=say)

    def part(self, name: str) -> Part:
        """Part of the netlist by its name."""
        return self.netlist.part(name)

    def device(self, name: str, kind: type[_P]) -> _P:
        """Part of the netlist that must be of one kind.

        Raises
        ------
        InputError
            If it is of another.
        """
        part = self.part(name)
        if not isinstance(part, kind):
            problem = Problem("no part of this kind", got=part_word(part), key=name)
            raise InputError([problem])
        return part

    def wire(self, *points: Point) -> None:
        """Wire through places."""
        self._wires.append(points)

    def ground(self, at: Point) -> None:
        """Sign of ground under a place."""
        self._grounds.append(at)

    def open_end(self, at: Point) -> None:
        """Small ring where a lead ends and something outside may be joined."""
        self._open.append(at)

    def node(self, text: str, at: Point, side: Side = "above") -> None:
        """Quiet name of a node near a place."""
        size = self.look.small_size
        x, y = at[0] * SCALE, -at[1] * SCALE
        anchor: Literal["start", "middle", "end"] = "middle"
        if side == "right":
            x, y, anchor = x + 6, y - 6, "start"
        elif side == "left":
            x, y, anchor = x - 6, y - 6, "end"
        else:
            y += -6 if side == "above" else size + 4
        self._words.append(Words(x, y, text, anchor, "quiet", size))

    def note(self, text: str) -> None:
        """Line of words below the drawing."""
        self._notes.append(text)

    def caption(self, text: str, at: Point, anchor: Literal["start", "middle", "end"]) -> None:
        """Quiet words at a place, such as the name of a pin inside a box."""
        size = self.look.small_size
        self._words.append(
            Words(at[0] * SCALE, -at[1] * SCALE + 0.3 * size, text, anchor, "quiet", size)
        )

    def _label(self, name: str, at: Point, side: Side, say: str) -> None:
        part, label = self.part(name), self.labels.get(name, Label())
        size, room = self.look.text_size, _WORDS_ROOM * SCALE
        value = part_value(part)
        if say or not (value or label.text):
            value = f"{say or part_word(part)} {value}".strip()
        # A resistor or capacitor is known by its value, a device by its type.
        passive = isinstance(part, Resistor | Capacitor | Inductor | VoltageSource)
        said = (value, label.text) if passive else (label.text, value)
        beside = [text for text in said if text and self._fits(text, is_type=text == label.text)]
        below = [text for text in said if text and text not in beside]
        if below:
            self._types.setdefault(", ".join(below), []).append(name)
        lines = [name, *(row for text in beside for row in wrapped(text, room, size))]
        if label.pins:
            self._notes.append(f"{name} pins: {label.pins}")
        step = size + _LEADING
        tall = step * len(lines) - _LEADING
        x, y = at[0] * SCALE, -at[1] * SCALE
        top = {"right": y - tall / 2, "left": y - tall / 2, "above": y - tall, "below": y}[side]
        anchors: dict[Side, Literal["start", "middle", "end"]] = {"right": "start", "left": "end"}
        anchor = anchors.get(side, "middle")
        for index, text in enumerate(lines):
            base = top + index * step + 0.8 * size
            words = Words(x, base, text, anchor, "ink", size, bold=index == 0)
            if index == 0 and label.heat:
                if anchor == "end":
                    words = replace(words, x=x - 18)
                self._fins.append((words.box[2] + 4, base))
            self._words.append(words)

    def _fits(self, text: str, *, is_type: bool) -> bool:
        """Whether words have room beside their part; if not they go below the drawing."""
        if not is_type:
            return self.crowded < _VERY_CROWDED
        narrow = text_width(text, self.look.text_size) <= _WORDS_ROOM * SCALE
        return narrow and not self.crowded

    @property
    def segments(self) -> list[Segment]:
        """Straight pieces of all wires."""
        return [
            (wire[index], wire[index + 1]) for wire in self._wires for index in range(len(wire) - 1)
        ]

    def svg(self, kind: str, title: str, summary: str) -> str:
        """The finished picture.

        Parameters
        ----------
        kind : str
            Name of the layout.
        title : str
            Heading, and name for those who do not see it.
        summary : str
            How the circuit works, in words.
        """
        look = self.look
        left, top, right, bottom = self._bounds()
        room = max(right - left, 12 * SCALE)
        head = wrapped(title, room, look.heading_size, bold=True)
        heading = [
            Words(
                left,
                top - 22 - (len(head) - 1 - index) * (look.heading_size + 5),
                text,
                size=look.heading_size,
                bold=True,
            )
            for index, text in enumerate(head)
        ]
        notes, bottom = self._below(left, bottom, room)
        words = [*heading, *self._words, *notes]
        left = min(left, *(one.box[0] for one in words)) - _MARGIN
        right = max(right, *(one.box[2] for one in words)) + _MARGIN
        top = min(top, *(one.box[1] for one in words)) - _MARGIN
        bottom += _MARGIN
        wide, high = right - left, bottom - top
        view = " ".join(number(value) for value in (left, top, wide, high))
        return "\n".join(
            [
                f'<svg xmlns="http://www.w3.org/2000/svg" role="img" class="schematic" '
                f'data-kind={quoteattr(kind)} width="{number(wide)}" height="{number(high)}" '
                f'viewBox="{view}" font-family={quoteattr(look.letters)} '
                f'style="font-variant-numeric:tabular-nums">',
                f"<title>{escape(title)}</title>",
                f"<desc>{escape(self._told(summary))}</desc>",
                f'<rect class="sheet" x="{number(left)}" y="{number(top)}" width="{number(wide)}" '
                f'height="{number(high)}" fill="{look.sheet}"/>',
                f'<g fill="none" stroke="{look.ink}" stroke-width="1.4" stroke-linecap="round" '
                f'stroke-linejoin="round">',
                *(line(wire, ' class="wire"') for wire in self._wires),
                *(self._group(name, symbol) for name, symbol in self._symbols),
                *(grounded(at) for at in self._grounds),
                *(
                    f'<circle class="terminal" cx="{number(x * SCALE)}" '
                    f'cy="{number(-y * SCALE)}" r="{_DOT + 1}" fill="{look.sheet}"/>'
                    for x, y in self._open
                ),
                "</g>",
                *self._dots(),
                *(fins(x, y, look.mind) for x, y in self._fins),
                *(written(one, look) for one in words),
                "</svg>\n",
            ]
        )

    def _told(self, summary: str) -> str:
        told = [summary, described(self.netlist)]
        for name, label in self.labels.items():
            told += [f"{name} is a {label.text}."] if label.text else []
            told += [f"{name} pins: {label.pins}."] if label.pins else []
            told += [f"{name} needs a heat sink."] if label.heat else []
        return "\n".join(told)

    def _group(self, name: str, symbol: Symbol) -> str:
        pins = ";".join(
            f"{key if '.' in key else f'{name}.{key}'} {number(x * SCALE)},{number(-y * SCALE)}"
            for key, (x, y) in symbol.pins.items()
        )
        look = self.look
        strokes = "".join(
            stroke.replace(FULL, f' fill="{look.ink}"').replace(
                LINK, f' class="link" stroke="{look.quiet}" stroke-dasharray="5 4"'
            )
            for stroke in symbol.strokes
        )
        return (
            f'<g class="part" data-part={quoteattr(name)} data-pins={quoteattr(pins)}>{strokes}</g>'
        )

    def _dots(self) -> list[str]:
        leads = [pin for _, symbol in self._symbols for pin in set(symbol.pins.values())]
        found = joints([*leads, *self._grounds], self.segments)
        return [
            f'<circle class="joint" cx="{number(x * SCALE)}" cy="{number(-y * SCALE)}" '
            f'r="{_DOT}" fill="{self.look.ink}"/>'
            for x, y in sorted(found)
        ]

    def _bounds(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of all but heading and notes [px]."""
        places = [point for wire in self._wires for point in wire]
        places += [pin for _, symbol in self._symbols for pin in symbol.pins.values()]
        places += [(x, y - 0.7) for x, y in self._grounds]
        places += [
            (x / SCALE, -y / SCALE)
            for _, symbol in self._symbols
            for stroke in symbol.strokes
            for piece in pieces_of(ElementTree.fromstring(stroke))
            for x, y in piece
        ]
        boxes = [words.box for words in self._words]
        xs, ys = zip(*places, strict=True)
        return (
            min(min(xs) * SCALE, *(box[0] for box in boxes)),
            min(-max(ys) * SCALE, *(box[1] for box in boxes)),
            max(max(xs) * SCALE, *(box[2] for box in boxes)),
            max(-min(ys) * SCALE, *(box[3] for box in boxes)),
        )

    def _below(self, left: float, bottom: float, room: float) -> tuple[Sequence[Words], float]:
        """Lines below the drawing, and where they end [px]."""
        size = self.look.small_size
        hot = [name for name, label in self.labels.items() if label.heat]
        base = bottom + 24
        words = []
        if hot:
            self._fins = [*self._fins, (left, base)]
            words.append(Words(left + 18, base, f"heat sink on {', '.join(hot)}", size=size))
            base += size + 6
        # Parts of one type share a line.
        types = [f"{', '.join(names)}: {text}" for text, names in self._types.items()]
        notes = [*types, *self._notes]
        for text in (row for note in notes for row in wrapped(note, room, size)):
            words.append(Words(left, base, text, size=size))
            base += size + 6
        return words, (base - size - 6 + 0.25 * size if words else bottom)


def _reach(part: Part) -> float:
    """How far an upright symbol reaches to the right of its leads."""
    if part.name.startswith("LS"):
        return 0.9
    round_ones = isinstance(part, CurrentSource | VoltageSource)
    return 0.55 if round_ones and not part.name.startswith("BT") else 0.42
