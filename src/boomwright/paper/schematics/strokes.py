"""Straight pieces of whatever an SVG element draws."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from xml.etree import ElementTree

from boomwright.paper.schematics.nets import Segment

__all__ = ["pieces_of", "points_of"]

_TOKEN = re.compile(r"[A-Za-z]|-?\d+\.?\d*(?:e-?\d+)?")


def points_of(text: str) -> list[tuple[float, float]]:
    """Places in a list of coordinates."""
    numbers = [float(value) for value in text.replace(",", " ").split()]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def pieces_of(shape: ElementTree.Element) -> list[Segment]:
    """Straight pieces of a line, polygon, circle, ellipse or path; curves as a few chords."""
    kind = shape.tag.rpartition("}")[2]
    if kind in {"polyline", "polygon"}:
        points = points_of(shape.get("points", ""))
        return list(pairwise([*points, points[0]] if kind == "polygon" else points))
    if kind in {"circle", "ellipse"}:
        x, y = float(shape.get("cx", "0")), float(shape.get("cy", "0"))
        wide = float(shape.get("r", shape.get("rx", "0")))
        high = float(shape.get("r", shape.get("ry", "0")))
        turns = [math.tau * step / 24 for step in range(25)]
        return list(pairwise([(x + wide * math.cos(a), y + high * math.sin(a)) for a in turns]))
    return _path(shape.get("d", ""))


def _path(text: str) -> list[Segment]:
    """Straight pieces of a path of moves, lines, arcs (as their chords) and curves."""
    pieces: list[Segment] = []
    here: tuple[float, float] = (0.0, 0.0)
    start, command, steps = here, "", iter(_TOKEN.findall(text))
    counts = {"M": 2, "L": 2, "h": 1, "v": 1, "a": 7, "Q": 4, "C": 6}
    for token in steps:
        if token in {"Z", "z"}:
            pieces.append((here, start))
            continue
        if token.isalpha():
            command, first = token, next(steps)
        else:
            first = token
        if first.isalpha():
            command, first = first, next(steps)
        values = [float(first), *(float(next(steps)) for _ in range(counts[command] - 1))]
        if command in {"M", "L"}:
            there = (values[0], values[1])
        elif command == "h":
            there = (here[0] + values[0], here[1])
        elif command == "v":
            there = (here[0], here[1] + values[0])
        elif command == "a":
            there = (here[0] + values[5], here[1] + values[6])
        else:
            there = (values[-2], values[-1])
        if command == "M":
            start = there
            command = "L"
        else:
            pieces.append((here, there))
        here = there
    return pieces
