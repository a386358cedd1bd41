"""What a finished drawing shows, read back from its SVG: nets, and faults of words and lines."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations, pairwise
from xml.etree import ElementTree

from boomwright.paper.schematics.lettering import line_width
from boomwright.paper.schematics.nets import Nets, Segment, joined, on_segment
from boomwright.paper.schematics.strokes import pieces_of, points_of

__all__ = ["drawn_nets", "drawn_pins", "drawn_wires", "line_faults", "text_boxes", "text_faults"]

Point = tuple[float, float]
Box = tuple[float, float, float, float]
"""Left, top, right and bottom [px]."""

_NEAR = 0.6
_NO_PART = frozenset({"a wire", "a dot", "a heat sink", "a broken line", "ground", "an open end"})


def _tree(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def _all(root: ElementTree.Element, name: str) -> Iterator[ElementTree.Element]:
    return root.iter(f"{{http://www.w3.org/2000/svg}}{name}")


def drawn_pins(svg: str) -> dict[tuple[str, str], Point]:
    """Place of the lead of every terminal [px].

    Raises
    ------
    ValueError
        If a terminal is drawn twice.
    """
    places: dict[tuple[str, str], Point] = {}
    for group in _all(_tree(svg), "g"):
        for entry in filter(None, group.get("data-pins", "").split(";")):
            name, _, place = entry.partition(" ")
            part, _, field = name.rpartition(".")
            if (part, field) in places:
                raise ValueError(f"{name} is drawn twice")
            x, _, y = place.partition(",")
            places[part, field] = (float(x), float(y))
    return places


def drawn_wires(svg: str) -> list[Segment]:
    """Straight pieces of all wires [px]."""
    return [
        piece
        for wire in _all(_tree(svg), "polyline")
        if wire.get("class") == "wire"
        for piece in pairwise(points_of(wire.get("points", "")))
    ]


def drawn_nets(svg: str) -> Nets:
    """Groups of terminals that the drawn lines make one, to be held against the netlist."""
    signs = {
        ("ground", group.get("data-at", "")): points_of(group.get("data-at", ""))[0]
        for group in _all(_tree(svg), "g")
        if group.get("class") == "ground"
    }
    groups = joined({**drawn_pins(svg), **signs}, drawn_wires(svg), near=_NEAR)
    # All signs of ground are one conductor, wherever they stand.
    grounded = frozenset().union(*(group for group in groups if group & signs.keys()))
    others = {group for group in groups if not group & signs.keys()}
    return frozenset({*others, grounded.difference(signs)} - {frozenset()})


def text_boxes(svg: str) -> list[tuple[str, Box]]:
    """Room that every line of text takes [px], with the widths of a wide face."""
    boxes = []
    for text in _all(_tree(svg), "text"):
        shown = text.text or ""
        size = float(text.get("font-size", "12"))
        width = line_width(shown, size, bold=text.get("font-weight") is not None)
        x, y = float(text.get("x", "0")), float(text.get("y", "0"))
        left = x - {"start": 0.0, "middle": width / 2, "end": width}[text.get("text-anchor", "")]
        boxes.append((shown, (left, y - 0.8 * size, left + width, y + 0.25 * size)))
    return boxes


def text_faults(svg: str) -> list[str]:
    """Words that lie on other words, on lines, or off the page, each in a sentence."""
    root = _tree(svg)
    left, top, wide, high = (float(value) for value in root.get("viewBox", "").split())
    boxes = text_boxes(svg)
    faults = [
        f"{text!r} leaves the page"
        for text, (x1, y1, x2, y2) in boxes
        if x1 < left or y1 < top or x2 > left + wide or y2 > top + high
    ]
    faults += [
        f"{one!r} lies on {other!r}"
        for (one, a), (other, b) in combinations(boxes, 2)
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]
    strokes = [(name, piece) for name, piece in _strokes(root)]
    faults += sorted(
        {
            f"{text!r} lies on {name}"
            for text, box in boxes
            for name, piece in strokes
            if _crosses(piece, box)
        }
    )
    return faults


def line_faults(svg: str) -> list[str]:
    """Wires that run over a part or along another wire, and leads that end nowhere."""
    root = _tree(svg)
    wires, pins = drawn_wires(svg), drawn_pins(svg)
    own: dict[str, list[Segment]] = {}
    for name, piece in _strokes(root):
        if name not in _NO_PART:
            own.setdefault(name, []).append(piece)
    faults = []
    for name, pieces in own.items():
        ends = [
            place
            for (part, field), place in pins.items()
            if part == name or f"{part}.{field}" in _borrowed(root, name)
        ]
        faults += [
            f"a lead of {name} ends beside its strokes"
            for place in ends
            if not any(on_segment(place, piece, near=_NEAR) for piece in pieces)
        ]
        for wire in wires:
            for piece in pieces:
                meeting = _meeting(wire, piece)
                if meeting and not any(math.dist(meeting, place) <= 1.0 for place in ends):
                    faults.append(f"a wire runs over {name}")
    for one, other in combinations(wires, 2):
        if _along(one, other):
            faults.append(f"two wires run along each other at {one[0]}")
    for (one_name, one_pieces), (other_name, other_pieces) in combinations(own.items(), 2):
        places = list(pins.values())
        for one in one_pieces:
            for other in other_pieces:
                meeting = _meeting(one, other)
                if meeting and not any(math.dist(meeting, place) <= 1.0 for place in places):
                    faults.append(f"{one_name} runs over {other_name}")
    return sorted(set(faults))


def _borrowed(root: ElementTree.Element, name: str) -> set[str]:
    """Terminals of other parts that the symbol of a part carries."""
    return {
        entry.partition(" ")[0]
        for group in _all(root, "g")
        if group.get("data-part") == name
        for entry in group.get("data-pins", "").split(";")
    }


def _strokes(root: ElementTree.Element) -> Iterator[tuple[str, Segment]]:
    """Every drawn line in straight pieces, with what it belongs to."""
    for child in root:
        kind = child.get("class", "")
        if kind in {"joint", "heat"}:
            name = "a dot" if kind == "joint" else "a heat sink"
            yield from ((name, piece) for piece in pieces_of(child))
        for stroke in child:
            named = stroke.get("data-part", stroke.get("class", ""))
            if named in {"wire", "terminal"}:
                whose = "a wire" if named == "wire" else "an open end"
                yield from ((whose, piece) for piece in pieces_of(stroke))
            for inner in stroke:
                whose = "a broken line" if inner.get("class") == "link" else named
                yield from ((whose, piece) for piece in pieces_of(inner))


def _crosses(piece: Segment, box: Box) -> bool:
    """Whether a straight piece enters a box, found by clipping it at the four sides."""
    (x1, y1), (x2, y2) = piece
    low, high = 0.0, 1.0
    for start, step, least, most in ((x1, x2 - x1, box[0], box[2]), (y1, y2 - y1, box[1], box[3])):
        if step == 0:
            if not least < start < most:
                return False
            continue
        one, other = sorted(((least - start) / step, (most - start) / step))
        low, high = max(low, one), min(high, other)
    return low < high


def _meeting(one: Segment, other: Segment) -> Point | None:
    """Place where two straight pieces cross; none if they run alongside."""
    (ax, ay), (bx, by) = one
    (cx, cy), (dx, dy) = other
    turn = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
    if abs(turn) < 1e-9:
        return None
    share = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / turn
    rest = ((cx - ax) * (by - ay) - (cy - ay) * (bx - ax)) / turn
    if 0 <= share <= 1 and 0 <= rest <= 1:
        return (ax + share * (bx - ax), ay + share * (by - ay))
    return None


def _along(one: Segment, other: Segment) -> bool:
    """Whether two pieces lie on one line and share more than an end."""
    shared = [end for end in one if on_segment(end, other, near=_NEAR)]
    shared += [end for end in other if on_segment(end, one, near=_NEAR)]
    return any(math.dist(a, b) > 1.0 for a, b in combinations(shared, 2))
